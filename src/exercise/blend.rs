//! Blend: Which option disappears?
//!
//! Several restorations that really differ are placed in one mouth, one at a time. The learner names
//! the best, ticks all that are acceptable, or says that none is.
//!
//! # How a question is laid out
//! `layout` draws a patient and one prepared tooth, works every kind of the level over the shade
//! lattice in two drawn thicknesses by the estimator, and picks from these: the best, an equal pair
//! (one darker, one lighter: what tells a value bias from noise), others. What was picked is judged
//! by [`bake::Judge`](crate::bake::Judge), the bake of one tooth; estimates of others of a kind
//! learn from what those judged were off, the more alike the more; and options are picked anew with
//! the same draws until all that are picked are known. What picking asks for then holds on the
//! maps, and nothing is checked twice. Where no question can be had, other thicknesses and then
//! other patients are drawn, and the error lists why each draw failed (`compose::Unmet`): a level
//! that asks too much is seen by it. Most often the nearest shade is too far off in chroma, as the
//! lattice has three columns: then narrow the patients or add a kind.
//!
//! The stated error of the model is 0.065 ΔE00 ([`MODEL_ERROR_DE00`]); options keep twice that ([`MARGIN_DE00`])
//! from every limit that decides how they are marked, and 0.5 from each other. The largest
//! difference over the lights is the truth under the level's light and an estimate under the
//! others.

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
