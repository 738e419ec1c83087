//! Free play on the bench: which tooth, what lies beneath, how much room, and in which smile.
//!
//! Free play is the bench without attempts: this holds what can be set up (tooth, veneer, crown or
//! onlay, prepared tooth by name or own colour, reduction, neighbours, light, framing) with its
//! ranges and steps, and makes a round of one question that is never answered. A recipe that cannot
//! be drawn is taken back.

mod changing;
mod parts;
mod setup;

use super::at_hand::Offered;
use super::bench::BenchTask;
use super::{Question, Round, Sight, Task};
use crate::bake::{BakeError, within_reach};
use crate::colorimetry::{Illuminant, Lch};
use crate::level::clinic::{PreparedCase, reachable_prepared, remark};
use crate::level::format::{LchRanges, PatientRanges, Range};
use crate::level::patient;
use crate::material::{Library, LibraryError, own_tooth};
use crate::random::{Purpose, StreamKey};
use crate::scene::{Case, Staging};
pub use changing::light_in_words;
use changing::teeth_in;
pub use parts::SetupPart;
pub use setup::{BenchSetup, PreparedChoice};
use thiserror::Error;

/// Id of the round that free play is; no level has it, as ids of levels hold no colon.
pub const FREE_BENCH_ID: &str = "bench:free";

/// Why a bench cannot be set up.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SetupError {
    /// The prepared tooth is not known, or no tissue has its colour.
    #[error("the prepared tooth: {0}")]
    Prepared(#[from] LibraryError),
    /// The smile cannot be baked.
    #[error(transparent)]
    Bake(#[from] BakeError),
}

/// A bench that was set up.
#[derive(Debug, Clone, PartialEq)]
pub struct FreeBench {
    /// The round: one question, without attempts and without an end.
    pub round: Round,
    /// What differs from what was asked for, in words.
    pub remarks: Vec<String>,
}

impl BenchSetup {
    /// The natural smile.
    fn natural(&self, library: &Library) -> Result<Case, BakeError> {
        let key = StreamKey {
            form: FREE_BENCH_ID,
            seed: u64::from(self.mouth),
            purpose: Purpose::Scene,
            block: 0,
            trial: 0,
        };
        let mut stream = key.stream();
        let seed = rand::RngExt::random::<u64>(&mut stream);
        let gingiva = library.tissues().gingivae.first().map(|gingiva| gingiva.colour);
        let just = |value: f64| Range { low: value, high: value };
        let ranges = PatientRanges {
            central: LchRanges {
                l: just(self.central.l),
                c: just(self.central.c),
                h: just(self.central.h),
            },
            residual_sd_de00: 0.0,
            enamel_factor: just(1.0),
            teeth: None,
        };
        let gingiva = gingiva.unwrap_or(Lch { l: 51.0, c: 33.0, h: 34.0 });
        let mut patient = patient(&ranges, &teeth_in(self.framing), gingiva, &mut stream);
        for tooth in &mut patient.teeth {
            *tooth = within_reach(tooth, seed, library)?;
        }
        Ok(Case {
            seed,
            patient,
            restorations: Vec::new(),
            shift: None,
            illuminant: self.light,
            staging: Staging { framing: self.framing, lamp: self.lamp },
        })
    }

    /// Sets the bench up.
    ///
    /// # Errors
    /// [`SetupError`] when the prepared tooth is not known or nothing near a colour can be had.
    pub fn set_up(&self, library: &Library) -> Result<FreeBench, SetupError> {
        let mut remarks = Vec::new();
        let prepared = match &self.prepared {
            PreparedChoice::Listed(id) => id.clone(),
            PreparedChoice::Own(wanted) => {
                let reached = reachable_prepared(*wanted, library)?;
                remarks.extend(remark("a prepared tooth", *wanted, reached));
                own_tooth::id(reached)
            }
        };
        let natural = self.natural(library)?;
        if let Some(central) = natural.patient.teeth.iter().find(|t| t.tooth.position() == 1) {
            remarks.extend(remark("a natural central incisor", self.central, central.body));
        }
        let task = BenchTask::free(
            natural,
            self.tooth,
            self.preparation,
            &prepared,
            self.reduction,
            library,
        )?;
        Ok(FreeBench { round: free_round(task, u64::from(self.mouth)), remarks })
    }
}

impl FreeBench {
    /// The bench of a case from the clinic.
    ///
    /// # Errors
    /// [`SetupError`] when the case cannot be baked; a checked case can.
    pub fn of_case(
        case: &PreparedCase,
        light: Illuminant,
        seed: u64,
        library: &Library,
    ) -> Result<Self, SetupError> {
        let natural = Case {
            seed,
            patient: case.patient.clone(),
            restorations: Vec::new(),
            shift: None,
            illuminant: light,
            staging: case.staging,
        };
        let reduction = case.space.reduction;
        let offered: Vec<Offered> = case.ceramics.iter().map(Offered::from).collect();
        let mut task = BenchTask::free(
            natural,
            case.tooth,
            case.preparation,
            &case.prepared_tooth,
            reduction,
            library,
        )?;
        // The gap that was kept for the cement is the film to begin with, and ceramic fills the rest.
        let film = case.space.cement_gap_mm;
        task.offer(&offered, film, library)?;
        task.start.cement.clone_from(&case.cement);
        Ok(Self { round: free_round(task, seed), remarks: case.remarks.clone() })
    }
}

/// One question without attempts: it is never answered, and nothing of it is stored.
fn free_round(task: BenchTask, seed: u64) -> Round {
    let natural = Sight { name: "Natural".to_owned(), case: task.natural.clone() };
    let start = Sight { name: "As it stands".to_owned(), case: task.case_with(&task.start) };
    let question = Question {
        number: 0,
        seed_key: format!("{FREE_BENCH_ID}/{seed}/0/0"),
        catch: false,
        sights: vec![start, natural],
        task: Task::Bench(task),
    };
    Round {
        level_id: FREE_BENCH_ID.to_owned(),
        title: "Bench, free play".to_owned(),
        teaches: String::new(),
        exercise: "bench",
        seed,
        questions: vec![question],
    }
}
