//! Margin: hide the margin of an onlay that ends above the gum.

use super::cases::Layout;
use super::recipe::Recipe;
use super::{AnswerError, ExerciseError, Learner, Mark, Question};
use crate::bake::{MarginContrast, ZoneDifference};
use crate::scene::Tooth;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One onlay that could be seated.
#[derive(Debug, Clone, PartialEq)]
pub struct MarginOption {
    /// What it is made of.
    pub recipe: Recipe,
    /// Contrast along the margin line: ceramic just above it minus natural tooth just below.
    pub contrast: MarginContrast,
    /// Difference of the whole tooth to its twin, zone-weighted.
    pub whole: ZoneDifference,
    /// Value steps (2 L*) of the shade above the tooth's own body.
    pub steps_above: f64,
}

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct MarginTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// Height of the margin line: 0 at the gum, 1 at the cusp tip.
    pub margin_height: f64,
    /// What the natural twin changes across the same line.
    pub natural: MarginContrast,
    /// The options. The question's sights are these, in the same order.
    pub options: Vec<MarginOption>,
    /// Places of the options whose margin is acceptable; empty when there is none.
    pub acceptable: Vec<usize>,
    /// Place of the option with the least contrast.
    pub best: usize,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct MarginAnswer {
    /// The option that hides its margin best, by its place; `None` for "none hides it".
    pub choice: Option<usize>,
}

impl MarginAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl MarginTask {
    pub(super) fn mark(&self, _answer: &MarginAnswer) -> Result<Mark, AnswerError> {
        Err(AnswerError::Impossible("this exercise is not built yet".to_owned()))
    }

    pub(super) fn answer_of(
        &self,
        _learner: &Learner,
        _stream: &mut impl rand::Rng,
    ) -> MarginAnswer {
        MarginAnswer { choice: None }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}
