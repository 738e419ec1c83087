//! The one way to read a database that this program did not write, or that others could have
//! changed since.
//!
//! A database is a program for the library that reads it: views and triggers run queries of the
//! file's author, damaged pages send a scan in circles, and one cell can be as large as memory. So a
//! file from elsewhere is read from memory, its header is looked at before SQLite sees it, its
//! schema must be one of this program's to the letter, and what reading it may cost is limited. The
//! store itself, which is written, is opened with the same settings as far as they let it be.

use super::schema::{self, APPLICATION_ID, LATEST_VERSION, MIGRATIONS};
use rusqlite::config::DbConfig;
use rusqlite::limits::Limit;
use rusqlite::{Connection, ErrorCode};
use std::collections::BTreeSet;
use std::io::Read;
use thiserror::Error;

/// The largest database that is read, bytes. A year of practice, a hundred smiles every working
/// day, is 27 MB.
pub(super) const MOST_BYTES: u64 = 64 << 20;
/// The largest cell, bytes; the largest that this program writes is a posterior of less than 1 MB.
const MOST_CELL_BYTES: i32 = 4 << 20;
/// Steps of SQLite's machine over a file before it is stopped, in thousands: about four times what it
/// takes to check and read twice as many rows as are read.
const MOST_KILO_STEPS: u64 = 100_000;
/// Objects of a schema that are read before it is known to be another's.
const MOST_OBJECTS: usize = 64;
const HEADER_BYTES: usize = 100;

/// Why a database is not read.
#[derive(Debug, Error)]
pub(super) enum Unfit {
    /// It is none, or none of this program's.
    #[error("{0}")]
    Foreign(String),
    /// It is damaged.
    #[error("{0}")]
    Damaged(String),
    /// It was written by a newer version.
    #[error("its schema version is {0}")]
    Newer(u32),
}

impl From<rusqlite::Error> for Unfit {
    fn from(error: rusqlite::Error) -> Self {
        match error.sqlite_error_code() {
            Some(ErrorCode::OperationInterrupted) => {
                Self::Damaged("reading it takes longer than any file of this program".to_owned())
            }
            Some(ErrorCode::TooBig) => {
                Self::Damaged("a cell of it is larger than any of this program".to_owned())
            }
            _ => Self::Damaged(error.to_string()),
        }
    }
}

/// An object of a schema: type, name, table, text.
type Object = (String, String, String, Option<String>);

/// Reads databases from elsewhere.
#[derive(Debug)]
pub(super) struct Guard {
    /// The schema of every version, from 0.
    schemas: Vec<BTreeSet<Object>>,
}

impl Guard {
    /// A guard that knows every version of the schema.
    ///
    /// # Errors
    /// When SQLite has no memory.
    pub fn new() -> rusqlite::Result<Self> {
        let connection = Connection::open_in_memory()?;
        let mut schemas = vec![objects(&connection)?];
        for step in MIGRATIONS {
            connection.execute_batch(step)?;
            schemas.push(objects(&connection)?);
        }
        Ok(Self { schemas })
    }

    /// Takes a database of so many bytes into memory and brings it up to date there. What it holds is
    /// checked by nobody yet.
    ///
    /// # Errors
    /// [`Unfit`].
    pub fn read(&self, bytes: u64, from: impl Read) -> Result<Connection, Unfit> {
        if bytes > MOST_BYTES {
            return Err(Unfit::Foreign(format!(
                "its results are {bytes} bytes, more than the {MOST_BYTES} that are read"
            )));
        }
        if bytes < HEADER_BYTES as u64 {
            return Err(Unfit::Foreign("its results are no results file".to_owned()));
        }
        let mut header = Header { seen: [0; HEADER_BYTES], count: 0, from };
        let mut connection = Connection::open_in_memory()?;
        // The connection frees it; it was asked for in one piece of the size just checked.
        let size = usize::try_from(bytes).unwrap_or(usize::MAX);
        connection.deserialize_read_exact("main", &mut header, size, false)?;
        let version = header.check(bytes)?;
        confine(&mut connection)?;
        let expected = self.schemas.get(version as usize).ok_or(Unfit::Newer(version))?;
        let found = objects(&connection)?;
        if found != *expected {
            return Err(Unfit::Foreign(differing(&found, expected)));
        }
        // Finds pages that are used twice, which would send a scan in circles.
        let verdict: String =
            connection.query_row("PRAGMA quick_check(1)", [], |row| row.get(0))?;
        if verdict != "ok" {
            return Err(Unfit::Damaged(crate::printable::printable(&verdict).into_owned()));
        }
        if version < LATEST_VERSION {
            connection.pragma_update(None, "query_only", false)?;
            schema::migrate(&mut connection)?;
            connection.pragma_update(None, "query_only", true)?;
        }
        Ok(connection)
    }

