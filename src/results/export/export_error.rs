//! Why an export fails.

use crate::results::store_error::StoreError;
use std::path::PathBuf;
use thiserror::Error;

/// Why an export fails.
#[derive(Debug, Error)]
pub enum ExportError {
    /// The system refuses to write.
    #[error("{}", crate::results::files::refusal("write", path, source))]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A table cannot be written.
    #[error("cannot write the export: {0}")]
    Csv(#[from] csv::Error),
    /// A Parquet file cannot be written.
    #[error("cannot write the export: {0}")]
    Parquet(#[from] ::parquet::errors::ParquetError),
    /// The results cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The folder is not empty.
    #[error("{} is not empty; an export is never mixed with other files: choose a new folder", crate::printable::path(.0))]
    NotEmpty(PathBuf),
    /// No row is selected. Nothing was written.
    #[error("there is nothing to export: {} holds no {what}{whose}", crate::printable::path(path))]
    Nothing {
        /// The results file.
        path: PathBuf,
        /// What was asked for.
        what: &'static str,
        /// Whose, where one learner was asked for.
        whose: String,
    },
}
