//! Every row of the external check tables in `tests/reference/` (or in the folder named by
//! `SECOND_GLANCE_REFERENCE_DIR`) against this crate. A file or row that does not parse fails.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod colorimetry;
mod group;
mod optics;
mod psychometric;
mod statistics;
mod table;
mod transport;
