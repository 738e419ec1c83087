//! Level files: format, positions, validation, lowering to cases.

pub mod format;
