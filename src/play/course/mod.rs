//! Courses: a learner at a seat who sits forms and hands in, and the parts that a course is made of.

mod exam_log;
pub(crate) mod part;
mod seat;
mod seat_form;

pub use exam_log::ExamLog;
pub use part::PartWanted;
pub use seat::{HandInState, Seat};
pub use seat_form::SeatForm;
