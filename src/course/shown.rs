//! Forms as they were shown, and sittings of them.

use super::estimate::{ItemAnswer, SittingEstimate};
use crate::level::course_format::Phase;
use crate::psychophysics::{Direction, ModelTrial};
use crate::results::Counted;
use crate::scene::Tooth;

/// An item as it was shown.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownItem {
    /// Index of the restored tooth in the viewer's order, direction and achieved difference;
    /// `None` where nothing is restored.
    pub signal: Option<(usize, Direction, f64)>,
    /// Natural residuals in value, ΔE00, per tooth.
    pub residuals_de00: Vec<f64>,
    /// Exposure, s.
    pub exposure_s: f64,
}

/// A form as it was shown.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownForm {
    /// The form's seed.
    pub seed: u64,
    /// Its id in the course.
    pub id: String,
    /// Teeth in view, in the viewer's order.
    pub teeth: Vec<Tooth>,
    /// Items by number; `None` where nobody saw one.
    pub items: Vec<Option<ShownItem>>,
    /// Trials whose difference was not that of the same item at other seats.
    pub unlike: u32,
}

/// One person sitting one form once.
#[derive(Debug, Clone, PartialEq)]
pub struct FormSitting {
    /// Session number in the store.
    pub session: i64,
    /// The learner's random id.
    pub learner: String,
    /// The seat.
    pub seat: u64,
    /// When in the course.
    pub phase: Phase,
    /// Index into `CourseData::forms`.
    pub form: usize,
    /// The day, UTC.
    pub day: String,
    /// Whether it counts, where the learner sat in this phase more than once.
    pub counted: Counted,
    /// Factor on the time to answer, 1 for none; 0 for unlimited.
    pub response_factor: f64,
    /// Answers by item; `None` where it was not shown or the exposure did not hold.
    pub answers: Vec<Option<ItemAnswer>>,
    /// Tooth named by item, 1 at the viewer's left.
    pub named: Vec<Option<u32>>,
    /// Median time to right answers on restorations, s.
    pub median_right_s: Option<f64>,
    /// Exposures that did not hold.
    pub spoilt: u32,
    /// What it says about the threshold.
    pub estimate: Option<SittingEstimate>,
}

impl FormSitting {
    /// Items answered or timed out.
    #[must_use]
    pub fn shown(&self) -> usize {
        self.answers.iter().flatten().count()
    }
}

impl ShownItem {
    pub(super) fn model_trial(&self, answer: usize) -> ModelTrial {
        ModelTrial {
            signal: self.signal,
            residuals_de00: self.residuals_de00.clone(),
            exposure_s: self.exposure_s,
            answer,
        }
    }
}
