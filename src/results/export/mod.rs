//! Results in open formats: CSV, Parquet, BIDS behavioural events and Psych-DS, with a dictionary
//! of every column from the schema itself.

mod bids;
mod export_error;
mod folder;
mod named;
mod parquet_file;
mod psych_ds;
mod table;
mod trials_csv;
mod value;

pub use export_error::ExportError;
pub use table::{Selection, Table, data_dictionary};
pub use value::ColumnKind;
