//! Ladder: Which patch is lighter?

use super::cases::Layout;
use super::{AnswerError, ExerciseError, Learner, Mark, Question};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct LadderTask {}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LadderAnswer {}

impl LadderAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl LadderTask {
    pub(super) fn mark(&self, _answer: &LadderAnswer) -> Result<Mark, AnswerError> {
        Err(AnswerError::Impossible("this exercise is not built yet".to_owned()))
    }

    pub(super) fn answer_of(
        &self,
        _learner: &Learner,
        _stream: &mut impl rand::Rng,
    ) -> LadderAnswer {
        LadderAnswer {}
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}
