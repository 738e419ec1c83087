//! Rounds of questions, whatever is asked.

use super::cases::Layout;
use super::*;
use crate::bake::BakeError;
use crate::level::format::{Exercise, Level};
use crate::material::{Library, LibraryError};
use crate::random::{Purpose, StreamKey};
use crate::scene::{Case, Tooth, ToothNumberError};
use serde_json::Value;
use thiserror::Error;

/// Why a level makes no round.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ExerciseError {
    /// The level is of the timed exercise.
    #[error("level `{0}` has timed trials instead of questions")]
    Timed(String),
    /// A case cannot be baked.
    #[error("level `{level}`, question {number}: {source}")]
    Bake {
        /// Level id.
        level: String,
        /// 0-based question.
        number: u32,
        /// Why.
        source: BakeError,
    },
    /// A material is missing.
    #[error("level `{level}`: {source}")]
    Library {
        /// Level id.
        level: String,
        /// Why.
        source: LibraryError,
    },
    /// A listed tooth does not exist.
    #[error("level `{level}`: {source}")]
    Tooth {
        /// Level id.
        level: String,
        /// Why.
        source: ToothNumberError,
    },
    /// The level's ranges leave no case of the kind that is asked for.
    #[error("level `{level}`, question {number}: {why}")]
    NoCase {
        /// Level id.
        level: String,
        /// 0-based question.
        number: u32,
        /// What was looked for and not found, with values.
        why: String,
    },
}

/// Why an answer cannot be marked. The screens never hand in such an answer.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum AnswerError {
    /// The answer belongs to another exercise.
    #[error("an answer of {given} was given to a question of {asked}")]
    OtherExercise {
        /// The exercise asked.
        asked: &'static str,
        /// The exercise of the answer.
        given: &'static str,
    },
    /// The answer names something that is not there.
    #[error("{0}")]
    Impossible(String),
}

/// A smile (or field of patches) that can be looked at in a question.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// What it is called on screen, such as `Option 2`.
    pub name: String,
    /// The smile.
    pub case: Case,
}

/// One question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// 0-based number in the round.
    pub number: u32,
    /// What names its random streams: `level/seed/0/number`.
    pub seed_key: String,
    /// Whether it is one of the exercise's catches: none acceptable, no effect, an exact tie, a natural
    /// tooth; see [`catch_in_words`].
    pub catch: bool,
    /// The smiles that can be looked at, in the order shown; empty where there are only patches.
    pub sights: Vec<Sight>,
    /// What is asked, with the truth.
    pub task: Task,
}

/// A session of questions laid out before it starts.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// The level's id.
    pub level_id: String,
    /// The level's title.
    pub title: String,
    /// What the level teaches.
    pub teaches: String,
    /// The exercise's name in results, such as `blend`.
    pub exercise: &'static str,
    /// The session's seed.
    pub seed: u64,
    /// The questions in order.
    pub questions: Vec<Question>,
}

/// A simulated learner: sees every difference through noise and leans one way.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Learner {
    /// Standard deviation of what is seen, ΔE00; 0 answers by the truth.
    pub noise_de00: f64,
    /// Preferred departure in value, ΔL00: above 0 the lighter is liked.
    pub value_bias: f64,
    /// Weight of value against chroma and hue, 1 for equal.
    pub value_weight: f64,
    /// Share of answers given without looking, 0..1.
    pub lapse: f64,
}

impl Learner {
    /// Sees everything as it is.
    pub const IDEAL: Self =
        Self { noise_de00: 0.0, value_bias: 0.0, value_weight: 1.0, lapse: 0.0 };
}

/// What is asked.
#[derive(Debug, Clone, PartialEq)]
#[expect(clippy::large_enum_variant, reason = "a round has a dozen of them, next to whole smiles")]
pub enum Task {
    /// Which option disappears?
    Blend(BlendTask),
    /// Which patch is lighter?
    Ladder(LadderTask),
    /// Which tab is nearest?
    Match(MatchTask),
    /// Does the choice hold in another light?
    TwoLights(TwoLightsTask),
    /// Compose a restoration.
    Bench(BenchTask),
    /// What does each cement do?
    TryIn(TryInTask),
    /// Which two options to mill?
    Bracket(BracketTask),
    /// Which option hides its margin?
    Margin(MarginTask),
    /// Accept or remake?
    Verdict(VerdictTask),
}

/// An answer.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// To [`Task::Blend`].
    Blend(BlendAnswer),
    /// To [`Task::Ladder`].
    Ladder(LadderAnswer),
    /// To [`Task::Match`].
    Match(MatchAnswer),
    /// To [`Task::TwoLights`].
    TwoLights(TwoLightsAnswer),
    /// To [`Task::Bench`].
    Bench(BenchAnswer),
    /// To [`Task::TryIn`].
    TryIn(TryInAnswer),
    /// To [`Task::Bracket`].
    Bracket(BracketAnswer),
    /// To [`Task::Margin`].
    Margin(MarginAnswer),
    /// To [`Task::Verdict`].
    Verdict(VerdictAnswer),
}

impl Task {
    /// The exercise's name in results.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Blend(_) => "blend",
            Self::Ladder(_) => "ladder",
            Self::Match(_) => "match",
            Self::TwoLights(_) => "two_lights",
            Self::Bench(_) => "bench",
            Self::TryIn(_) => "try_in",
            Self::Bracket(_) => "bracket",
            Self::Margin(_) => "margin",
            Self::Verdict(_) => "verdict",
        }
    }
}

