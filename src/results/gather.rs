//! Many hand-ins into one store, and one learner out of it.

use super::hand_in::{HandInError, Manifest, Opened, open, session_tables};
use super::schema::{self, LATEST_VERSION};
use super::store::{FILE_NAME, Store, StoreError, classify};
use rusqlite::{Connection, ErrorCode, OptionalExtension};
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

/// Which session of this store is which session of a seat. A session of a seat is known by who
/// sat it, when it began and what it was drawn from.
const GATHERED: &str = "CREATE TABLE IF NOT EXISTS gathered (
    session INTEGER PRIMARY KEY REFERENCES session (id),
    origin TEXT NOT NULL UNIQUE
) STRICT";

/// Hand-ins that may lie unpacked before their turn comes.
const AHEAD: usize = 32;

const ORIGIN: &str = "json_extract(s.settings, '$.course.learner') || '/' ||
    json_extract(s.settings, '$.course.course') || '/' || s.started_at || '/' || s.task || '/' ||
    s.mode || '/' || s.level || '/' || s.seed";

impl Store {
    /// Takes hand-ins into this store, each whole or not at all. Doing it again changes nothing; a
    /// later hand-in of the same seat adds what is new in it. With `course`, those of other
    /// courses are refused. `progress` is told how many files are done.
    ///
    /// # Errors
    /// [`StoreError`] when this store cannot be written. What is wrong with a hand-in is listed
    /// and stops nothing.
    pub fn gather(
        &mut self,
        files: &[PathBuf],
        course: Option<&str>,
        progress: &mut dyn FnMut(usize),
    ) -> Result<Gathered, StoreError> {
        self.run(|connection| connection.execute_batch(GATHERED))?;
        // One wait for the disk at the end instead of one per file: after a power cut some files
        // are gathered and some are not, and gathering goes on from there.
        self.run(|connection| connection.pragma_update(None, "synchronous", "NORMAL"))?;
        let gathered = self.gather_each(files, course, progress);
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
        progress: &mut dyn FnMut(usize),
    ) -> Result<Gathered, StoreError> {
        let mut gathered = Gathered::default();
        std::thread::scope(|scope| {
            // One thread unpacks and checks files while this one takes in what they hold.
            let (sender, receiver) = std::sync::mpsc::sync_channel(AHEAD);
            scope.spawn(move || {
                for path in files {
                    if sender.send(checked(path, course)).is_err() {
                        return;
                    }
                }
            });
            for (done, (path, checked)) in files.iter().zip(receiver).enumerate() {
                progress(done);
                match checked.and_then(|checked| self.take(path, &checked)) {
                    Ok(taken) => gathered.taken.push(taken),
                    // The store being full or locked is no fault of the file.
                    Err(HandInError::Store(error)) if is_about(&error, &self.path) => {
                        return Err(error);
                    }
                    Err(HandInError::Store(error)) => {
                        let detail = error.to_string();
                        gathered.refused.push((
                            path.clone(),
                            HandInError::Damaged { path: path.clone(), detail },
                        ));
                    }
                    Err(error) => gathered.refused.push((path.clone(), error)),
                }
            }
            progress(files.len());
            Ok(gathered)
        })
    }

    fn take(&self, path: &Path, checked: &Checked) -> Result<Taken, HandInError> {
        let Checked { manifest, file, .. } = checked;
        let failed = |e| HandInError::Store(classify(&self.path, e));
        self.connection
            .execute("ATTACH DATABASE ?1 AS hand_in", [file.to_string_lossy()])
            .map_err(failed)?;
        let merged = self.merge(path, manifest);
        self.connection.execute_batch("DETACH DATABASE hand_in").map_err(failed)?;
        let (new_trials, known_trials) = merged?;
        let manifest = manifest.clone();
        Ok(Taken { path: path.to_owned(), manifest, new_trials, known_trials })
    }

