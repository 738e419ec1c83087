//! The two tables that are exported, row by row.

use super::super::columns::{ANSWER_COLUMNS, COLUMNS, Column};
use super::super::store::Store;
use super::super::store_error::{StoreError, classify};
use super::export_error::ExportError;
use super::value::{ColumnKind, field};
use std::io::Write;

/// A table of the results that is exported.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Table {
    /// Timed trials, one row each.
    Trials,
    /// Answered questions, one row each.
    Answers,
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

impl Table {
    /// Both, in the order in which they are written.
    pub const ALL: [Self; 2] = [Self::Trials, Self::Answers];

    /// Its columns as they are exported.
    #[must_use]
    pub const fn columns(self) -> &'static [Column] {
        match self {
            Self::Trials => COLUMNS,
            Self::Answers => ANSWER_COLUMNS,
        }
    }

    /// What its rows are, in words.
    #[must_use]
    pub const fn in_words(self) -> &'static str {
        match self {
            Self::Trials => "trials",
            Self::Answers => "answers to questions",
        }
    }

    /// Its name in the results file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Trials => "trial",
            Self::Answers => "answer",
        }
    }

    /// Its rows of one session (?1), run (?2) and learner (?3), or of any where that is null.
    fn selected(self) -> String {
        let name = self.name();
        format!(
            "FROM {name} JOIN session ON session.id = {name}.session
             WHERE (?1 IS NULL OR {name}.session = ?1) AND (?2 IS NULL OR {name}.run = ?2)
               AND (?3 IS NULL OR CASE WHEN json_valid(session.settings)
                    THEN json_extract(session.settings, '$.course.learner') END = ?3)"
        )
    }

    /// The column that orders rows within a session.
    const fn order(self) -> &'static str {
        match self {
            Self::Trials => "trial.trial",
            Self::Answers => "answer.number",
        }
    }
}

impl ColumnKind {
    /// A plain word.
    const fn word(self) -> &'static str {
        match self {
            Self::Integer => "integer",
            Self::Real => "real",
            Self::Text => "text",
        }
    }
}

/// The data dictionary of both tables: table, column, unit or values, type, meaning.
#[must_use]
pub fn data_dictionary() -> String {
    let mut writer = csv::Writer::from_writer(Vec::new());
    let mut written = writer.write_record(["table", "column", "unit", "type", "meaning"]);
    for table in Table::ALL {
        for column in table.columns() {
            let kind = column.kind().word();
            let row = [table.name(), column.name, column.unit, kind, column.meaning];
            written = written.and_then(|()| writer.write_record(row));
        }
    }
    // Writing to memory does not fail.
    let bytes = written.ok().and_then(|()| writer.into_inner().ok()).unwrap_or_default();
    String::from_utf8(bytes).unwrap_or_default()
}

impl Store {
    /// Shows every selected row of a table, in the order of sessions and rows, as one value per
    /// column.
    pub(super) fn each_row<E: From<StoreError>>(
        &self,
        table: Table,
        selection: Selection<'_>,
        mut each: impl FnMut(&rusqlite::Row<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let expressions: Vec<&str> = table.columns().iter().map(|column| column.sql).collect();
        let query = format!(
            "SELECT {} {} ORDER BY {}.session, {}",
            expressions.join(", "),
            table.selected(),
            table.name(),
            table.order()
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

    /// Checks that a table has selected rows, before a file is made for them.
    ///
    /// # Errors
    /// [`ExportError::Nothing`] where it has none.
    pub fn some_rows(&self, table: Table, selection: Selection<'_>) -> Result<(), ExportError> {
        let query = format!("SELECT EXISTS (SELECT 1 {})", table.selected());
        let values = (selection.session, selection.run, selection.learner);
        let found: bool =
            self.run(|connection| connection.query_row(&query, values, |row| row.get(0)))?;
        if found { Ok(()) } else { Err(self.nothing(table.in_words(), selection.learner)) }
    }

    /// Writes the selected rows of a table with a header and `n/a` for missing values. Returns the
    /// number of rows.
    ///
    /// # Errors
    /// [`ExportError`] when reading or writing fails.
    pub fn export_table(
        &self,
        table: Table,
        selection: Selection<'_>,
        delimiter: u8,
        to: impl Write,
    ) -> Result<u64, ExportError> {
        self.note_counted()?;
        self.write_table(table, selection, delimiter, to)
    }

    /// As [`Self::export_table`], once it is noted which sittings count.
    pub(super) fn write_table(
        &self,
        table: Table,
        selection: Selection<'_>,
        delimiter: u8,
        to: impl Write,
    ) -> Result<u64, ExportError> {
        let columns = table.columns();
        let mut writer = csv::WriterBuilder::new().delimiter(delimiter).from_writer(to);
        writer.write_record(columns.iter().map(|column| column.name))?;
        let mut written = 0;
        self.each_row(table, selection, |row| {
            for index in 0..columns.len() {
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
