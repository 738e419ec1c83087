//! The program as it is run from a shell.

pub mod checking;
mod closed_pipe;
mod own_course;
#[cfg(unix)]
mod owner_only;
mod pace;
pub mod program;
