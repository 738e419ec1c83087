//! The command line: its arguments, its commands, and the window that it opens.

#[macro_use]
pub mod say;

pub mod arguments;
pub mod command;
pub mod environment;
pub mod exit;
pub mod launch;
