//! A lecture: the room's phones answer on a page that this machine serves.

mod address;
mod code;
mod room;
mod server;

pub use address::own_address;
pub use code::{Code, code_of};
pub use room::{Lecture, RoomIntent, RoomStage};
pub use server::{PollServer, ServeError};

pub(super) use room::plugin;
