//! A room that answers together: one question at a time, many phones, one tally.
//!
//! The rules only. Nothing here knows a network, a clock or a picture: the app serves the page,
//! counts down and says when a question opens, closes and is revealed.

mod door;
mod poll;
mod record;

pub use door::{Door, JoinCode, Pace, Unadmitted};
pub use poll::{Ballot, JoinError, MOST_PHONES, Poll, Refusal, Stage, Tally, Token, TokenError};
pub use record::{AskedItem, Comparison, LecturePart, LectureRecord, PartFigures};
