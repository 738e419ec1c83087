//! A room that answers together: one question at a time, many phones, one tally.
//!
//! The rules only. Nothing here knows a network, a clock or a picture: the app serves the page,
//! counts down and says when a question opens, closes and is revealed.
//!
//! What a phone must know and how fast phones may join is the [`Door`]'s: a code of five letters
//! and digits that the room's screen shows, 60 joins at once and two a second after that from one
//! place. A [`Poll`] takes one answer from each phone, at most [`MOST_PHONES`] of them, and tells
//! nobody how others answered before the question is revealed.

mod door;
mod poll;
mod record;

pub use door::{Door, JoinCode, Pace, Unadmitted};
pub use poll::{Ballot, JoinError, MOST_PHONES, Poll, Refusal, Stage, Tally, Token, TokenError};
pub use record::{AskedItem, Comparison, LecturePart, LectureRecord, PartFigures};
