//! What all exercises draw alike: patients, spaces and the restorations of a level.

use super::ExerciseError;
use crate::bake::within_reach;
use crate::level::format::{Level, RestorationKind};
use crate::level::patient;
pub(super) use crate::level::restoration;
use crate::material::Library;
use crate::random::{Purpose, StreamKey};
use crate::scene::{Case, Tooth};
use rand::RngExt;
use rand_chacha::ChaCha8Rng;

/// A level about to become a round.
pub(super) struct Layout<'a> {
    pub level: &'a Level,
    pub library: &'a Library,
    pub seed: u64,
    /// Number of questions.
    pub questions: u32,
    /// Teeth in view, in the viewer's order.
    pub teeth: Vec<Tooth>,
}

impl<'a> Layout<'a> {
    pub fn new(
        level: &'a Level,
        library: &'a Library,
        seed: u64,
        questions: Option<u32>,
    ) -> Result<Self, ExerciseError> {
        for number in level.restorations.iter().flat_map(|kind| kind.teeth.iter().flatten()) {
            Tooth::new(*number)
                .map_err(|source| ExerciseError::Tooth { level: level.id.clone(), source })?;
        }
        let questions = questions.unwrap_or_else(|| level.exercise.trials());
        Ok(Self { level, library, seed, questions, teeth: level.teeth() })
    }

    /// What names a question's streams in stored rows.
    pub fn seed_key(&self, number: u32) -> String {
        format!("{}/{}/0/{number}", self.level.id, self.seed)
    }

    /// A question's stream for a purpose.
    pub fn stream(&self, purpose: Purpose, number: u32) -> ChaCha8Rng {
        StreamKey { form: &self.level.id, seed: self.seed, purpose, block: 0, trial: number }
            .stream()
    }

    /// A question's patient, all teeth natural, in the level's light and staging.
    pub fn natural_case(&self, number: u32) -> Result<Case, ExerciseError> {
        let mut stream = self.stream(Purpose::Scene, number);
        let case_seed = stream.random::<u64>();
        let gingivae = &self.library.tissues().gingivae;
        let gingiva = gingivae[stream.random_range(0..gingivae.len())].colour;
        let mut patient = patient(&self.level.patient, &self.teeth, gingiva, &mut stream);
        for tooth in &mut patient.teeth {
            *tooth = within_reach(tooth, case_seed, self.library).map_err(|source| {
                ExerciseError::Bake { level: self.level.id.clone(), number, source }
            })?;
        }
        Ok(Case {
            seed: case_seed,
            patient,
            restorations: Vec::new(),
            shift: None,
            illuminant: self.level.light,
            staging: self.level.staging(),
        })
    }

    /// The level's kinds that may stand on a tooth, with their shares.
    pub fn kinds_for(&self, tooth: Tooth) -> Vec<&'a RestorationKind> {
        let allowed = |kind: &&RestorationKind| {
            kind.teeth.as_ref().is_none_or(|teeth| teeth.contains(&tooth.number()))
        };
        self.level.restorations.iter().filter(allowed).collect()
    }
}
