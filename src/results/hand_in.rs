//! The one file that a seat hands in: results of one learner in one course, with checksums.
//!
//! A hand-in is a tar archive of `manifest.json` and `results.sqlite3`. The manifest states the
//! schema version and the SHA-256 sum of the results, so that damage is found. It is no signature:
//! who can write the file can write its sum.

use super::archive::Archive;
use super::guard::Guard;
use super::hand_in_error::{HandInError, io};
use super::manifest::{HAND_IN_FORMAT, KIND, MANIFEST, Manifest};
use super::schema::LATEST_VERSION;
use super::store::{FILE_NAME as RESULTS, Store};
use super::store_error::classify;
use rusqlite::Connection;
use sha2::{Digest, Sha256};
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use tempfile::{NamedTempFile, TempDir};

/// How names of hand-ins end.
pub const HAND_IN_EXTENSION: &str = "handin";

/// What to hand in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HandInRequest<'a> {
    /// The learner's random id.
    pub learner: &'a str,
    /// The course's id.
    pub course: &'a str,
    /// The day, UTC, such as `2026-01-31`.
    pub day: &'a str,
    /// Version of the program.
    pub build: &'a str,
    /// Whether practice goes with it; it is private unless the learner agrees.
    pub with_practice: bool,
}

/// Tables that hold rows of sessions, whatever this or a later version keeps in them: name and
/// columns.
pub(super) fn session_tables(
    connection: &Connection,
    schema: &str,
) -> rusqlite::Result<Vec<(String, Vec<String>)>> {
    let mut found = Vec::new();
    let names: Vec<String> = connection
        .prepare(&format!(
            "SELECT name FROM {schema}.sqlite_master WHERE type = 'table'
             AND name NOT LIKE 'sqlite_%' AND name NOT IN ('session', 'gathered') ORDER BY rowid"
        ))?
        .query_map([], |row| row.get(0))?
        .collect::<rusqlite::Result<_>>()?;
    for name in names {
        let columns: Vec<String> = connection
            .prepare("SELECT name FROM pragma_table_info(?1, ?2)")?
            .query_map([name.as_str(), schema], |row| row.get(0))?
            .collect::<rusqlite::Result<_>>()?;
        if columns.iter().any(|column| column == "session") {
            found.push((name, columns));
        }
    }
    Ok(found)
}

impl Store {
    /// Writes the hand-in of one learner in one course to `file`, whole or not at all. Sessions
    /// that were cut off go with it: a later hand-in adds what was missing.
    ///
    /// # Errors
    /// [`HandInError`] when there is nothing to hand in or the file cannot be written.
    pub fn hand_in(
        &self,
        request: &HandInRequest<'_>,
        file: &Path,
    ) -> Result<Manifest, HandInError> {
        let folder = match file.parent() {
            Some(parent) if parent != Path::new("") => parent,
            _ => Path::new("."),
        };
        // Beside the store: what is not handed in never leaves its folder.
        let home = self.path.parent().unwrap_or(folder);
        let work = TempDir::new_in(home).map_err(io(home))?;
        let copy = work.path().join(RESULTS);
        let failed = |e| classify(&copy, e);
        self.connection.execute("VACUUM INTO ?1", [copy.to_string_lossy()]).map_err(failed)?;
        let (sessions, trials, answers) = keep_only(&copy, request).map_err(failed)?;
        if sessions == 0 {
            return Err(HandInError::Nothing {
                learner: request.learner.to_owned(),
                course: request.course.to_owned(),
            });
        }
        let (bytes, sha256) = checksum(&copy).map_err(io(&copy))?;
        let manifest = Manifest {
            kind: KIND.to_owned(),
            format: HAND_IN_FORMAT,
            learner: request.learner.to_owned(),
            course: request.course.to_owned(),
            day: request.day.to_owned(),
            build: request.build.to_owned(),
            schema: LATEST_VERSION,
            sessions,
            trials,
            answers,
            bytes,
            sha256,
        };
        let mut out = NamedTempFile::new_in(folder).map_err(io(folder))?;
        pack(&manifest, &copy, out.as_file_mut()).map_err(io(file))?;
        out.as_file().sync_all().map_err(io(file))?;
        out.persist(file).map_err(|e| io(file)(e.error))?;
        Ok(manifest)
    }
}

