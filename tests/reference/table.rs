//! Reads a check table: comment lines start with `#`, then a header row, then data.

use std::path::PathBuf;

/// A parsed table: column names and rows of text fields.
pub struct Table {
    name: String,
    columns: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// One row with access by column name.
pub struct Row<'a> {
    table: &'a Table,
    index: usize,
}

fn folder() -> PathBuf {
    std::env::var_os("SECOND_GLANCE_REFERENCE_DIR").map_or_else(
        || PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/reference"),
        PathBuf::from,
    )
}

impl Table {
    /// Reads `name` from the reference folder; panics with the path on any fault.
    pub fn read(name: &str) -> Self {
        let path = folder().join(name);
        let mut reader = csv::ReaderBuilder::new()
            .comment(Some(b'#'))
            .from_path(&path)
            .unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let columns: Vec<String> =
            reader.headers().expect("header row").iter().map(str::to_owned).collect();
        let rows: Vec<Vec<String>> = reader
            .records()
            .map(|r| r.unwrap_or_else(|e| panic!("{}: {e}", path.display())))
            .map(|r| r.iter().map(str::to_owned).collect())
            .collect();
        assert!(!rows.is_empty(), "{} has no rows", path.display());
        Self { name: name.to_owned(), columns, rows }
    }

    /// All rows in order.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        (0..self.rows.len()).map(|index| Row { table: self, index })
    }

    /// Number of rows.
    pub fn len(&self) -> usize {
        self.rows.len()
    }
}

impl Row<'_> {
    /// The text in a column; panics when the column does not exist.
    pub fn text(&self, column: &str) -> &str {
        let at = self
            .table
            .columns
            .iter()
            .position(|c| c == column)
            .unwrap_or_else(|| panic!("{} has no column {column}", self.table.name));
        &self.table.rows[self.index][at]
    }

    /// The number in a column; panics when it is not one.
    pub fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|e| panic!("{}: {column} = {text:?}: {e}", self.place()))
    }

    /// File and data row, for messages.
    pub fn place(&self) -> String {
        format!("{} row {}", self.table.name, self.index + 1)
    }
}
