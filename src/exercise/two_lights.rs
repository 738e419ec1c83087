//! Two lights: Does the choice hold in another light?

use super::cases::Layout;
use super::{AnswerError, ExerciseError, Learner, Mark, Question, Sight};
use crate::bake::ZoneDifference;
use crate::colorimetry::Illuminant;
use crate::scene::{Restoration, Tooth};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One option, with how far it is from the twin in each light.
#[derive(Debug, Clone, PartialEq)]
pub struct LitOption {
    /// The restoration.
    pub restoration: Restoration,
    /// Restored minus twin in the first light.
    pub first: ZoneDifference,
    /// Restored minus twin in the second light.
    pub second: ZoneDifference,
}

/// Options seen first in one light, then in another. The question's sights are the options in the
/// first light, in the same order.
#[derive(Debug, Clone, PartialEq)]
pub struct TwoLightsTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// The light of the choice.
    pub first_light: Illuminant,
    /// The other light.
    pub second_light: Illuminant,
    /// The options, with their truth.
    pub options: Vec<LitOption>,
    /// The options in the second light, in the same order; to be shown after the prediction only.
    pub second_sights: Vec<Sight>,
}

/// The answer; indices into [`TwoLightsTask::options`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TwoLightsAnswer {
    /// The option chosen in the first light.
    pub choice: usize,
    /// Whether the learner predicts to keep it in the second light.
    pub keep: bool,
    /// The option chosen after seeing the second light.
    pub second_choice: usize,
}

impl TwoLightsAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl TwoLightsTask {
    pub(super) fn mark(&self, _answer: &TwoLightsAnswer) -> Result<Mark, AnswerError> {
        Err(AnswerError::Impossible("this exercise is not built yet".to_owned()))
    }

    pub(super) fn answer_of(
        &self,
        _learner: &Learner,
        _stream: &mut impl rand::Rng,
    ) -> TwoLightsAnswer {
        TwoLightsAnswer { choice: 0, keep: true, second_choice: 0 }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}