    /// Makes the schema of a copy that this program's user may have added to what it should be:
    /// other objects go, missing ones come back.
    ///
    /// # Errors
    /// When a table of this program's is missing or another, or the file cannot be written.
    pub fn restore(&self, connection: &Connection) -> rusqlite::Result<()> {
        let Some(expected) = self.schemas.last() else { return Ok(()) };
        let found = objects(connection)?;
        for (kind, name, ..) in found.difference(expected) {
            // What belongs to a table goes with it.
            let goes = ["table", "view", "index", "trigger"].contains(&kind.as_str());
            if goes && !name.starts_with("sqlite_") {
                let name = name.replace('"', "\"\"");
                connection.execute_batch(&format!("DROP {kind} IF EXISTS \"{name}\""))?;
            }
        }
        for (.., text) in expected.difference(&objects(connection)?) {
            if let Some(text) = text {
                connection.execute_batch(text)?;
            }
        }
        Ok(())
    }
}

/// Settings for every file: what is written in it is data and never runs.
pub(super) fn distrust(connection: &Connection) -> rusqlite::Result<()> {
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_TRUSTED_SCHEMA, false)?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_VIEW, false)?;
    connection.pragma_update(None, "cell_size_check", true)?;
    Ok(())
}

/// Whether a schema holds tables and this program's triggers, and nothing else that runs.
pub(super) fn holds_data_alone(connection: &Connection) -> rusqlite::Result<bool> {
    let mut statement = connection.prepare(
        "SELECT type, sql FROM sqlite_schema WHERE type IN ('view', 'trigger')
            OR (type = 'table' AND sql LIKE 'CREATE VIRTUAL%')",
    )?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let (kind, text): (String, String) = (row.get(0)?, row.get(1)?);
        if kind != "trigger" || !MIGRATIONS.iter().any(|step| step.contains(&text)) {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Settings and limits for a file from elsewhere, which is only read.
fn confine(connection: &mut Connection) -> rusqlite::Result<()> {
    for (limit, most) in [
        (Limit::SQLITE_LIMIT_LENGTH, MOST_CELL_BYTES),
        (Limit::SQLITE_LIMIT_SQL_LENGTH, 1 << 16),
        (Limit::SQLITE_LIMIT_COLUMN, 100),
        (Limit::SQLITE_LIMIT_ATTACHED, 0),
        (Limit::SQLITE_LIMIT_TRIGGER_DEPTH, 1),
        (Limit::SQLITE_LIMIT_WORKER_THREADS, 0),
    ] {
        connection.set_limit(limit, most)?;
    }
    let mut kilo_steps = 0;
    connection.progress_handler(
        1000,
        Some(move || {
            kilo_steps += 1;
            kilo_steps > MOST_KILO_STEPS
        }),
    )?;
    connection.set_db_config(DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false)?;
    distrust(connection)?;
    connection.pragma_update(None, "query_only", true)
}

fn objects(connection: &Connection) -> rusqlite::Result<BTreeSet<Object>> {
    connection
        .prepare("SELECT type, name, tbl_name, sql FROM sqlite_schema LIMIT ?1")?
        .query_map([MOST_OBJECTS as i64], |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?))
        })?
        .collect()
}

/// The first object that a schema has or lacks against another, in words.
fn differing(found: &BTreeSet<Object>, expected: &BTreeSet<Object>) -> String {
    let named = |(kind, name, ..): &Object| {
        format!("{} {}", crate::printable::printable(kind), crate::printable::printable(name))
    };
    match (found.difference(expected).next(), expected.difference(found).next()) {
        (Some(object), _) => {
            format!(
                "its results hold the {}, which no version of this program makes",
                named(object)
            )
        }
        (None, Some(object)) => format!("its results lack the {}", named(object)),
        (None, None) => "its results are not laid out as this program does it".to_owned(),
    }
}

/// Passes a file on and keeps its first bytes.
struct Header<R> {
    seen: [u8; HEADER_BYTES],
    count: usize,
    from: R,
}

