//! Opening, writing and reading the result file.

use crate::results::bad_row::BadRow;
use crate::results::export::{ExportError, Selection, Table};
use crate::results::files::{create_private_folder, tighten_if_there, touch_private};
use crate::results::guard;
use crate::results::schema::{self, APPLICATION_ID, LATEST_VERSION};
use crate::results::trial_row::TrialRow;
use rusqlite::{
    Connection, ErrorCode, OptionalExtension, Transaction, TransactionBehavior, named_params,
};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::time::Duration;
use thiserror::Error;

/// Name of the file in its folder.
pub const FILE_NAME: &str = "results.sqlite3";
/// How long to wait for another process that is writing.
const BUSY_TIMEOUT: Duration = Duration::from_secs(5);

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

impl StoreError {
    /// An export's failure as one of the store.
    pub(super) fn from_export(error: ExportError) -> Self {
        match error {
            ExportError::Store(error) => error,
            ExportError::Csv(error) => Self::Export(error),
            other => Self::Export(std::io::Error::other(other).into()),
        }
    }
}

/// What is known about a session when it begins.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionInfo {
    /// When it began, RFC 3339 in UTC, such as `2026-01-31T09:30:00Z`.
    pub started_at: String,
    /// Version of the program.
    pub build: String,
    /// The exercise, such as `glance`.
    pub task: String,
    /// The mode, such as `practice`.
    pub mode: String,
    /// The level's id.
    pub level: String,
    /// The session's seed.
    pub seed: u64,
    /// The display's refresh rate, Hz.
    pub refresh_hz: f64,
    /// Trials in the plan.
    pub planned_trials: u32,
    /// Settings in force, as JSON.
    pub settings: serde_json::Value,
}

/// A session being written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Recording {
    /// The session's number.
    pub session: i64,
    /// 1 for a session begun, one more each time it was resumed after storing trials.
    pub run: u32,
    /// The trial to go on with: 0 for a session begun.
    pub next_trial: u32,
}

/// A session as stored.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredSession {
    /// Its number.
    pub session: i64,
    /// What was known when it began.
    pub info: SessionInfo,
    /// When it was finished, as given; `None` for one that was cut off or is still running.
    pub finished_at: Option<String>,
    /// Trials, or answers to questions, stored.
    pub stored_trials: u32,
}

/// The result file.
#[derive(Debug)]
pub struct Store {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
}

impl Store {
    /// Opens `results.sqlite3` in `dir`, making folder and file where missing and bringing an
    /// older file up to date.
    ///
    /// # Errors
    /// [`StoreError`] when folder or file cannot be made or written, or when the file is damaged,
    /// newer than this program, or not one of ours. Such a file is left untouched.
    pub fn open(dir: &Path) -> Result<Self, StoreError> {
        create_private_folder(dir)
            .map_err(|source| StoreError::Folder { path: dir.to_owned(), source })?;
        let path = dir.join(FILE_NAME);
        // The log files beside it get the rights of the file. Why it cannot be made, if so, is said
        // on opening.
        let _ = touch_private(&path);
        // What a run that broke off left beside it holds answers, too.
        for end in ["-wal", "-shm"] {
            let _ = tighten_if_there(&dir.join(format!("{FILE_NAME}{end}")));
        }
        let connection = Connection::open(&path).map_err(|e| classify(&path, e))?;
        let mut store = Self { connection, path };
        store.prepare()?;
        Ok(store)
    }

