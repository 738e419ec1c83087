//! Bracket: Which two options to mill?

use super::cases::Layout;
use super::{AnswerError, ExerciseError, Learner, Mark, Question};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct BracketTask {}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BracketAnswer {}

impl BracketAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl BracketTask {
    pub(super) fn mark(&self, _answer: &BracketAnswer) -> Result<Mark, AnswerError> {
        Err(AnswerError::Impossible("this exercise is not built yet".to_owned()))
    }

    pub(super) fn answer_of(
        &self,
        _learner: &Learner,
        _stream: &mut impl rand::Rng,
    ) -> BracketAnswer {
        BracketAnswer {}
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}
