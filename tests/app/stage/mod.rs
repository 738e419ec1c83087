//! The app as tests run it: real content in short sessions, time by hand, and one way in for each
//! kind of test.
//!
//! | what | screens | pictures | for |
//! |---|---|---|---|
//! | [`Walk`] | none | flat | rules of what is under way, by intents and keys |
//! | [`Drawn`] | laid out, without a window | flat | where words lie and whether they are cut off |
//! | [`Hands`] | laid out, in a window that is not there | flat | what a pointer and a keyboard reach |
//! | [`rendered`] | drawn on a graphics adapter | as the test answers | pixels |

pub mod bench;
pub mod content;
mod drawn;
mod hands;
pub mod keys;
pub mod phones;
mod pictures;
pub mod pointer_play;
pub mod rendered;
mod screens;
pub mod shots;
mod walk;
mod words;

pub use content::{CHOICE_QUESTIONS, LEVEL, QUESTIONS, TRIALS, library};
pub use drawn::Drawn;
pub use hands::{Hands, Target};
pub use pictures::CanDraw;
pub use walk::{FRAME_S, Walk};
