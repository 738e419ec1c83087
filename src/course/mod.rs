//! Courses: forms that are alike in difficulty, course files, learners and what they hand in.

mod data;
mod estimate;
mod flags;
mod form;
mod group;
mod profile;
mod questions;
mod reach;
mod roster;
mod simulate;
mod standing;
mod truth;

pub use data::{CourseData, FormSitting, ShownForm, ShownItem};
pub use estimate::{Allowance, FormEstimator, ItemAnswer, SittingEstimate};
pub use flags::{ItemFlag, item_flags};
pub use form::{
    CUT_DE00, EXAM_SPACE, Form, FormError, FormFigures, Item, ItemSignal, JITTER, LEVELS_DE00,
    REFERENCE_CRITERION, REFERENCE_DE00, TEETH, parse_seed_key,
};
pub use group::{
    ChangeReport, Competency, FormReport, GroupReport, ItemReport, Judgement, PhaseReport, Verdict,
    borderline_band, has_too_many,
};
pub use profile::{Practise, Profile, Ranged};
pub use questions::{Choosing, CourseAnswer, ExerciseReport, QuestionReport, RoundReport};
pub use reach::{CourseFault, course_faults};
pub use roster::{LearnerId, LearnerIdError, Roster, RosterEntry, RosterError};
pub use simulate::{
    Recovery, SimulatedGroup, SimulatedLearner, SimulationError, simulate_hand_ins,
    simulate_hand_ins_with_answers, simulated_sitting, told_classes,
};
pub use standing::{Begun, Standing, StandingError, cut_off_outcome, is_cut_off};
pub use truth::FormTruth;
