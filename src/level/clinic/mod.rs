//! A case from the clinic: somebody's own measured colours and room, turned into a level.
//!
//! The file gives what a practitioner measures: CIELAB of natural teeth, of the prepared tooth, the
//! total reduction and the gap for the cement. What it does not give is filled in: teeth that
//! were not measured follow from those that were by the usual steps along the arch.

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
