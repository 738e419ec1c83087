//! Exercises with questions instead of timed trials: what is shown, what is asked, and how an answer
//! is marked.
//!
//! A [`Round`] is laid out from a level before it starts, like a plan of trials. Every [`Question`]
//! holds the smiles that can be looked at and the truth, computed through the layered model; it
//! marks answers and never draws, waits or saves. Screens show sights and hand answers in.
//!
//! # How a round runs
//! [`lay_out`] makes a [`Round`]; a [`Sitting`] says which question is asked and marks answers,
//! without a clock; [`Round::summary`] says what a round of answers comes to, with intervals. The
//! app owns the sitting: a draft per exercise says what keys and buttons do and in which order (a
//! prediction comes before what it predicts is shown), every smile of the question is prepared in
//! the background, and the answer is stored before it is explained
//! ([`results::AnswerRow`](crate::results::AnswerRow), table `answer`).
//!
//! Options and verdicts are searched with [`bake::Estimator`](crate::bake::Estimator); the truth
//! that is kept is that of the baked maps of the one tooth. Options of one mouth share the twin's
//! picture, and all but the first are baked by their restored tooth alone
//! ([`BakedScene::rebake`](crate::bake::BakedScene::rebake)).
//!
//! Choosing is measured by [`ChoiceMeasurement`]: an open-ended sitting, the next question of Blend
//! laid out after each answer with the gap that
//! [`OptionSession`](crate::psychophysics::OptionSession) asks for, one in five with nothing
//! acceptable, no feedback, 250 ms of grey between options. Each exercise says in its own module
//! how its questions are laid out.
//!
//! # A recipe
//! A [`Recipe`] is what is chosen about a restoration; [`RecipeLimits`] are the limits of the
//! materials and of the space (reduction less cement film at four heights), with steps for the
//! keyboard and problems in plain words; [`Drafts`] is undo, redo and two kept recipes. `reach`
//! looks for the best that can be reached.

mod at_hand;
mod bench;
pub mod blend;
mod bracket;
mod cases;
mod chance;
mod choice_measurement;
mod choice_report;
mod choice_stored;
mod choosing;
mod drafts;
mod errors;
mod free_bench;
mod in_use;
mod ladder;
mod learner;
mod margin;
mod mark;
mod matching;
mod perceive;
mod pool;
mod question;
mod reach;
mod recipe;
mod recipe_limits;
mod recipe_moves;
mod recipe_part;
mod round;
mod seeing;
mod sight;
mod summary;
mod try_in;
mod two_lights;
mod verdict;

pub use at_hand::{CementChoice, ClassChoice, Offered, plain_classes};
pub use bench::{BenchAnswer, BenchTask, Compensation, compensation};
pub use blend::{BlendAnswer, BlendTask};
pub use bracket::{BracketAnswer, BracketOption, BracketPair, BracketTask};
pub use choice_measurement::{CHOICE_ID, ChoiceAsked, ChoiceMeasurement, ResumeError};
pub use choice_report::{ChoiceReport, LEAST_PAIRS, Repeats};
pub use choice_stored::{StoredChoice, StoredChoiceError};
pub use drafts::{Drafts, Slot};
pub use errors::{AnswerError, ExerciseError};
pub use free_bench::{
    BenchSetup, FREE_BENCH_ID, FreeBench, PreparedChoice, SetupError, SetupPart, light_in_words,
};
pub use in_use::fault_in_use;
pub use ladder::{LadderAnswer, LadderTask, Patch};
pub use learner::Learner;
pub use margin::{MarginAnswer, MarginOption, MarginTask};
pub use mark::{Grade, Mark, Wording, points, score_of_regret};
pub use matching::{MatchAnswer, MatchChoice, MatchTask, Tab};
pub use question::{Answer, Question, Task};
pub use reach::Reached;
pub use recipe::Recipe;
pub use recipe_limits::{RecipeLimits, RecipeProblem};
pub use recipe_part::{RecipePart, translucency_name};
pub use round::{Round, lay_out};
pub use sight::Sight;
pub use summary::RoundSummary;
pub use try_in::{CementEffect, EffectDirection, Prediction, TryInAnswer, TryInTask};
pub use two_lights::{LitOption, TwoLightsAnswer, TwoLightsTask};
pub use verdict::{VerdictAnswer, VerdictTask};

mod fits;
mod sitting;
pub use crate::level::format::catch_in_words;
pub use fits::fits;
pub use sitting::{RoundTally, Sitting, Stage, Times};
