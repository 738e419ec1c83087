//! How the program ends, and what it says then.

use crate::play::whole_file::WriteError;
use std::fmt::Display;
use std::process::ExitCode;

/// Why a file was not written, and what to do.
#[derive(Debug, thiserror::Error)]
pub(crate) enum NotWritten {
    #[error("{0}; add --replace to overwrite it")]
    Taken(WriteError),
    #[error(transparent)]
    Failed(WriteError),
}

impl From<WriteError> for NotWritten {
    fn from(error: WriteError) -> Self {
        match error {
            WriteError::Taken(_) => Self::Taken(error),
            WriteError::Failed { .. } => Self::Failed(error),
        }
    }
}

/// How the program ends.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ExitWith {
    /// 0 success, 1 failure, 3 nothing to show a window on or to draw it with. Wrong usage is 2 and comes from clap.
    pub code: u8,
    /// What to tell on the error stream.
    pub message: Option<String>,
}

impl ExitWith {
    /// All went well.
    #[must_use]
    pub const fn success() -> Self {
        Self { code: 0, message: None }
    }

    /// Prints what came of a command, or says why nothing did.
    #[must_use]
    pub fn of<E: Display>(result: Result<String, E>) -> Self {
        match result {
            Ok(said) => {
                say!("{said}");
                Self::success()
            }
            Err(error) => Self::failure(error),
        }
    }

    /// Something failed.
    #[must_use]
    pub fn failure(message: impl Display) -> Self {
        Self { code: 1, message: Some(message.to_string()) }
    }

    /// There is no display, or nothing draws on it.
    #[must_use]
    pub fn no_display(message: impl Display) -> Self {
        Self { code: 3, message: Some(message.to_string()) }
    }

    /// Prints the message and gives the exit code.
    #[must_use]
    pub fn report(self) -> ExitCode {
        if let Some(message) = self.message {
            complain!("{message}");
        }
        ExitCode::from(self.code)
    }
}