    fn merge(&self, path: &Path, manifest: &Manifest) -> Result<(u64, u64), HandInError> {
        let failed = |e| HandInError::Store(classify(&self.path, e));
        let transaction = self.writing().map_err(failed)?;
        let others: i64 = transaction
            .query_row(
                "SELECT count(*) FROM hand_in.session s
                 WHERE json_extract(s.settings, '$.course.learner') IS NOT ?1
                    OR json_extract(s.settings, '$.course.course') IS NOT ?2",
                [&manifest.learner, &manifest.course],
                |row| row.get(0),
            )
            .map_err(failed)?;
        if others > 0 {
            return Err(HandInError::Foreign {
                path: path.to_owned(),
                detail: format!("{others} of its sessions are not those its manifest names"),
            });
        }
        match copy_rows(&transaction).map_err(failed)? {
            Merged::Contradicts(trials) => {
                Err(HandInError::Contradicts { path: path.to_owned(), trials })
            }
            Merged::Counts(new, known) => {
                transaction.commit().map_err(failed)?;
                Ok((new, known))
            }
        }
    }

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
            transaction.execute(
                "INSERT INTO going SELECT id FROM session
                 WHERE json_extract(settings, '$.course.learner') = ?1",
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
            let forgotten = Forgotten {
                sessions: count("session", "id")?,
                trials: count("trial", "session")?,
                answers: count("answer", "session")?,
            };
            let gathered: Option<i64> = transaction
                .query_row("SELECT 1 FROM sqlite_master WHERE name = 'gathered'", [], |r| r.get(0))
                .optional()?;
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

enum Merged {
    Counts(u64, u64),
    Contradicts(u64),
}

/// Copies the attached file's sessions. Tables that this version does not know are copied too,
/// where this store has them.
fn copy_rows(connection: &Connection) -> rusqlite::Result<Merged> {
    connection.execute_batch(
        "CREATE TEMP TABLE IF NOT EXISTS moved
            (old INTEGER PRIMARY KEY, new INTEGER NOT NULL, known INTEGER NOT NULL);
         DELETE FROM moved",
    )?;
    let sessions: Vec<(i64, String)> = connection
        .prepare(&format!("SELECT s.id, {ORIGIN} FROM hand_in.session s ORDER BY s.id"))?
        .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
        .collect::<rusqlite::Result<_>>()?;
    let columns: Vec<String> = connection
        .prepare("SELECT name FROM pragma_table_info('session', 'main') WHERE name <> 'id'")?
        .query_map([], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    let columns = columns.join(", ");
    for (old, origin) in sessions {
        let known: Option<i64> = connection
            .prepare_cached("SELECT session FROM gathered WHERE origin = ?1")?
            .query_row([&origin], |row| row.get(0))
            .optional()?;
        let new = match known {
            Some(new) => {
                connection.execute(
                    "UPDATE main.session SET finished_at =
                        (SELECT finished_at FROM hand_in.session WHERE id = ?1)
                     WHERE id = ?2 AND finished_at IS NULL",
                    [old, new],
                )?;
                new
            }
            None => {
                connection.execute(
                    &format!(
                        "INSERT INTO main.session ({columns})
                         SELECT {columns} FROM hand_in.session WHERE id = ?1"
                    ),
                    [old],
                )?;
                let new = connection.last_insert_rowid();
                connection.execute("INSERT INTO gathered VALUES (?1, ?2)", (new, &origin))?;
                new
            }
        };
        connection.execute("INSERT INTO moved VALUES (?1, ?2, ?3)", (old, new, known.is_some()))?;
    }

    let ours = session_tables(connection, "main")?;
    let (mut new, mut known) = (0, 0);
    for (table, theirs) in session_tables(connection, "hand_in")? {
        let Some((_, columns)) = ours.iter().find(|(name, _)| *name == table) else { continue };
        let shared: Vec<&String> = columns
            .iter()
            .filter(|c| theirs.contains(c) && *c != "id" && *c != "session")
            .collect();
        let number = match table.as_str() {
            "trial" => Some("trial"),
            "answer" => Some("number"),
            _ => None,
        };
        if let Some(number) = number {
            known += overlap(connection, &table, number, "1")?;
            let differs: Vec<String> =
                shared.iter().map(|c| format!("m.{c} IS NOT h.{c}")).collect();
            let changed = overlap(connection, &table, number, &differs.join(" OR "))?;
            if changed > 0 {
                return Ok(Merged::Contradicts(changed));
            }
        }
        let copied = copy_table(connection, &table, &shared)?;
        if number.is_some() {
            new += copied;
        }
    }
    Ok(Merged::Counts(new, known))
}

/// Rows of known sessions that both files have, by their number, and that fulfil a condition.
fn overlap(
    connection: &Connection,
    table: &str,
    number: &str,
    condition: &str,
) -> rusqlite::Result<u64> {
    connection.query_row(
        &format!(
            "SELECT count(*) FROM hand_in.{table} h
             JOIN moved ON moved.old = h.session AND moved.known
             JOIN main.{table} m ON m.session = moved.new AND m.{number} = h.{number}
             WHERE {condition}"
        ),
        [],
        |row| row.get::<_, i64>(0).map(i64::unsigned_abs),
    )
}

/// Copies rows of a table: all of new sessions, and of known ones those that are not there yet. A
/// table of one row a session keeps the later row.
fn copy_table(connection: &Connection, table: &str, columns: &[&String]) -> rusqlite::Result<u64> {
    let keys: Vec<String> = connection
        .prepare("SELECT name FROM pragma_table_info(?1, 'main') WHERE pk > 0")?
        .query_map([table], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    let one_a_session = keys == ["session"];
    let verb = if one_a_session { "INSERT OR REPLACE" } else { "INSERT" };
    // An old hand-in gathered again must not set such a row back.
    let not_older = if one_a_session {
        "AND (SELECT count(*) FROM hand_in.trial t WHERE t.session = moved.old)
            >= (SELECT count(*) FROM main.trial t WHERE t.session = moved.new)"
    } else {
        ""
    };
    let names: Vec<String> = columns.iter().map(|c| format!("\"{c}\"")).collect();
    let list =
        |prefix: &str| -> String { names.iter().map(|name| format!(", {prefix}{name}")).collect() };
    let same: String = names.iter().map(|name| format!(" AND m.{name} IS h.{name}")).collect();
    let rows = connection.execute(
        &format!(
            "{verb} INTO main.\"{table}\" (session{}) SELECT moved.new{}
             FROM hand_in.\"{table}\" h JOIN moved ON moved.old = h.session
             WHERE (NOT moved.known OR NOT EXISTS
                (SELECT 1 FROM main.\"{table}\" m WHERE m.session = moved.new{same})) {not_older}
             ORDER BY h.rowid",
            list(""),
            list("h."),
        ),
        [],
    )?;
    Ok(rows as u64)
}

/// The results of a hand-in, in the schema of this version.
/// A hand-in that is whole, of the right course and of this schema version.
struct Checked {
    manifest: Manifest,
    file: PathBuf,
    /// Keeps the unpacked folder.
    _opened: Opened,
}

fn checked(path: &Path, course: Option<&str>) -> Result<Checked, HandInError> {
    let opened = open(path)?;
    let manifest = opened.manifest.clone();
    if let Some(wanted) = course.filter(|wanted| *wanted != manifest.course) {
        return Err(HandInError::OtherCourse {
            path: path.to_owned(),
            found: manifest.course,
            wanted: wanted.to_owned(),
        });
    }
    let file = ready(&opened, path)?;
    Ok(Checked { manifest, file, _opened: opened })
}

fn ready(opened: &Opened, path: &Path) -> Result<PathBuf, HandInError> {
    let damaged = |detail: String| HandInError::Damaged { path: path.to_owned(), detail };
    let file = opened.folder.path().join(FILE_NAME);
    let marks = (|| {
        let connection = Connection::open(&file)?;
        let verdict: String = connection.query_row("PRAGMA quick_check(1)", [], |r| r.get(0))?;
        Ok::<_, rusqlite::Error>((
            verdict,
            schema::version(&connection)?,
            schema::application_id(&connection)?,
        ))
    })();
    match marks.map_err(|error| damaged(error.to_string()))? {
        (verdict, version, schema::APPLICATION_ID)
            if verdict == "ok" && version == i64::from(LATEST_VERSION) =>
        {
            return Ok(file);
        }
        (verdict, ..) if verdict != "ok" => return Err(damaged(verdict)),
        _ => {}
    }
    // Brings an older file up to date and refuses what is not ours.
    let store = Store::open(opened.folder.path()).map_err(|error| match error {
        StoreError::Newer { found, .. } => HandInError::Newer {
            path: path.to_owned(),
            what: "schema version",
            found: u32::try_from(found).unwrap_or(u32::MAX),
            known: LATEST_VERSION,
        },
        other => damaged(other.to_string()),
    })?;
    store
        .run(|connection| connection.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(())))
        .map_err(|error| damaged(error.to_string()))?;
    Ok(file)
}

/// Whether an error is the fault of the store that is gathered into: it stops everything.
fn is_about(error: &StoreError, file: &Path) -> bool {
    match error {
        StoreError::Unwritable(path) | StoreError::Busy(path) => path == file,
        StoreError::Full(_) | StoreError::Device { .. } => true,
        StoreError::Sqlite { source, .. } => {
            source.sqlite_error_code() == Some(ErrorCode::OutOfMemory)
        }
        _ => false,
    }
}