    /// Where the file is.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Begins a session.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be written.
    pub fn begin(&self, info: &SessionInfo) -> Result<Recording, StoreError> {
        self.run(|connection| {
            connection.execute(
                "INSERT INTO session (started_at, build, task, mode, level, seed, refresh_hz,
                                      planned_trials, settings)
                 VALUES (:started_at, :build, :task, :mode, :level, :seed, :refresh_hz,
                         :planned_trials, :settings)",
                named_params! {
                    ":started_at": info.started_at,
                    ":build": info.build,
                    ":task": info.task,
                    ":mode": info.mode,
                    ":level": info.level,
                    ":seed": info.seed.to_string(),
                    ":refresh_hz": info.refresh_hz,
                    ":planned_trials": info.planned_trials,
                    ":settings": info.settings.to_string(),
                },
            )?;
            Ok(Recording { session: connection.last_insert_rowid(), run: 1, next_trial: 0 })
        })
    }

    /// Takes up an unfinished session after its last stored trial. Times of its further trials
    /// count from the new run's beginning.
    ///
    /// # Errors
    /// [`StoreError::NoSession`], [`StoreError::Finished`], or a read failure.
    pub fn resume(&self, session: i64) -> Result<Recording, StoreError> {
        self.refuse_unless_open(session)?;
        self.run(|connection| {
            connection.query_row(
                "SELECT coalesce(max(run), 0) + 1, coalesce(max(number) + 1, 0) FROM (
                     SELECT run, trial AS number FROM trial WHERE session = ?1
                     UNION ALL SELECT run, number FROM answer WHERE session = ?1)",
                [session],
                |row| Ok(Recording { session, run: row.get(0)?, next_trial: row.get(1)? }),
            )
        })
    }

    /// Stores a trial. When this returns, the trial is in the file, whatever happens to the
    /// process.
    ///
    /// # Errors
    /// [`StoreError::AlreadyStored`] for a trial number the session has already,
    /// [`StoreError::NoSession`], [`StoreError::Finished`], or a write failure.
    pub fn append(&self, recording: Recording, row: &TrialRow) -> Result<(), StoreError> {
        self.refuse_unless_open(recording.session)?;
        match row.insert(&self.connection, recording.session, recording.run) {
            Ok(()) => Ok(()),
            Err(rusqlite::Error::SqliteFailure(e, _))
                if e.extended_code == rusqlite::ffi::SQLITE_CONSTRAINT_UNIQUE =>
            {
                Err(StoreError::AlreadyStored {
                    session: recording.session,
                    trial: row.outcome.trial,
                })
            }
            Err(error) => Err(classify(&self.path, error)),
        }
    }

    /// Stores many trials in one transaction: for sessions that are made rather than sat. Answers of
    /// a person are stored one by one with [`append`](Self::append).
    ///
    /// # Errors
    /// As [`append`](Self::append); nothing is stored then.
    pub fn append_all(&self, recording: Recording, rows: &[TrialRow]) -> Result<(), StoreError> {
        let failed = |e| classify(&self.path, e);
        let transaction = self.writing().map_err(failed)?;
        for row in rows {
            self.append(recording, row)?;
        }
        transaction.commit().map_err(failed)
    }

    /// Marks a session finished. `finished_at` is stored as given.
    ///
    /// # Errors
    /// [`StoreError::NoSession`], [`StoreError::Finished`], or a write failure.
    pub fn finish(&self, recording: Recording, finished_at: &str) -> Result<(), StoreError> {
        self.refuse_unless_open(recording.session)?;
        self.run(|connection| {
            connection.execute(
                "UPDATE session SET finished_at = ?2 WHERE id = ?1 AND finished_at IS NULL",
                (recording.session, finished_at),
            )
        })?;
        Ok(())
    }

    /// All sessions, oldest first, without those that [`unreadable_sessions`](Self::unreadable_sessions)
    /// names.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn sessions(&self) -> Result<Vec<StoredSession>, StoreError> {
        Ok(self.read_sessions()?.into_iter().filter_map(Result::ok).collect())
    }

    /// Sessions that hold what none can.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn unreadable_sessions(&self) -> Result<Vec<BadRow>, StoreError> {
        Ok(self.read_sessions()?.into_iter().filter_map(Result::err).collect())
    }

    fn read_sessions(&self) -> Result<Vec<Result<StoredSession, BadRow>>, StoreError> {
        self.run(|connection| {
            connection
                .prepare(
                    "SELECT session.*, (SELECT count(*) FROM trial WHERE session = session.id)
                            + (SELECT count(*) FROM answer WHERE session = session.id)
                            AS stored_trials
                     FROM session ORDER BY id",
                )?
                .query_map([], |row| {
                    let session = row.get("id")?;
                    Ok(read_session(row).map_err(|error| BadRow {
                        learner: None,
                        session,
                        row: None,
                        what: error.to_string(),
                    }))
                })?
                .collect()
        })
    }

    /// Sessions that were cut off, or are still running, oldest first.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn unfinished(&self) -> Result<Vec<StoredSession>, StoreError> {
        let mut sessions = self.sessions()?;
        sessions.retain(|session| session.finished_at.is_none());
        Ok(sessions)
    }

    /// The stored trials of a session in order; none for a session that does not exist.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read or a row holds an impossible value.
    pub fn trials(&self, session: i64) -> Result<Vec<TrialRow>, StoreError> {
        self.run(|connection| {
            connection
                .prepare("SELECT * FROM trial WHERE session = ?1 ORDER BY trial")?
                .query_map([session], TrialRow::read)?
                .collect()
        })
    }

    /// Writes trials as CSV with the columns of [`COLUMNS`](crate::results::COLUMNS): those of one session, or all. Missing
    /// values are `n/a`; dates are cut to the day. Returns the number of rows.
    ///
    /// # Errors
    /// [`StoreError`] when reading or writing fails.
    pub fn export_csv(&self, session: Option<i64>, to: impl Write) -> Result<u64, StoreError> {
        let selection = Selection { session, ..Selection::default() };
        self.export_table(Table::Trials, selection, b',', to).map_err(StoreError::from_export)
    }

    /// Looks before it writes: nothing is changed in a file that is not ours or not sound.
    fn prepare(&mut self) -> Result<(), StoreError> {
        let path = self.path.clone();
        let failed = |e| classify(&path, e);
        self.connection.busy_timeout(BUSY_TIMEOUT).map_err(failed)?;
        guard::distrust(&self.connection).map_err(failed)?;
        // One read transaction, or another process making the file at the same time could be seen
        // half way.
        let (version, application, tables, plain) = (|| {
            let transaction = self.connection.unchecked_transaction()?;
            let tables: i64 =
                transaction.query_row("SELECT count(*) FROM sqlite_master", [], |r| r.get(0))?;
            let version = schema::version(&transaction)?;
            let application = schema::application_id(&transaction)?;
            let plain = guard::holds_data_alone(&transaction)?;
            transaction.commit()?;
            Ok((version, application, tables, plain))
        })()
        .map_err(failed)?;
        let is_new = version == 0 && application == 0 && tables == 0;
        if !is_new && (application != APPLICATION_ID || !plain) {
            return Err(StoreError::Foreign(path));
        }
        if version > i64::from(LATEST_VERSION) {
            return Err(StoreError::Newer { path, found: version });
        }
        if self.connection.is_readonly("main").map_err(failed)? {
            return Err(StoreError::Unwritable(path));
        }
        let verdict: String = self
            .connection
            .query_row("PRAGMA quick_check(1)", [], |row| row.get(0))
            .map_err(failed)?;
        if verdict != "ok" {
            return Err(StoreError::Damaged { path, detail: verdict });
        }
        // A write-ahead log with full syncing keeps a committed trial through a crash or a power
        // cut. Some network folders cannot have one; SQLite then keeps its rollback journal.
        self.connection
            .query_row("PRAGMA journal_mode = WAL", [], |_| Ok(()))
            .and_then(|()| self.connection.pragma_update(None, "synchronous", "FULL"))
            .and_then(|()| self.connection.pragma_update(None, "foreign_keys", true))
            .map_err(failed)?;
        schema::migrate(&mut self.connection).map_err(failed)
    }

    pub(super) fn refuse_unless_open(&self, session: i64) -> Result<(), StoreError> {
        let finished: Option<bool> = self.run(|connection| {
            connection
                .prepare_cached("SELECT finished_at IS NOT NULL FROM session WHERE id = ?1")?
                .query_row([session], |row| row.get(0))
                .optional()
        })?;
        match finished {
            None => Err(StoreError::NoSession(session)),
            Some(true) => Err(StoreError::Finished(session)),
            Some(false) => Ok(()),
        }
    }

    /// A transaction that will write. It waits for its turn at once: one that began by reading could
    /// not wait for another process any more, and would fail.
    pub(super) fn writing(&self) -> rusqlite::Result<Transaction<'_>> {
        Transaction::new_unchecked(&self.connection, TransactionBehavior::Immediate)
    }

    pub(super) fn run<T>(
        &self,
        work: impl FnOnce(&Connection) -> rusqlite::Result<T>,
    ) -> Result<T, StoreError> {
        work(&self.connection).map_err(|e| classify(&self.path, e))
    }
}

fn read_session(row: &rusqlite::Row<'_>) -> rusqlite::Result<StoredSession> {
    let bad = |text: &str| {
        rusqlite::Error::FromSqlConversionFailure(
            0,
            rusqlite::types::Type::Text,
            format!("{text:?} is not a value a session can have").into(),
        )
    };
    let (seed, settings): (String, String) = (row.get("seed")?, row.get("settings")?);
    Ok(StoredSession {
        session: row.get("id")?,
        info: SessionInfo {
            started_at: row.get("started_at")?,
            build: row.get("build")?,
            task: row.get("task")?,
            mode: row.get("mode")?,
            level: row.get("level")?,
            seed: seed.parse().map_err(|_| bad(&seed))?,
            refresh_hz: row.get("refresh_hz")?,
            planned_trials: row.get("planned_trials")?,
            settings: serde_json::from_str(&settings).map_err(|_| bad(&settings))?,
        },
        finished_at: row.get("finished_at")?,
        stored_trials: row.get("stored_trials")?,
    })
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