impl Answer {
    /// The exercise's name in results.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Blend(_) => "blend",
            Self::Ladder(_) => "ladder",
            Self::Match(_) => "match",
            Self::TwoLights(_) => "two_lights",
            Self::Bench(_) => "bench",
            Self::TryIn(_) => "try_in",
            Self::Bracket(_) => "bracket",
            Self::Margin(_) => "margin",
            Self::Verdict(_) => "verdict",
        }
    }

    /// The answer as it is stored.
    #[must_use]
    pub fn to_json(&self) -> Value {
        match self {
            Self::Blend(answer) => answer.to_json(),
            Self::Ladder(answer) => answer.to_json(),
            Self::Match(answer) => answer.to_json(),
            Self::TwoLights(answer) => answer.to_json(),
            Self::Bench(answer) => answer.to_json(),
            Self::TryIn(answer) => answer.to_json(),
            Self::Bracket(answer) => answer.to_json(),
            Self::Margin(answer) => answer.to_json(),
            Self::Verdict(answer) => answer.to_json(),
        }
    }
}

impl Question {
    /// The teeth in the order of the picture; empty where there are only patches.
    #[must_use]
    pub fn teeth_in_view(&self) -> Vec<Tooth> {
        let first = self.sights.first().map(|sight| &sight.case);
        first.map_or_else(Vec::new, Case::teeth)
    }

    /// Marks an answer, in the words used outside courses.
    ///
    /// # Errors
    /// [`AnswerError`] when the answer is of another exercise or names what is not there.
    pub fn mark(&self, answer: &Answer) -> Result<Mark, AnswerError> {
        self.mark_worded(answer, Wording::default())
    }

    /// Marks an answer and says so in the words given. Rooms are asked to choose and to judge only:
    /// other exercises speak to whoever is at the desk.
    ///
    /// # Errors
    /// As [`Self::mark`].
    pub fn mark_worded(&self, answer: &Answer, wording: Wording) -> Result<Mark, AnswerError> {
        match (&self.task, answer) {
            (Task::Blend(task), Answer::Blend(answer)) => task.mark(answer, wording),
            (Task::Ladder(task), Answer::Ladder(answer)) => task.mark(answer),
            (Task::Match(task), Answer::Match(answer)) => task.mark(answer),
            (Task::TwoLights(task), Answer::TwoLights(answer)) => task.mark(answer),
            (Task::Bench(task), Answer::Bench(answer)) => task.mark(answer),
            (Task::TryIn(task), Answer::TryIn(answer)) => task.mark(answer),
            (Task::Bracket(task), Answer::Bracket(answer)) => task.mark(answer),
            (Task::Margin(task), Answer::Margin(answer)) => task.mark(answer),
            (Task::Verdict(task), Answer::Verdict(answer)) => {
                task.mark(answer, wording, &self.teeth_in_view())
            }
            (task, answer) => {
                Err(AnswerError::OtherExercise { asked: task.name(), given: answer.name() })
            }
        }
    }

    /// What a simulated learner answers; a pure function of its arguments.
    #[must_use]
    pub fn answer_of(&self, learner: &Learner, seed: u64) -> Answer {
        let key = StreamKey {
            form: &self.seed_key,
            seed,
            purpose: Purpose::Observer,
            block: 0,
            trial: self.number,
        };
        let stream = &mut key.stream();
        match &self.task {
            Task::Blend(task) => Answer::Blend(task.answer_of(learner, stream)),
            Task::Ladder(task) => Answer::Ladder(task.answer_of(learner, stream)),
            Task::Match(task) => Answer::Match(task.answer_of(learner, stream)),
            Task::TwoLights(task) => Answer::TwoLights(task.answer_of(learner, stream)),
            Task::Bench(task) => Answer::Bench(task.answer_of(learner, stream)),
            Task::TryIn(task) => Answer::TryIn(task.answer_of(learner, stream)),
            Task::Bracket(task) => Answer::Bracket(task.answer_of(learner, stream)),
            Task::Margin(task) => Answer::Margin(task.answer_of(learner, stream)),
            Task::Verdict(task) => Answer::Verdict(task.answer_of(learner, stream)),
        }
    }
}

/// Lays out a round of `level`: `questions` of them, or as many as the level says.
///
/// A pure function of its arguments; the library's caches do not change the result.
///
/// # Errors
/// [`ExerciseError`].
pub fn lay_out(
    level: &Level,
    library: &Library,
    seed: u64,
    questions: Option<u32>,
) -> Result<Round, ExerciseError> {
    let layout = Layout::new(level, library, seed, questions)?;
    let questions = match &level.exercise {
        Exercise::Glance { .. } => return Err(ExerciseError::Timed(level.id.clone())),
        Exercise::Blend { .. } => blend::lay_out(&layout),
        Exercise::Ladder { .. } => ladder::lay_out(&layout),
        Exercise::Match { .. } => matching::lay_out(&layout),
        Exercise::TwoLights { .. } => two_lights::lay_out(&layout),
        Exercise::Bench { .. } => bench::lay_out(&layout),
        Exercise::TryIn { .. } => try_in::lay_out(&layout),
        Exercise::Bracket { .. } => bracket::lay_out(&layout),
        Exercise::Margin { .. } => margin::lay_out(&layout),
        Exercise::Verdict { .. } => verdict::lay_out(&layout),
    }?;
    Ok(Round {
        level_id: level.id.clone(),
        title: level.title.clone(),
        teaches: level.teaches.clone(),
        exercise: level.exercise.name(),
        seed,
        questions,
    })
}
