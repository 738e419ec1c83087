//! Level files: format, positions, validation, lowering to cases.

pub mod format;
mod lower;

pub use lower::{LowerError, lower};
