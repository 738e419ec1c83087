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
