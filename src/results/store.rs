//! Opening, writing and reading the result file.

use super::session_row::{Recording, SessionInfo, StoredSession, read_session};
use super::store_error::{StoreError, classify};
use crate::results::bad_row::BadRow;
use crate::results::files::{create_private_folder, tighten_if_there, touch_private};
use crate::results::guard;
use crate::results::schema::{self, APPLICATION_ID, LATEST_VERSION};
use crate::results::trial_row::TrialRow;
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, named_params};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Name of the file in its folder.
pub const FILE_NAME: &str = "results.sqlite3";
/// How long to wait for another process that is writing.
const BUSY_TIMEOUT: Duration = Duration::from_secs(5);

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
