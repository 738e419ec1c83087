//! Many hand-ins into one store.
//!
//! A hand-in is taken apart on a thread of its own: container, checksum, schema and every row are
//! checked before the first is written (`archive`, `guard`, `examine`). What is found possible is
//! copied row by row through statements of this program, so that nothing of the other file runs in
//! the store.

use super::archive::Archive;
use super::examine::{self, ItemTruth, Refusal};
use super::guard::Guard;
use super::hand_in_error::HandInError;
use super::manifest::Manifest;
use super::merge::{Counts, Fault, Merge, Statements};
use super::store::Store;
use super::store_error::{StoreError, classify};
use rusqlite::{Connection, ErrorCode};
use std::path::{Path, PathBuf};

/// What became of a file.
#[derive(Debug)]
pub struct Taken {
    /// The file.
    pub path: PathBuf,
    /// What it says about itself.
    pub manifest: Manifest,
    /// Trials and answers to questions that were new.
    pub new_trials: u64,
    /// Trials and answers to questions that had been gathered before.
    pub known_trials: u64,
}

/// What became of all files.
#[derive(Debug, Default)]
pub struct Gathered {
    /// Files whose content is in the store.
    pub taken: Vec<Taken>,
    /// Files that are not, and why; nothing of them was taken.
    pub refused: Vec<(PathBuf, HandInError)>,
}

/// Which session of this store is which session of a seat; [`examine::origin`] is what a session of
/// a seat is known by.
const GATHERED: &str = "CREATE TABLE IF NOT EXISTS gathered (
    session INTEGER PRIMARY KEY REFERENCES session (id),
    origin TEXT NOT NULL UNIQUE
) STRICT";

/// Hand-ins that may lie in memory before their turn comes.
const AHEAD: usize = 4;

impl Store {
    /// Takes hand-ins into this store, each whole or not at all. Doing it again changes nothing; a
    /// later hand-in of the same seat adds what is new in it. With `course`, those of other
    /// courses are refused; what smiles of forms showed is asked of `truth`. `progress` is told how
    /// many files are done.
    ///
    /// # Errors
    /// [`StoreError`] when this store cannot be written. What is wrong with a hand-in is listed
    /// and stops nothing.
    pub fn gather(
        &mut self,
        files: &[PathBuf],
        course: Option<&str>,
        truth: &dyn ItemTruth,
        progress: &mut dyn FnMut(usize),
    ) -> Result<Gathered, StoreError> {
        self.run(|connection| connection.execute_batch(GATHERED))?;
        // One wait for the disk at the end instead of one per file: after a power cut some files
        // are gathered and some are not, and gathering goes on from there.
        self.run(|connection| connection.pragma_update(None, "synchronous", "NORMAL"))?;
        let gathered = self.gather_each(files, course, truth, progress);
        self.run(|connection| connection.pragma_update(None, "synchronous", "FULL"))?;
        self.run(|connection| {
            connection.query_row("PRAGMA wal_checkpoint(PASSIVE)", [], |_| Ok(()))
        })?;
        gathered
    }

    fn gather_each(
        &self,
        files: &[PathBuf],
        course: Option<&str>,
        truth: &dyn ItemTruth,
        progress: &mut dyn FnMut(usize),
    ) -> Result<Gathered, StoreError> {
        let mut gathered = Gathered::default();
        let guard = Guard::new().map_err(|e| classify(&self.path, e))?;
        let into = Statements::new();
        std::thread::scope(|scope| {
            // One thread reads and checks files while this one takes in what they hold.
            let (sender, receiver) = std::sync::mpsc::sync_channel(AHEAD);
            scope.spawn(move || {
                for path in files {
                    if sender.send(checked(path, course, truth, &guard)).is_err() {
                        return;
                    }
                }
            });
            for (done, (path, checked)) in files.iter().zip(receiver).enumerate() {
                progress(done);
                match checked.and_then(|checked| self.take(path, checked, &into)) {
                    Ok(taken) => gathered.taken.push(taken),
                    // The store being full or locked is no fault of the file.
                    Err(HandInError::Store(error)) => return Err(error),
                    Err(error) => gathered.refused.push((path.clone(), error)),
                }
            }
            progress(files.len());
            Ok(gathered)
        })
    }

    fn take(&self, path: &Path, checked: Checked, into: &Statements) -> Result<Taken, HandInError> {
        let failed = |e| HandInError::Store(classify(&self.path, e));
        let transaction = self.writing().map_err(failed)?;
        let merged = Merge { from: &checked.results, to: &transaction, into }.all();
        match merged {
            Ok(Counts { differing: 0, new, known }) => {
                transaction.commit().map_err(failed)?;
                let (path, manifest) = (path.to_owned(), checked.manifest);
                Ok(Taken { path, manifest, new_trials: new, known_trials: known })
            }
            Ok(counts) => {
                Err(HandInError::Contradicts { path: path.to_owned(), trials: counts.differing })
            }
            Err(Fault::File(error)) => {
                Err(HandInError::Damaged { path: path.to_owned(), detail: error.to_string() })
            }
            // A rule of the store's schema that the file breaks is the file's fault.
            Err(Fault::Store(error))
                if error.sqlite_error_code() == Some(ErrorCode::ConstraintViolation) =>
            {
                Err(HandInError::Damaged { path: path.to_owned(), detail: error.to_string() })
            }
            Err(Fault::Store(error)) => Err(failed(error)),
        }
    }
}

/// A hand-in whose every row is possible, in the schema of this version.
struct Checked {
    manifest: Manifest,
    results: Connection,
}

fn checked(
    path: &Path,
    course: Option<&str>,
    truth: &dyn ItemTruth,
    guard: &Guard,
) -> Result<Checked, HandInError> {
    let archive = Archive::open(path)?;
    if let Some(wanted) = course.filter(|wanted| *wanted != archive.manifest.course) {
        return Err(HandInError::OtherCourse {
            path: path.to_owned(),
            found: archive.manifest.course,
            wanted: wanted.to_owned(),
        });
    }
    let (manifest, results) = archive.results(guard)?;
    let found = examine::examine(&results, &manifest.learner, &manifest.course, truth);
    let found = found.map_err(|refusal| match refusal {
        Refusal::Impossible(what) => HandInError::Impossible { path: path.to_owned(), what },
        Refusal::Unreadable(error) => {
            let detail = super::guard::Unfit::from(error).to_string();
            HandInError::Damaged { path: path.to_owned(), detail }
        }
    })?;
    let (sessions, trials) = (found.sessions, found.trials);
    // Earlier versions counted answers to questions as trials: the sum is the same.
    let said = manifest.trials.saturating_add(manifest.answers);
    if sessions != manifest.sessions || trials != said {
        return Err(HandInError::Damaged {
            path: path.to_owned(),
            detail: format!(
                "it holds {sessions} sessions and {trials} trials and answers, and its manifest says {} and {said}",
                manifest.sessions
            ),
        });
    }
    Ok(Checked { manifest, results })
}
