//! Blend: Which option disappears?
//!
//! Several restorations that really differ are placed in one mouth, one at a time. The learner names
//! the best, ticks all that are acceptable, or says that none is.

mod cause;
mod compose;
mod layout;
mod marks;
mod options;
mod repeat;
mod task;
mod words;

use super::{AnswerError, Mark, Wording};
pub use compose::{APART_DE00, NONE_ACCEPTABLE_DE00, PAIR_DE00};
pub(super) use layout::lay_out;
pub use layout::{BlendAsked, CATCH_SHARE, next_question};
pub use marks::{BlendMarks, standings, value_first_cost};
pub(super) use repeat::mirrored;
pub use task::{
    BlendAnswer, BlendOption, BlendTask, MARGIN_DE00, MODEL_ERROR_DE00, MeasuredAs, Standing,
    ToothDifference,
};

impl BlendTask {
    pub(super) fn mark(&self, answer: &BlendAnswer, wording: Wording) -> Result<Mark, AnswerError> {
        let marks = self.marks(answer)?;
        let sentences = if wording.to_room {
            words::to_room(self)
        } else {
            words::sentences(self, answer, &marks)
        };
        let truth = self.truth_json(&marks);
        Ok(Mark::new(Some(marks.score), marks.regret_de00, sentences, truth))
    }
}
