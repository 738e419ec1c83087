//! A lecture: the room's phones answer on a page that this machine serves.
//!
//! In a lecture the engine's phases drive the poll: the mask opens it, the debrief closes it, the
//! instructor reveals. `/state` tells phones counts and right answers in stage `revealed` only.
//! Without a port or a network, hands are shown: items are then kept without counts.
//!
//! # The network
//! The page needs no internet and no names. A phone joins with the code on the screen in front, at
//! the pace of [`lecture::Door`](crate::lecture::Door) (60 at once and two a second after that from
//! one address or IPv6 network), and is known by a random token until the lecture ends. A request
//! has 8 s for its head and 5 s for the rest and its reply, a body at most 512 bytes, a connection
//! at most ten minutes; there are at most 800 connections, half of them from one place
//! ([`Limits`]). The address on the screen is one of this computer's own interfaces, private IPv4
//! first; where there are several networks, `course lecture --address` names it.
//!
//! | test | what |
//! |---|---|
//! | `cargo test --test app lecture::` | the page for phones: many phones, the code to join, a flood, slow connections, headers |
//! | `cargo test --test app room` | lectures with phones on the real server, a taken port, options of which several are right |
//! | `cargo test --test app browser -- --ignored` | the page in Chromium, tapped |

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
