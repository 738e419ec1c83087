//! Courses in the app: a learner at a seat who sits forms and hands in, and a room that answers
//! together.
//!
//! Both run forms and levels through [`session`](crate::play::session) and questions through [`round`](crate::play::round), in the
//! [`Mode`](crate::play::mode::Mode) of practice, an exam or a room; a room's
//! answers are stored as nobody's. [`course::Standing`](crate::course::Standing) says from the
//! stored sessions which step is on.
//!
//! Times to answer are extended by a factor that the course allows and the session stores (`0` is
//! unlimited); exposures never are. Nothing is told before the hand-in is written; feedback is
//! [`report::exam_feedback`](crate::report::exam_feedback), computed from the same
//! [`CourseData`](crate::course::CourseData) as the group's report. `cargo test --test app exam`
//! sits an exam by keyboard with a crash, leaving, focus losses, a hand-in that cannot be written,
//! and reads what arrives at the instructor's.

mod exam_log;
mod seat;
mod seat_form;

pub use exam_log::ExamLog;
pub use seat::{HandInState, Seat, SeatError};
pub use seat_form::SeatForm;
