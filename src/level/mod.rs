//! Level files: format, positions, validation, lowering to cases.

mod candidate;
mod checker;
pub mod clinic;
mod collect;
pub mod course_format;
mod course_rules;
mod diagnostic;
pub mod format;
mod known;
mod limits;
pub mod load;
mod lower;
mod material_rules;
mod material_use;
mod patient;
mod rules;
mod scan;
mod source;
mod tree;

pub(crate) use candidate::restoration;
pub use checker::Loaded;
pub use diagnostic::{Diagnostic, LoadError, Position, Severity};
pub use known::KnownMaterials;
pub use lower::{LowerError, lower};
pub use material_use::{faults_in_use, faults_of_text};
pub(crate) use patient::patient;
