//! Why a hand-in cannot be written, read or taken in.

use super::store_error::StoreError;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why a file is not taken.
#[derive(Debug, Error)]
pub enum HandInError {
    /// The system refuses to read or write it.
    #[error("{}", super::files::refusal("read or write", path, source))]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// It is no hand-in.
    #[error("{} is not a hand-in: {detail}", crate::printable::path(path))]
    Foreign {
        /// The file.
        path: PathBuf,
        /// What it is or lacks.
        detail: String,
    },
    /// It does not hold what its manifest says.
    #[error("{} is damaged: {detail}", crate::printable::path(path))]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What does not match.
        detail: String,
    },
    /// It was written by a newer version of the program.
    #[error(
        "{} was made by a newer program ({what} {found}, this one knows up to {known}); use that one",
        crate::printable::path(path)
    )]
    Newer {
        /// The file.
        path: PathBuf,
        /// What is newer: format or schema version.
        what: &'static str,
        /// The version found.
        found: u32,
        /// The newest that this program knows.
        known: u32,
    },
    /// It belongs to another course.
    #[error("{} is of course \"{found}\", not \"{wanted}\"", crate::printable::path(path))]
    OtherCourse {
        /// The file.
        path: PathBuf,
        /// Its course.
        found: String,
        /// The course that is gathered.
        wanted: String,
    },
    /// It disagrees with what was gathered before.
    #[error(
        "{}: {trials} of its trials differ from those gathered before; stored trials never change, \
         so one of the two was altered",
        crate::printable::path(path)
    )]
    Contradicts {
        /// The file.
        path: PathBuf,
        /// Trials that differ.
        trials: u64,
    },
    /// It holds what no sitting of this program leaves behind.
    #[error(
        "{} holds what no sitting can: {what}; nothing of it was taken: ask for the file again from \
         the seat it came from",
        crate::printable::path(path)
    )]
    Impossible {
        /// The file.
        path: PathBuf,
        /// Session, row and column, and what is wrong there.
        what: String,
    },
    /// There is nothing to hand in.
    #[error("there are no finished or begun sessions of learner {learner} in course {course}")]
    Nothing {
        /// The learner.
        learner: String,
        /// The course.
        course: String,
    },
    /// The results themselves cannot be used.
    #[error(transparent)]
    Store(#[from] StoreError),
}

pub(super) fn io(path: &Path) -> impl Fn(std::io::Error) -> HandInError {
    move |source| HandInError::Io { path: path.to_owned(), source }
}
