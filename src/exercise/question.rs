//! One question of any exercise, and its answer.

use super::bench::{BenchAnswer, BenchTask};
use super::blend::{BlendAnswer, BlendTask};
use super::bracket::{BracketAnswer, BracketTask};
use super::errors::AnswerError;
use super::ladder::{LadderAnswer, LadderTask};
use super::learner::Learner;
use super::margin::{MarginAnswer, MarginTask};
use super::mark::{Mark, Wording};
use super::matching::{MatchAnswer, MatchTask};
use super::sight::Sight;
use super::try_in::{TryInAnswer, TryInTask};
use super::two_lights::{TwoLightsAnswer, TwoLightsTask};
use super::verdict::{VerdictAnswer, VerdictTask};
use crate::random::{Purpose, StreamKey};
use crate::scene::{Case, Tooth};
use serde_json::Value;

/// One question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// 0-based number in the round.
    pub number: u32,
    /// What names its random streams: `level/seed/0/number`.
    pub seed_key: String,
    /// Whether it is one of the exercise's catches: none acceptable, no effect, an exact tie, a natural
    /// tooth; see [`catch_in_words`](super::catch_in_words).
    pub catch: bool,
    /// The smiles that can be looked at, in the order shown; empty where there are only patches.
    pub sights: Vec<Sight>,
    /// What is asked, with the truth.
    pub task: Task,
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

    /// Whether it is about teeth with layers, of which there are a chart and a cross-section, and not
    /// about flat colours.
    #[must_use]
    pub const fn has_layers(&self) -> bool {
        match self.task {
            Task::Ladder(_) | Task::Match(_) => false,
            Task::Blend(_)
            | Task::TwoLights(_)
            | Task::Bench(_)
            | Task::TryIn(_)
            | Task::Bracket(_)
            | Task::Margin(_)
            | Task::Verdict(_) => true,
        }
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
