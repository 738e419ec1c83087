//! Tests of the app: drawing, screens, commands.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod cli;
mod first_hour;
mod layouts;
mod letters;
mod picture;
mod play;
mod reading;
mod room;
mod shell;
mod stage;
mod ui;
