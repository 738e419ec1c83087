//! The Bevy app.

pub mod picture;
pub mod viewport;