impl<R: Read> Read for Header<R> {
    fn read(&mut self, to: &mut [u8]) -> std::io::Result<usize> {
        let count = self.from.read(to)?;
        let kept = count.min(HEADER_BYTES - self.count);
        self.seen[self.count..self.count + kept].copy_from_slice(&to[..kept]);
        self.count += kept;
        Ok(count)
    }
}

impl<R> Header<R> {
    /// The schema version, if this is the header of a file of this program's that nobody is writing.
    ///
    /// # References
    /// SQLite, "Database File Format", section 1.3.
    fn check(&self, bytes: u64) -> Result<u32, Unfit> {
        let word = |at: usize| {
            let part: [u8; 4] = std::array::from_fn(|i| self.seen[at + i]);
            u32::from_be_bytes(part)
        };
        let foreign = |what: &str| Err(Unfit::Foreign(what.to_owned()));
        if self.count < HEADER_BYTES || !self.seen.starts_with(b"SQLite format 3\0") {
            return foreign("its results are no results file");
        }
        if word(68) != APPLICATION_ID as u32 {
            return foreign("its results are a database of another program");
        }
        let version = word(60);
        if version == 0 {
            return foreign("its results have no schema version");
        }
        if version > LATEST_VERSION {
            return Err(Unfit::Newer(version));
        }
        let page = match u64::from(self.seen[16]) << 8 | u64::from(self.seen[17]) {
            1 => 1 << 16,
            page => page,
        };
        if page < 512 || !page.is_power_of_two() || !bytes.is_multiple_of(page) {
            return Err(Unfit::Damaged("its results break off within a page".to_owned()));
        }
        // A rollback journal, not a write-ahead log: the file is complete by itself.
        if self.seen[18..21] != [1, 1, 0] || word(56) != 1 {
            return foreign("its results are not stored as a hand-in's are");
        }
        Ok(version)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file as a version wrote it.
    fn of_version(version: usize, change: &str) -> Vec<u8> {
        let mut connection = Connection::open_in_memory().unwrap();
        for step in &MIGRATIONS[..version] {
            connection.execute_batch(step).unwrap();
        }
        connection.pragma_update(None, "application_id", APPLICATION_ID).unwrap();
        connection.pragma_update(None, "user_version", version as u32).unwrap();
        connection
            .execute_batch(
                "INSERT INTO session VALUES (1, '2026-01-31T09:30:00Z', NULL, '0.0.9', 'glance',
                    'practice', 'old', '42', 60.0, 20, '{}')",
            )
            .unwrap();
        connection.execute_batch(change).unwrap();
        connection.serialize("main").unwrap().to_vec()
    }

    #[test]
    fn every_version_is_read_and_brought_up_to_date() {
        let guard = Guard::new().unwrap();
        for version in 1..=MIGRATIONS.len() {
            let file = of_version(version, "");
            let connection = guard.read(file.len() as u64, &*file).unwrap();
            assert_eq!(schema::version(&connection).unwrap(), i64::from(LATEST_VERSION));
            assert_eq!(&objects(&connection).unwrap(), guard.schemas.last().unwrap());
            let level: String =
                connection.query_row("SELECT level FROM session", [], |row| row.get(0)).unwrap();
            assert_eq!(level, "old");
            assert!(connection.execute("DELETE FROM session", []).is_err(), "it is only read");
        }
    }

    #[test]
    fn what_takes_too_long_or_too_much_is_stopped() {
        let file = of_version(MIGRATIONS.len(), "");
        let connection = Guard::new().unwrap().read(file.len() as u64, &*file).unwrap();
        let run = |query: &str| {
            let found = connection.query_row(query, [], |row| row.get::<_, i64>(0));
            Unfit::from(found.unwrap_err()).to_string()
        };
        let endless = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n)
            SELECT count(*) FROM n";
        assert!(run("SELECT length(zeroblob(5000000))").contains("larger than any"));
        assert!(run("ATTACH ':memory:' AS other").contains("too many attached"));
        let said = run(endless);
        assert!(said.contains("takes longer"), "{said}");
        // A file that breaks off is not waited for.
        assert!(matches!(Guard::new().unwrap().read(1 << 20, &*file), Err(Unfit::Damaged(_))));
        assert!(matches!(Guard::new().unwrap().read(u64::MAX, &*file), Err(Unfit::Foreign(_))));
    }
}
