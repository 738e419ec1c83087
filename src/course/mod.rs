//! Courses: forms that are alike in difficulty, course files, learners and what they hand in.

mod form;
mod roster;

pub use form::{
    CUT_DE00, EXAM_SPACE, Form, FormError, FormFigures, Item, ItemSignal, JITTER, LEVELS_DE00,
    REFERENCE_CRITERION, REFERENCE_DE00, TEETH, parse_seed_key,
};
pub use roster::{LearnerId, LearnerIdError, Roster, RosterEntry, RosterError};
