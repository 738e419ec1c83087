//! Courses: forms that are alike in difficulty, course files, learners and what they hand in.
//!
//! # How a course runs
//! [`course_format`](crate::level::course_format) is the file (`assets/courses`); rules about its
//! text are checked with it, and [`course_faults`] finds what no text tells. A [`Form`] is drawn
//! from its seed: axis × level × third of the arch, then a swap search until expected scores of
//! three reference learners are within 0.004 and information at 1.8 ΔE00 within 2 % of the design.
//! `Form::order` salts the order by seat;
//! [`SmileRequest::exam`](crate::measure::SmileRequest::exam) makes an item's smile, the same at
//! every seat. Streams of exams are named `exam:form`, which no level's id can be (ids hold no
//! colon). A stored trial of a form has `exam:form/seed/block/item` as its key; whose it is stands
//! in the session's settings ([`results::Sitting`](crate::results::Sitting)), so that the schema
//! needs no columns for it.
//!
//! [`Standing`] says from the stored sessions which step is on, so nothing else is kept about where
//! a learner stopped. Answers to questions given in a course ([`CourseAnswer`]) go into the report
//! by learner and exercise: score, regret, right, and for Blend the leaning in value that
//! [`OptionChoiceFit`](crate::psychophysics::OptionChoiceFit) finds. A round that several learners
//! answered question by question (same level and seed) gets item figures like a form. Practice is
//! handed in only with the learner's consent.
//!
//! # Judging people
//! - **Nobody is classed by a point estimate.** [`Competency::of`] gives a class where the upper
//!   end of the threshold's 95 % interval lies at its limit or below, "not yet" where the lower end
//!   lies above the last limit, and [`Competency::CannotBeTold`] in between or after too few smiles
//!   without a restoration. False alarms take a class away where their whole interval lies above
//!   what is allowed. [`Verdict`] judges a pass in the same way, with "borderline: sit another
//!   form" in between. What is told is right as often as a 95 % interval holds
//!   (`tests/core/course/judging.rs`).
//! - **A course must be able to decide.** `check` refuses rules that the forms cannot serve: a mark
//!   or a class that a sitting without a mistake does not reach or one in which nothing was found
//!   does not miss ([`course_faults`]), and more smiles without a restoration than the forms hold.
//! - **Sitting again.** A second sitting of a phase is kept beside the first. The fullest counts,
//!   of those as full the first ([`Counted`](crate::results::Counted)): smiles seen before measure
//!   memory. Report, feedback, learners' pages and exports say which counts and why; no figure uses
//!   both.
//! - **Flags** of items are given where the whole interval of a figure lies beyond its bound, with
//!   intervals wide enough for the whole list ([`item_flags`]).
//!
//! # Estimates
//! Everyone sees the same items, so [`FormEstimator`] computes the probability of every answer on a
//! grid of threshold, criterion, confusion, exponent and lapse once per form; a sitting is a sum of
//! rows. Single axes are fitted by [`Refit`](crate::psychophysics::Refit) on learners' pages only.
//! Group figures use estimates with the prior taken out.
//!
//! Over 40 seeds the expected score spreads by 0.007 to 0.008 (limit 0.016) at the three reference
//! learners, information by 3.8 %. Simulated learners (`tests/core/course/simulated.rs`, ln τ
//! spread 0.40):
//!
//! | | design | nothing sways them, 300 | natural variation, side bias, ends, 200 |
//! |---|---|---|---|
//! | KR-20 of the score | 0.86 | 0.85, 0.86 | 0.79, 0.80 |
//! | parallel forms by score / by threshold | 0.88 / 0.89 | 0.86 / 0.86 | 0.79 / 0.84 (they changed by 15 ± 10 % between) |
//! | error of the score, points | 4.8 | 5.2 | 5.4 |
//! | ln τ, found less true | | -0.074 ± 0.010 | -0.014 ± 0.012, -0.026 ± 0.013 |
//! | ln τ, RMSE (stated) | 0.136 | 0.189 (0.193) | 0.173, 0.182 (0.202, 0.201) |
//! | 95 % intervals that hold the truth | | 96 % | 98 %, 96 % |
//! | r of found and true ln τ | | 0.93 | 0.92, 0.91 |
//!
//! The estimate allows for confusion with natural variation; learners who know no such thing come
//! out 7 % too good, and real ones, for whom it is meant, do not. What each thing costs, on the
//! same answers of 300 learners whom nothing sways ([`Allowance`]; `cargo test
//! --no-default-features --test core what_the_allowances_cost -- --ignored --nocapture`):
//!
//! | the estimate allows for | ln τ, found less true | RMSE (stated) | parallel r by threshold |
//! |---|---|---|---|
//! | confusion and other exponents | -0.074 ± 0.010 | 0.189 (0.193) | 0.865 |
//! | other exponents | -0.010 ± 0.009 | 0.165 (0.176) | 0.863 |
//! | neither | -0.006 ± 0.009 | 0.163 (0.164) | 0.862 |
//!
//! So allowing for confusion is the bias and most of the larger error, and costs no reliability.
//! The rest lies with the learners: where they differ in nothing but their threshold, parallel
//! forms correlate by 0.884 (threshold) and 0.874 (score), KR-20 is 0.87 and the error of the score
//! 5.0 points. The design's 0.136 is near what its own 0.89 leaves of a spread of 0.40 (0.40 √0.11
//! = 0.133), so likely no RMSE; ours by that reckoning is 0.40 √(1 - 0.884) = 0.136. What is left
//! is the error of the score, 5.0 points against 4.8. For groups that are swayed the smallest real
//! change of one person stays a factor of 0.56 rather than 0.69.

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
