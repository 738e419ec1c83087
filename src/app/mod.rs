//! The Bevy app.
