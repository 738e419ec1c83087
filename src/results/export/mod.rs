//! Results in open formats: CSV, Parquet, BIDS behavioural events and Psych-DS, with a dictionary
//! of every column from the schema itself.

mod bids;
mod parquet_file;
mod psych_ds;

use super::columns::{COLUMNS, Column};
use super::store::{Store, StoreError, classify};
use rusqlite::types::ValueRef;
use std::io::Write;
use std::path::{Path, PathBuf};
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
            (_, "s" | "ms" | "Hz" | "CIEDE2000" | "factor") => ColumnKind::Real,
            _ => ColumnKind::Text,
        }
    }
}

/// Why an export fails.
#[derive(Debug, Error)]
pub enum ExportError {
    /// The system refuses to write.
    #[error("cannot write {}: {source}", path.display())]
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
    #[error("{} is not empty; an export is never mixed with other files: choose a new folder", .0.display())]
    NotEmpty(PathBuf),
}

/// Which trials are exported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Selection<'a> {
    /// One session only.
    pub session: Option<i64>,
    /// One run of it only.
    pub run: Option<u32>,
    /// One learner only.
    pub learner: Option<&'a str>,
}

/// The data dictionary as a table: name, unit or type, meaning.
#[must_use]
pub fn data_dictionary() -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut written = writer.write_record(["column", "unit", "meaning"]);
    for column in COLUMNS {
        written =
            written.and_then(|()| writer.write_record([column.name, column.unit, column.meaning]));
    }
    // Writing to memory does not fail.
    let bytes = written.ok().and_then(|()| writer.into_inner().ok()).unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

impl Store {
    /// Shows every selected trial, in the order of sessions and trials, as one value per column of
    /// [`COLUMNS`].
    pub(super) fn each_row<E: From<StoreError>>(
        &self,
        selection: Selection<'_>,
        mut each: impl FnMut(&rusqlite::Row<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let expressions: Vec<&str> = COLUMNS.iter().map(|column| column.sql).collect();
        let query = format!(
            "SELECT {} FROM trial JOIN session ON session.id = trial.session
             WHERE (?1 IS NULL OR trial.session = ?1) AND (?2 IS NULL OR trial.run = ?2)
               AND (?3 IS NULL OR json_extract(session.settings, '$.course.learner') = ?3)
             ORDER BY trial.session, trial.trial",
            expressions.join(", ")
        );
        let failed = |e| E::from(classify(&self.path, e));
        let mut statement = self.connection.prepare(&query).map_err(failed)?;
        let values = (selection.session, selection.run, selection.learner);
        let mut rows = statement.query(values).map_err(failed)?;
        while let Some(row) = rows.next().map_err(failed)? {
            each(row)?;
        }
        Ok(())
    }

    /// Writes the selected trials as a table with a header and `n/a` for missing values. Returns
    /// the number of rows.
    ///
    /// # Errors
    /// [`ExportError`] when reading or writing fails.
    pub fn export_table(
        &self,
        selection: Selection<'_>,
        delimiter: u8,
        to: impl Write,
    ) -> Result<u64, ExportError> {
        let mut writer = csv::WriterBuilder::new().delimiter(delimiter).from_writer(to);
        writer.write_record(COLUMNS.iter().map(|column| column.name))?;
        let mut written = 0;
        self.each_row(selection, |row| {
            for index in 0..COLUMNS.len() {
                let value = row.get_ref(index).map_err(|e| classify(&self.path, e))?;
                writer.write_field(field(value))?;
            }
            writer.write_record(None::<&[u8]>)?;
            written += 1;
            Ok::<(), ExportError>(())
        })?;
        writer.flush().map_err(csv::Error::from)?;
        Ok(written)
    }
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
    std::fs::create_dir_all(folder).map_err(io(folder))?;
    let mut entries = std::fs::read_dir(folder).map_err(io(folder))?;
    if entries.next().is_some() {
        return Err(ExportError::NotEmpty(folder.to_owned()));
    }
    Ok(())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), ExportError> {
    if let Some(folder) = path.parent() {
        std::fs::create_dir_all(folder).map_err(io(folder))?;
    }
    std::fs::write(path, bytes).map_err(io(path))
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
    runs: Vec<u32>,
}

impl Store {
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
            let runs = self.run(|connection| {
                connection
                    .prepare_cached(
                        "SELECT DISTINCT run FROM trial WHERE session = ?1 ORDER BY run",
                    )?
                    .query_map([stored.session], |row| row.get(0))?
                    .collect()
            })?;
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
