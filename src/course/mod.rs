//! Courses: forms that are alike in difficulty, course files, learners and what they hand in.

mod course_answer;
mod data;
mod estimate;
mod flags;
mod form;
mod form_draw;
mod form_item;
mod form_judge;
mod group;
mod profile;
mod questions;
mod reach;
mod reading;
mod recovery;
mod roster;
mod shown;
mod simulate;
mod simulated_learner;
mod standing;
mod truth;
mod versions;

pub use course_answer::CourseAnswer;
pub use data::CourseData;
pub use estimate::{Allowance, FormEstimator, ItemAnswer, SittingEstimate};
pub use flags::{ItemFlag, item_flags};
pub use form::{Form, FormError, parse_seed_key};
pub use form_item::{EXAM_SPACE, Item, ItemSignal, JITTER, LEVELS_DE00, TEETH};
pub use form_judge::{CUT_DE00, FormFigures, REFERENCE_CRITERION, REFERENCE_DE00};
pub use group::{
    ChangeReport, Competency, FormReport, GroupReport, ItemReport, Judgement, PhaseReport, Verdict,
    borderline_band, has_too_many,
};
pub use profile::{Practise, Profile, Ranged};
pub use questions::{Choosing, ExerciseReport, QuestionReport, RoundReport};
pub use reach::{CourseFault, course_faults};
pub use recovery::{Recovery, told_classes};
pub use roster::{LearnerId, LearnerIdError, Roster, RosterEntry, RosterError};
pub use shown::{FormSitting, ShownForm, ShownItem};
pub use simulate::{
    SimulationError, simulate_hand_ins, simulate_hand_ins_with_answers, simulated_sitting,
};
pub use simulated_learner::{SimulatedGroup, SimulatedLearner};
pub use standing::{Begun, Standing, StandingError, cut_off_outcome, is_cut_off};
pub use truth::FormTruth;
