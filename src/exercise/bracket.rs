//! Bracket: choose two options to mill, so that at least one blends.

use super::cases::Layout;
use super::recipe::Recipe;
use super::{AnswerError, ExerciseError, Learner, Mark, Question};
use crate::bake::ZoneDifference;
use crate::scene::Tooth;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One option that could be milled.
#[derive(Debug, Clone, PartialEq)]
pub struct BracketOption {
    /// What it is made of.
    pub recipe: Recipe,
    /// Difference to the twin if thickness and prepared tooth are as estimated.
    pub estimate: ZoneDifference,
    /// Probability that it is acceptable.
    pub acceptable: f64,
    /// 10th, 50th and 90th percentile of its signed difference in value, ΔL00.
    pub value_percentiles: [f64; 3],
}

/// Two options.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BracketPair {
    /// The options, the lower place first.
    pub options: [usize; 2],
    /// Probability that at least one of the two is acceptable.
    pub chance: f64,
    /// Expected ΔE00 of the better of the two.
    pub expected_de00: f64,
}

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct BracketTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// Prepared-tooth colour id, as estimated.
    pub prepared_tooth: String,
    /// Standard deviation of the ceramic's thickness, mm; each milling has its own.
    pub thickness_sd_mm: f64,
    /// Standard deviation of the prepared tooth's lightness, L*; both options meet the same.
    pub prepared_sd: f64,
    /// The options. The question's sights are these as estimated, in the same order.
    pub options: Vec<BracketOption>,
    /// All pairs, the likeliest to succeed first.
    pub pairs: Vec<BracketPair>,
    /// Drawn cases behind the probabilities.
    pub draws: usize,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BracketAnswer {
    /// The two options, by their places, in either order.
    pub options: [usize; 2],
    /// Where the natural tooth lies in value between the darker (0) and the lighter (1) of the two
    /// as estimated; `None` for "it does not lie between them" or not asked.
    pub placed: Option<f64>,
}

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
        BracketAnswer { options: [0, 1], placed: None }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}