/// Removes from a copy what is not handed in; what is left is counted.
fn keep_only(copy: &Path, request: &HandInRequest<'_>) -> rusqlite::Result<(u64, u64, u64)> {
    let connection = Connection::open(copy)?;
    connection.pragma_update(None, "foreign_keys", false)?;
    connection.execute_batch(
        "PRAGMA secure_delete = ON; CREATE TEMP TABLE kept (id INTEGER PRIMARY KEY);",
    )?;
    connection.execute(
        "INSERT INTO kept SELECT id FROM session
         WHERE CASE WHEN json_valid(settings) THEN json_extract(settings, '$.course.learner') = ?1
            AND json_extract(settings, '$.course.course') = ?2 END
           AND (?3 OR mode <> 'practice')",
        (request.learner, request.course, request.with_practice),
    )?;
    for (table, _) in session_tables(&connection, "main")? {
        connection.execute(
            &format!("DELETE FROM \"{table}\" WHERE session NOT IN (SELECT id FROM kept)"),
            [],
        )?;
    }
    connection.execute("DELETE FROM session WHERE id NOT IN (SELECT id FROM kept)", [])?;
    // What a store holds besides is no part of a hand-in.
    connection.execute_batch("DROP TABLE IF EXISTS gathered; DROP TABLE kept;")?;
    Guard::new()?.restore(&connection)?;
    connection.execute_batch("VACUUM")?;
    let count = |table: &str| {
        let query = format!("SELECT count(*) FROM {table}");
        connection.query_row(&query, [], |row| row.get::<_, i64>(0)).map(i64::unsigned_abs)
    };
    let counts = (count("session")?, count("trial")?, count("answer")?);
    connection.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()))?;
    connection.close().map_err(|(_, error)| error)?;
    Ok(counts)
}

fn checksum(path: &Path) -> std::io::Result<(u64, String)> {
    let mut file = File::open(path)?;
    let mut hash = Sha256::new();
    let mut buffer = vec![0; 1 << 16];
    let mut bytes = 0;
    loop {
        let count = file.read(&mut buffer)?;
        if count == 0 {
            break;
        }
        hash.update(&buffer[..count]);
        bytes += count as u64;
    }
    let digest = hash.finalize();
    Ok((bytes, digest.iter().map(|byte| format!("{byte:02x}")).collect()))
}

fn pack(manifest: &Manifest, results: &Path, to: &mut File) -> std::io::Result<()> {
    let text = serde_json::to_vec_pretty(manifest)?;
    let mut archive = tar::Builder::new(to);
    // No owner, group or time: a hand-in says nothing about the machine.
    let header = |size: u64| {
        let mut header = tar::Header::new_gnu();
        header.set_size(size);
        header.set_mode(0o600);
        header.set_mtime(0);
        header
    };
    archive.append_data(&mut header(text.len() as u64), MANIFEST, &*text)?;
    archive.append_data(&mut header(manifest.bytes), RESULTS, File::open(results)?)?;
    archive.finish()
}

/// The manifest of a hand-in, checked against nothing.
///
/// # Errors
/// [`HandInError`] when the file cannot be read or is no hand-in.
pub fn hand_in_manifest(path: &Path) -> Result<Manifest, HandInError> {
    Archive::open(path).map(|archive| archive.manifest)
}

/// The hand-ins in a folder and the folders in it, by path, and with them folders in it that cannot be
/// read.
///
/// # Errors
/// [`HandInError::Io`] when the folder itself cannot be read.
pub fn hand_ins_below(top: &Path) -> Result<Vec<PathBuf>, HandInError> {
    let mut found = Vec::new();
    let mut folders = vec![top.to_owned()];
    while let Some(folder) = folders.pop() {
        let entries = match std::fs::read_dir(&folder) {
            Ok(entries) => entries,
            // It is listed, so that gathering names it and goes on with the others.
            Err(_) if folder != top => {
                found.push(folder);
                continue;
            }
            Err(error) => return Err(io(&folder)(error)),
        };
        for entry in entries {
            let entry = entry.map_err(io(&folder))?;
            let kind = entry.file_type().map_err(io(&folder))?;
            if kind.is_dir() {
                folders.push(entry.path());
            } else if entry.path().extension().is_some_and(|e| e == HAND_IN_EXTENSION) {
                found.push(entry.path());
            }
        }
    }
    found.sort();
    Ok(found)
}
