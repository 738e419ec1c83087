//! Ladder: Which patch is lighter?

use super::cases::Layout;
use super::{AnswerError, ExerciseError, Learner, Mark, Question};
use crate::colorimetry::Lab;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One plain patch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// Its colour as displayed, CIELAB relative to the display's white.
    pub colour: Lab,
    /// The same as linear sRGB, 0..1.
    pub linear: [f64; 3],
}

/// Patches to be ordered by value, with their true colours.
#[derive(Debug, Clone, PartialEq)]
pub struct LadderTask {
    /// The patches in the order they are first shown, left to right.
    pub patches: Vec<Patch>,
}

/// The order a learner gave.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LadderAnswer {
    /// Indices into [`LadderTask::patches`], the lightest first; every patch once.
    pub order: Vec<usize>,
}

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
        LadderAnswer { order: Vec::new() }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}
