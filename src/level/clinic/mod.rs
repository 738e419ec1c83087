//! A case from the clinic: somebody's own measured colours and room, turned into a level.
//!
//! The file gives what a practitioner measures: CIELAB of natural teeth, of the prepared tooth, the
//! total reduction and the gap for the cement. What it does not give is filled in: teeth that
//! were not measured follow from those that were by the usual steps along the arch.
//!
//! A prepared tooth is named by an id or by its own colour
//! ([`own_tooth`](crate::material::own_tooth)), so a case with a measured one needs no material
//! file. The case is judged against the layered model: it is said where a colour lies beyond it and
//! what the nearest is. What comes of it is a [`PreparedCase`] (patient,
//! [`Space`](crate::scene::Space), prepared tooth) or a level.
//!
//! [`CaseForm`] is a case as typed: texts by field, and its `check` writes them as a case file and
//! sends that through the same rules, so that every finding comes back with the path of its field;
//! [`CaseForm::of`] is the way back and loses nothing (`tests/core/level/clinic/reopened.rs`).

mod build;
mod case_file;
mod form;
mod form_check;
mod format;
mod remark;
mod rules;

pub use build::{PreparedCase, level_text};
pub use case_file::{
    CaseFile, OpenedCase, case_files, case_text, has_comments, open_case, text_of,
};
pub use form::{CaseField, CaseForm, LabText, NeighbourText};
pub use form_check::{CaseFinding, CheckedForm};
pub use format::{
    CLINIC_FORMAT, CaseExercise, CeramicChoice, ClinicCase, MeasuredLab, MeasuredNeighbour,
};
pub(crate) use remark::remark;
pub(crate) use rules::reachable_prepared;
pub use rules::{load_case, parse_case};
