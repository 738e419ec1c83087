//! Why results cannot be stored or read.

use crate::results::schema::LATEST_VERSION;
use rusqlite::ErrorCode;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why results cannot be stored or read.
#[derive(Debug, Error)]
pub enum StoreError {
    /// The folder cannot be made.
    #[error(
        "{} (it would hold the results)",
        super::files::refusal("make the folder", path, source)
    )]
    Folder {
        /// The folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// The file cannot be made or written.
    #[error("cannot write the results file {}; make it writable or choose another folder", crate::printable::path(.0))]
    Unwritable(PathBuf),
    /// The file is not a database at all.
    #[error(
        "{} is not a results file; it was left as it is: move it away or choose another folder",
        crate::printable::path(.0)
    )]
    NotADatabase(PathBuf),
    /// The file is a database of some other program.
    #[error(
        "{} is a database of another program; it was left as it is: move it away or choose \
         another folder",
        crate::printable::path(.0)
    )]
    Foreign(PathBuf),
    /// The file is damaged.
    #[error(
        "the results file {} is damaged ({detail}); it was left as it is: move it away to start a \
         new one",
        crate::printable::path(path)
    )]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What SQLite found.
        detail: String,
    },
    /// The file was written by a newer version of the program.
    #[error(
        "the results file {} has schema version {found}, this program knows up to \
         {LATEST_VERSION}; use the newer program",
        crate::printable::path(path)
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its schema version.
        found: i64,
    },
    /// Another process kept the file locked.
    #[error("the results file {} is being written by another process", crate::printable::path(.0))]
    Busy(PathBuf),
    /// There is no room left.
    #[error(
        "the disk with the results file {} is full; every answer stored so far is kept: make room \
         and go on, or choose another folder",
        crate::printable::path(.0)
    )]
    Full(PathBuf),
    /// The system fails to write or to read.
    #[error(
        "the system cannot write the results file {} ({detail}); every answer stored so far is \
         kept: look at the disk, or choose another folder",
        crate::printable::path(path)
    )]
    Device {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        detail: String,
    },
    /// A trial number that is stored already.
    #[error(
        "trial {trial} of session {session} is stored already; stored trials are never changed"
    )]
    AlreadyStored {
        /// The session.
        session: i64,
        /// The 0-based trial number.
        trial: u32,
    },
    /// A session that does not exist.
    #[error("there is no session {0}")]
    NoSession(i64),
    /// A session that is over.
    #[error("session {0} is finished and takes no more trials")]
    Finished(i64),
    /// Writing the export failed.
    #[error("cannot write the export: {0}")]
    Export(#[from] csv::Error),
    /// Anything else SQLite reports.
    #[error("results file {}: {source}", crate::printable::path(path))]
    Sqlite {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        source: rusqlite::Error,
    },
}

/// Turns an SQLite failure into one that says what to do.
pub(super) fn classify(path: &Path, source: rusqlite::Error) -> StoreError {
    let path = path.to_owned();
    match source.sqlite_error_code() {
        Some(ErrorCode::NotADatabase) => StoreError::NotADatabase(path),
        Some(ErrorCode::DatabaseCorrupt) => {
            StoreError::Damaged { path, detail: source.to_string() }
        }
        Some(ErrorCode::CannotOpen | ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => {
            StoreError::Unwritable(path)
        }
        Some(ErrorCode::DiskFull) => StoreError::Full(path),
        Some(ErrorCode::SystemIoFailure) => StoreError::Device { path, detail: source.to_string() },
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreError::Busy(path),
        _ => StoreError::Sqlite { path, source },
    }
}
