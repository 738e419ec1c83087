//! One learner out of a store.

use super::hand_in::session_tables;
use super::store::Store;
use super::store_error::StoreError;
use rusqlite::OptionalExtension;

/// What was deleted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Forgotten {
    /// Sessions.
    pub sessions: u64,
    /// Trials.
    pub trials: u64,
    /// Answers to questions.
    pub answers: u64,
}

impl Store {
    /// Deletes everything of one learner from this file and overwrites it: a person's right, and
    /// the one exception to "append only". Hand-ins and copies elsewhere are not touched.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be written.
    pub fn forget(&mut self, learner: &str) -> Result<Forgotten, StoreError> {
        self.run(|connection| {
            connection.execute_batch("PRAGMA secure_delete = ON")?;
            let transaction = self.writing()?;
            transaction.execute_batch(
                "CREATE TEMP TABLE IF NOT EXISTS going (id INTEGER PRIMARY KEY);
                 DELETE FROM going",
            )?;
            // Settings that are no JSON any more keep nobody from being forgotten.
            transaction.execute(
                "INSERT INTO going SELECT id FROM session WHERE CASE WHEN json_valid(settings)
                    THEN json_extract(settings, '$.course.learner') END = ?1",
                [learner],
            )?;
            let count = |table: &str, column: &str| -> rusqlite::Result<u64> {
                transaction.query_row(
                    &format!(
                        "SELECT count(*) FROM {table} WHERE {column} IN (SELECT id FROM going)"
                    ),
                    [],
                    |row| row.get::<_, i64>(0).map(i64::unsigned_abs),
                )
            };
            let gathered: Option<i64> = transaction
                .query_row("SELECT 1 FROM sqlite_master WHERE name = 'gathered'", [], |r| r.get(0))
                .optional()?;
            if gathered.is_some() {
                transaction.execute(
                    "INSERT OR IGNORE INTO going SELECT session FROM gathered
                     WHERE substr(origin, 1, length(?1) + 1) = ?1 || '/'",
                    [learner],
                )?;
            }
            let forgotten = Forgotten {
                sessions: count("session", "id")?,
                trials: count("trial", "session")?,
                answers: count("answer", "session")?,
            };
            if gathered.is_some() {
                transaction
                    .execute("DELETE FROM gathered WHERE session IN (SELECT id FROM going)", [])?;
            }
            // Rows that refer to others were made after them.
            for (table, _) in session_tables(&transaction, "main")?.into_iter().rev() {
                transaction.execute(
                    &format!("DELETE FROM \"{table}\" WHERE session IN (SELECT id FROM going)"),
                    [],
                )?;
            }
            transaction.execute("DELETE FROM session WHERE id IN (SELECT id FROM going)", [])?;
            transaction.commit()?;
            // Nothing is left in free pages or in the log.
            connection.execute_batch("VACUUM; PRAGMA wal_checkpoint(TRUNCATE)")?;
            Ok(forgotten)
        })
    }
}
