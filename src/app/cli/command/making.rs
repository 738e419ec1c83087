//! Why a file of one's own was not made.

use crate::app::cli::exit::{ExitWith, NotWritten};
use crate::bake::BakeError;
use crate::intake::ImportError;
use crate::level::LoadError;
use crate::play::content::ContentError;
use crate::play::whole_file::WriteError;

/// Why no file was made.
#[derive(Debug, thiserror::Error)]
pub(crate) enum MakeError {
    #[error(transparent)]
    Materials(#[from] ContentError),
    #[error(transparent)]
    Load(#[from] LoadError),
    /// Those of all files that did not load, one below the other.
    #[error("{}", below_each_other(.0))]
    Measurements(Vec<LoadError>),
    #[error(transparent)]
    Import(#[from] ImportError),
    #[error(transparent)]
    Case(#[from] BakeError),
    #[error(transparent)]
    Text(#[from] ron::Error),
    #[error(transparent)]
    NotWritten(NotWritten),
}

impl From<WriteError> for MakeError {
    fn from(error: WriteError) -> Self {
        Self::NotWritten(error.into())
    }
}

fn below_each_other(errors: &[LoadError]) -> String {
    let lines: Vec<String> = errors.iter().map(LoadError::to_string).collect();
    lines.join("\n")
}

/// Prints what was made, or says why nothing was.
pub(crate) fn made(result: Result<String, MakeError>) -> ExitWith {
    ExitWith::of(result.map_err(|error| format!("{error}\nNothing was written.")))
}
