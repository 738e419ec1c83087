//! The command line: its arguments, its commands, and the window that it opens.

pub mod arguments;
pub mod command;
pub mod environment;
pub mod launch;
pub mod say;
