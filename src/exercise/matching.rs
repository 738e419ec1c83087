//! Match: Which tab is nearest?

use super::cases::Layout;
use super::{AnswerError, ExerciseError, Learner, Mark, Question};
use crate::bake::ZoneDifference;
use crate::colorimetry::{Lab, Lch};
use crate::scene::Tooth;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One tab: a tooth-shaped patch without a name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tab {
    /// Colour of its middle third, CIELAB LCh under D65/2°; for the debrief only.
    pub shade: Lch,
    /// Colours of its thirds as displayed: cervical, body, incisal.
    pub zones: [Lab; 3],
    /// The same as linear sRGB.
    pub linear: [[f64; 3]; 3],
    /// The difference tab minus target tooth, thirds weighted as everywhere.
    pub difference: ZoneDifference,
}

/// A target tooth and tabs, with how far each is from it. The question's only sight is the mouth
/// that the target tooth stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchTask {
    /// The target tooth.
    pub tooth: Tooth,
    /// Its thirds as displayed: cervical, body, incisal.
    pub target: [Lab; 3],
    /// The tabs in the order they are shown.
    pub tabs: Vec<Tab>,
    /// The tab that is exactly like the target, if one is.
    pub exact: Option<usize>,
}

/// What a learner can say of the tabs; indices into [`MatchTask::tabs`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MatchChoice {
    /// This tab is nearest.
    Tab(usize),
    /// The target lies between these two.
    Between(usize, usize),
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MatchAnswer {
    /// What was chosen.
    pub choice: MatchChoice,
}

impl MatchAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl MatchTask {
    pub(super) fn mark(&self, _answer: &MatchAnswer) -> Result<Mark, AnswerError> {
        Err(AnswerError::Impossible("this exercise is not built yet".to_owned()))
    }

    pub(super) fn answer_of(
        &self,
        _learner: &Learner,
        _stream: &mut impl rand::Rng,
    ) -> MatchAnswer {
        MatchAnswer { choice: MatchChoice::Tab(0) }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}
