//! A lecture: the room's phones answer on a page that this machine serves.

mod address;
mod code;
mod connections;
mod room;
mod server;

pub use address::{NotHere, checked, found_addresses};
pub use code::{Code, code_of};
pub use connections::Limits;
pub use room::{Lecture, RoomIntent, RoomStage};
pub use server::{PollServer, ServeError};

pub(super) use room::plugin;
#[cfg(test)]
pub(super) use room::{ballot_of, ballot_of_question, truth_of};
