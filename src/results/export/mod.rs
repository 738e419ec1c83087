//! Results in open formats: CSV, Parquet, BIDS behavioural events and Psych-DS, with a dictionary
//! of every column from the schema itself.

mod bids;
mod parquet_file;
mod psych_ds;
mod table;
mod trials_csv;

use super::columns::Column;
use super::files::{create_private, create_private_folder};
use super::store::Store;
use super::store_error::StoreError;
use rusqlite::types::ValueRef;
use std::io::Write;
use std::path::{Path, PathBuf};
pub use table::{Table, data_dictionary};
use thiserror::Error;

/// How values of a column are written where a format has types.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnKind {
    /// 64-bit integer.
    Integer,
    /// 64-bit floating point.
    Real,
    /// UTF-8 text.
    Text,
}

impl Column {
    /// The type of its values.
    #[must_use]
    pub fn kind(&self) -> ColumnKind {
        match (self.name, self.unit) {
            // 64 bits without a sign, which SQLite and some readers do not have.
            ("scene_seed", _) => ColumnKind::Text,
            ("session", _) | (_, "int" | "frames" | "0/1" | "ISO 3950") => ColumnKind::Integer,
            (_, "s" | "ms" | "Hz" | "CIEDE2000" | "factor" | "0..100") => ColumnKind::Real,
            _ => ColumnKind::Text,
        }
    }
}

/// Why an export fails.
#[derive(Debug, Error)]
pub enum ExportError {
    /// The system refuses to write.
    #[error("{}", super::files::refusal("write", path, source))]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// A table cannot be written.
    #[error("cannot write the export: {0}")]
    Csv(#[from] csv::Error),
    /// A Parquet file cannot be written.
    #[error("cannot write the export: {0}")]
    Parquet(#[from] ::parquet::errors::ParquetError),
    /// The results cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The folder is not empty.
    #[error("{} is not empty; an export is never mixed with other files: choose a new folder", crate::printable::path(.0))]
    NotEmpty(PathBuf),
    /// No row is selected. Nothing was written.
    #[error("there is nothing to export: {} holds no {what}{whose}", path.display())]
    Nothing {
        /// The results file.
        path: PathBuf,
        /// What was asked for.
        what: &'static str,
        /// Whose, where one learner was asked for.
        whose: String,
    },
}

/// Which trials or answers are exported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Selection<'a> {
    /// One session only.
    pub session: Option<i64>,
    /// One run of it only.
    pub run: Option<u32>,
    /// One learner only.
    pub learner: Option<&'a str>,
}

/// A value as text; `n/a` where there is none.
pub(super) fn field(value: ValueRef<'_>) -> Vec<u8> {
    match value {
        ValueRef::Null => b"n/a".to_vec(),
        ValueRef::Integer(number) => number.to_string().into_bytes(),
        ValueRef::Real(number) => number.to_string().into_bytes(),
        ValueRef::Text(bytes) | ValueRef::Blob(bytes) => bytes.to_vec(),
    }
}

fn io(path: &Path) -> impl Fn(std::io::Error) -> ExportError {
    move |source| ExportError::Io { path: path.to_owned(), source }
}

/// Makes a folder for an export, or takes an empty one.
fn fresh(folder: &Path) -> Result<(), ExportError> {
    create_private_folder(folder).map_err(io(folder))?;
    let mut entries = std::fs::read_dir(folder).map_err(io(folder))?;
    if entries.next().is_some() {
        return Err(ExportError::NotEmpty(folder.to_owned()));
    }
    Ok(())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), ExportError> {
    if let Some(folder) = path.parent() {
        create_private_folder(folder).map_err(io(folder))?;
    }
    create_private(path).and_then(|mut file| file.write_all(bytes)).map_err(io(path))
}

fn write_json(path: &Path, value: &serde_json::Value) -> Result<(), ExportError> {
    let mut text = serde_json::to_vec_pretty(value).unwrap_or_default();
    text.push(b'\n');
    write(path, &text)
}

/// A session with the names that file names are made of.
struct Named {
    session: i64,
    /// Learner id, or `local` for sessions of no course.
    subject: String,
    /// 1-based number of the session among the subject's.
    number: u32,
    task: String,
    refresh_hz: f64,
    /// Runs, and the table that holds what was done in each.
    runs: Vec<(Table, u32)>,
}

impl Store {
    /// That nothing is selected, of `what` and of one learner if one was asked for.
    fn nothing(&self, what: &'static str, learner: Option<&str>) -> ExportError {
        let whose = learner.map_or_else(String::new, |learner| format!(" of learner {learner}"));
        ExportError::Nothing { path: self.path.clone(), what, whose }
    }

    /// As [`Self::named_sessions`], but there must be one.
    fn some_named_sessions(&self, learner: Option<&str>) -> Result<Vec<Named>, ExportError> {
        let sessions = self.named_sessions(learner)?;
        if sessions.is_empty() {
            return Err(self.nothing("trials and no answers to questions", learner));
        }
        Ok(sessions)
    }

    fn named_sessions(&self, learner: Option<&str>) -> Result<Vec<Named>, StoreError> {
        let mut counts = std::collections::BTreeMap::<String, u32>::new();
        let mut named = Vec::new();
        for stored in self.sessions()? {
            let sitting = super::Sitting::of(&stored.info.settings);
            let subject = sitting.map_or_else(|| "local".to_owned(), |sitting| sitting.learner);
            if learner.is_some_and(|learner| learner != subject) || stored.stored_trials == 0 {
                continue;
            }
            let number = counts.entry(subject.clone()).or_default();
            *number += 1;
            let mut runs = Vec::new();
            for table in Table::ALL {
                let query = format!(
                    "SELECT DISTINCT run FROM {} WHERE session = ?1 ORDER BY run",
                    table.name()
                );
                let of_table: Vec<u32> = self.run(|connection| {
                    connection
                        .prepare_cached(&query)?
                        .query_map([stored.session], |row| row.get(0))?
                        .collect()
                })?;
                runs.extend(of_table.into_iter().map(|run| (table, run)));
            }
            // Labels of both standards are letters and digits only.
            let label = |text: &str| text.chars().filter(char::is_ascii_alphanumeric).collect();
            named.push(Named {
                session: stored.session,
                subject: label(&subject),
                number: *number,
                task: label(&stored.info.task),
                refresh_hz: stored.info.refresh_hz,
                runs,
            });
        }
        Ok(named)
    }
}
