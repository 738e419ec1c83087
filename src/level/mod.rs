//! Level files: format, positions, validation, lowering to cases.
