//! Level files: format, positions, validation, lowering to cases.
//!
//! # From a file to a plan
//! [`load`] reads a file and reports every problem; [`lower()`] lays out a
//! [`trial::Plan`](crate::trial::Plan): the schedule
//! ([`trial::schedule()`](crate::trial::schedule())), a patient per trial, and a restoration whose
//! shade is searched until the layered model itself gives a difference of the wanted size and
//! direction ([`bake::Estimator`](crate::bake::Estimator), a coarse grid). Where a level gives
//! drift, it is the shade that matched best at seating, so that what is found is mostly what time
//! has done. Lowering 20 trials takes 341 ms (release, two shared cores).
//!
//! # Files in use
//! A file that is well-formed may still come to nothing. [`faults_in_use`] makes every entry of a
//! material file as use does, [`exercise::fault_in_use`](crate::exercise::fault_in_use) lays a
//! level out whole, and [`course::course_faults`](crate::course::course_faults) draws the forms of
//! a course and asks whether they can give what its rules ask for. `check` asks all three, but does
//! not lay out the built-in levels with the built-in materials (their own tests do); `--materials`
//! asks the first. Commands write whole files or none, and never over a file without `--replace`.
//!
//! A level may name a framing and a lamp ([`scene::Staging`](crate::scene::Staging)); left out,
//! they are the retracted view and the soft boxes. `patient.teeth` in a level holds colours that
//! are known instead of drawn; where every tooth that may be restored is among them
//! (`Level::is_stated`), no exercise varies room, cement film or prepared tooth.
//!
//! # Levels that teach a rule
//! On generated cases (`tests/core/exercise/blend/facts`, `exercise/margin.rs`) the trade's rules
//! of thumb hold for patients whose teeth differ enough from what lies beneath, so the levels that
//! teach a rule (`blend-thin-veneer`, `blend-one-step-or-several`, `margin-warm-teeth`) draw such
//! patients. Where the tooth is no lighter than the prepared one, its own shade is right however
//! thin the ceramic; where the core is warm and dark, a warm cement only takes more value. Steps
//! are counted by value on the incisal half; by ΔE00 alone the nearest ceramic is half a step to a
//! step brighter still.

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
