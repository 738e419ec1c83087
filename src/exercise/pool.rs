//! The restorations that a level's kinds allow on a tooth, and their truth.

use super::ExerciseError;
use super::cases::{Layout, restoration};
use crate::bake::{BakedScene, bake};
use crate::level::format::RestorationKind;
use crate::random::Purpose;
use crate::scene::{Case, Drift, NaturalTooth, Patient, Restoration, Tooth};
use rand::RngExt;

/// Thicknesses tried, relative to the level's: what comes back from the laboratory varies.
const THICKNESS_FACTORS: [f64; 5] = [1.0, 0.9, 1.1, 0.8, 1.2];

impl Layout<'_> {
    /// An error that says why a question has no case.
    pub fn no_case(&self, number: u32, why: impl Into<String>) -> ExerciseError {
        ExerciseError::NoCase { level: self.level.id.clone(), number, why: why.into() }
    }

    /// The teeth in view that some kind may stand on, in the viewer's order.
    pub fn restorable(&self) -> Vec<Tooth> {
        self.teeth.iter().copied().filter(|tooth| !self.kinds_for(*tooth).is_empty()).collect()
    }

    /// The kinds that may stand on a tooth, one drawn by share first (`pick` in 0..1), the others
    /// after it.
    pub fn kinds_from(&self, tooth: Tooth, pick: f64) -> Vec<&RestorationKind> {
        let mut kinds = self.kinds_for(tooth);
        let mut left = pick * kinds.iter().map(|kind| kind.share).sum::<f64>();
        let drawn = kinds.iter().position(|kind| {
            left -= kind.share;
            left <= 0.0
        });
        kinds.rotate_left(drawn.unwrap_or(0));
        kinds
    }

    /// The thicknesses to try in turn, relative to the level's, from one drawn (`pick` in 0..1) on;
    /// of a stated case its own alone.
    pub fn thickness_factors(&self, pick: f64) -> impl Iterator<Item = f64> {
        let n = if self.level.is_stated() { 1 } else { THICKNESS_FACTORS.len() };
        let first = ((pick * n as f64) as usize).min(n - 1);
        (first..first + n).map(move |i| THICKNESS_FACTORS[i % n])
    }

    /// The restorations of a kind on a tooth in one thickness: every shade that its ceramic comes in,
    /// aged alike where the kind has been in the mouth for a while.
    pub fn shades_of(
        &self,
        kind: &RestorationKind,
        tooth: Tooth,
        number: u32,
        factor: f64,
    ) -> Vec<Restoration> {
        let drift = kind.drift.map(|time| {
            let quantile = self.stream(Purpose::Drift, number).random();
            Drift::at_quantile(time.months, time.cure, quantile)
        });
        let shades = self.library.shades(&kind.ceramic, kind.translucency).into_iter();
        let of = |shade| Restoration { drift, ..restoration(kind, tooth, shade, factor) };
        shades.map(of).collect()
    }

    /// The baked maps and the truth of one tooth of a case: the same as in the whole smile.
    pub fn bake_alone(
        &self,
        number: u32,
        case: &Case,
        tooth: Tooth,
    ) -> Result<BakedScene, ExerciseError> {
        let of_tooth = |t: &&NaturalTooth| t.tooth == tooth;
        let alone = Case {
            patient: Patient {
                teeth: case.patient.teeth.iter().filter(of_tooth).copied().collect(),
                gingiva: case.patient.gingiva,
            },
            restorations: case
                .restorations
                .iter()
                .filter(|restoration| restoration.tooth == tooth)
                .cloned()
                .collect(),
            ..case.clone()
        };
        bake(&alone, self.library).map_err(|source| self.bake_error(number, source))
    }

    /// The tooth of a patient.
    pub fn natural<'c>(
        &self,
        number: u32,
        case: &'c Case,
        tooth: Tooth,
    ) -> Result<&'c NaturalTooth, ExerciseError> {
        let mut teeth = case.patient.teeth.iter();
        let found = teeth.find(|natural| natural.tooth == tooth);
        found.ok_or_else(|| self.no_case(number, format!("tooth {tooth} is not in view")))
    }

    pub fn bake_error(&self, number: u32, source: crate::bake::BakeError) -> ExerciseError {
        ExerciseError::Bake { level: self.level.id.clone(), number, source }
    }
}
