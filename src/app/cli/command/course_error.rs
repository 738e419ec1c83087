//! Why a command about courses and their results failed.

use crate::course::{LearnerIdError, RosterError, SimulationError};
use crate::play::content::ContentError;
use crate::play::records::RecordsError;
use crate::printable;
use crate::results::{ExportError, HAND_IN_EXTENSION, HandInError, StoreError, Table, refusal};
use std::io;
use std::path::{Path, PathBuf};

/// Why a command about courses and their results failed.
#[derive(Debug, thiserror::Error)]
pub(crate) enum CourseError {
    #[error(transparent)]
    Content(#[from] ContentError),
    #[error(transparent)]
    Records(#[from] RecordsError),
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error(transparent)]
    HandIn(#[from] HandInError),
    #[error(transparent)]
    Export(#[from] ExportError),
    #[error(transparent)]
    Learner(#[from] LearnerIdError),
    #[error(transparent)]
    Simulation(#[from] SimulationError),
    /// A form of the course cannot be sat; what and where.
    #[error("{0}")]
    Form(String),
    /// The system refused what was tried, a verb.
    #[error("{}", refusal(tried, path, source))]
    Refused { tried: &'static str, path: PathBuf, source: io::Error },
    #[error(transparent)]
    Write(#[from] io::Error),
    #[error("{}: {source}", printable::path(path))]
    Roster { path: PathBuf, source: RosterError },
    #[error("{} is there already; a roster is never overwritten", printable::path(.0))]
    RosterThere(PathBuf),
    #[error("{} is there already; choose a new folder", printable::path(.0))]
    FolderThere(PathBuf),
    #[error("there is no .{} file in {}", HAND_IN_EXTENSION, printable::path(.0))]
    NoHandIns(PathBuf),
    #[error("the results hold several courses ({}); name one with --course", .0.join(", "))]
    SeveralCourses(Vec<String>),
    #[error("no form was sat in these results")]
    NoSittings,
    #[error("there is nothing to export: no results in {}", printable::path(.0))]
    NoResults(PathBuf),
    /// The default table is not everybody's.
    #[error("{source}; it does hold {}: choose with --table", other.in_words())]
    OtherTable { source: ExportError, other: Table },
}

impl CourseError {
    /// Tells what was tried, a verb such as `write`, with which file.
    pub(crate) fn refused(tried: &'static str, path: &Path) -> impl FnOnce(io::Error) -> Self {
        let path = path.to_owned();
        move |source| Self::Refused { tried, path, source }
    }
}
