//! Verdict: Accept or remake?

use super::cases::Layout;
use super::{AnswerError, ExerciseError, Learner, Mark, Question};
use crate::bake::ZoneDifference;
use crate::scene::Tooth;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One marked tooth, with its truth. The question's only sight is the smile; where the marked tooth
/// is natural, its case has no restoration.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictTask {
    /// The marked tooth.
    pub tooth: Tooth,
    /// Time the smile stays in view, s.
    pub exposure_s: f64,
    /// Restored minus twin; 0 where the marked tooth is natural.
    pub difference: ZoneDifference,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct VerdictAnswer {
    /// Accept (true) or remake (false).
    pub accept: bool,
}

impl VerdictAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl VerdictTask {
    pub(super) fn mark(&self, _answer: &VerdictAnswer) -> Result<Mark, AnswerError> {
        Err(AnswerError::Impossible("this exercise is not built yet".to_owned()))
    }

    pub(super) fn answer_of(
        &self,
        _learner: &Learner,
        _stream: &mut impl rand::Rng,
    ) -> VerdictAnswer {
        VerdictAnswer { accept: true }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}
