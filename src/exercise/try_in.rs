//! Try-in: say what each cement does before seeing it, then choose one for the day of seating.

use super::cases::Layout;
use super::{AnswerError, ExerciseError, Learner, Mark, Question};
use crate::bake::ZoneDifference;
use crate::scene::{Case, Drift, Tooth};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// What a cement does to the colour of a restoration.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EffectDirection {
    /// Lighter.
    Lighter,
    /// Darker.
    Darker,
    /// Warmer: more chromatic, by more than it changes value.
    Warmer,
    /// Nothing to see: below 0.3 ΔE00.
    None,
}

/// A try-in paste or cement, and what it does here.
#[derive(Debug, Clone, PartialEq)]
pub struct CementEffect {
    /// Cement id.
    pub cement: String,
    /// Plain words.
    pub name: String,
    /// With this cement minus with the first one, zone-weighted and signed; 0 for the first.
    pub effect: ZoneDifference,
    /// Which way the effect goes.
    pub direction: EffectDirection,
    /// Restoration minus twin on the day of seating.
    pub at_seating: ZoneDifference,
    /// Restoration minus twin when the time is over, in the middle case.
    pub after: ZoneDifference,
    /// ΔE00 to the twin when the time is over, in cases at the quartiles of drift.
    pub after_quartiles_de00: [f64; 2],
}

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct TryInTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// The cements: the first is the one that is seen before anything is asked, the others are
    /// predicted in this order. The question's sights are these, on the day of seating.
    pub cements: Vec<CementEffect>,
    /// The middle case of drift when the time is over; months and cure are in it.
    pub drift: Drift,
    /// Which cement stays nearest to unnoticed, by its place in `cements`.
    pub best: usize,
}

/// What is said of one cement before it is seen.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Prediction {
    /// Which way.
    pub direction: EffectDirection,
    /// By how much, ΔE00, 0 or above; of no account for [`EffectDirection::None`].
    pub size_de00: f64,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TryInAnswer {
    /// One prediction for every cement but the first, in order.
    pub predictions: Vec<Prediction>,
    /// The cement chosen for seating, by its place in the task's cements.
    pub seated: usize,
}

impl TryInAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl TryInTask {
    /// A sight's smile when the time is over, in the middle case.
    #[must_use]
    pub fn after(&self, sight: &Case) -> Case {
        let mut case = sight.clone();
        for restoration in case.restorations.iter_mut().filter(|r| r.tooth == self.tooth) {
            restoration.drift = Some(self.drift);
        }
        case
    }

    pub(super) fn mark(&self, _answer: &TryInAnswer) -> Result<Mark, AnswerError> {
        Err(AnswerError::Impossible("this exercise is not built yet".to_owned()))
    }

    pub(super) fn answer_of(
        &self,
        _learner: &Learner,
        _stream: &mut impl rand::Rng,
    ) -> TryInAnswer {
        TryInAnswer { predictions: Vec::new(), seated: 0 }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}
