//! Results in open formats: CSV, Parquet, BIDS behavioural events and Psych-DS, with a dictionary
//! of every column from the schema itself.
//!
//! There are two tables, trials and answers ([`Table`]); the dictionary, the BIDS sidecars, the
//! Psych-DS variables and the Parquet metadata are all written from `COLUMNS` and `ANSWER_COLUMNS`.
//! `.ci/validate_exports` shows a small course to the BIDS validator (bids-validator-deno 3.0.2
//! from the Python package index). `psychds-validator` is not in the npm registry (404, 2026-11-26) nor there; its
//! rules for what is an error are written out in `tests/core/results/exports.rs`.

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
