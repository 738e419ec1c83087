//! Trials as CSV, as the store writes them.

use crate::results::export::{ExportError, Selection, Table};
use crate::results::store::Store;
use crate::results::store_error::StoreError;
use std::io::Write;

impl StoreError {
    /// An export's failure as one of the store.
    pub(in crate::results) fn from_export(error: ExportError) -> Self {
        match error {
            ExportError::Store(error) => error,
            ExportError::Csv(error) => Self::Export(error),
            other => Self::Export(std::io::Error::other(other).into()),
        }
    }
}

impl Store {
    /// Writes trials as CSV with the columns of [`COLUMNS`](crate::results::COLUMNS): those of one session, or all. Missing
    /// values are `n/a`; dates are cut to the day. Returns the number of rows.
    ///
    /// # Errors
    /// [`StoreError`] when reading or writing fails.
    pub fn export_csv(&self, session: Option<i64>, to: impl Write) -> Result<u64, StoreError> {
        let selection = Selection { session, ..Selection::default() };
        self.export_table(Table::Trials, selection, b',', to).map_err(StoreError::from_export)
    }
}
