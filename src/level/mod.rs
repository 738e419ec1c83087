//! Level files: format, positions, validation, lowering to cases.

mod checker;
pub mod clinic;
mod collect;
pub mod course_format;
mod course_rules;
mod diagnostic;
pub mod format;
pub mod load;
mod lower;
mod material_rules;
mod material_use;
mod rules;
mod scan;
mod source;
mod tree;

pub use checker::Loaded;
pub use diagnostic::{Diagnostic, LoadError, Position, Severity};
pub use lower::{LowerError, lower};
pub(crate) use lower::{patient, restoration};
pub use material_use::{faults_in_use, faults_of_text};
pub use rules::KnownMaterials;
