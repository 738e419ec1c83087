//! An answer as it is made: what keys and buttons do in each exercise, step by step, until the
//! answer is whole; which smiles can be looked at meanwhile and afterwards; what the debrief lists.
//!
//! Each exercise has a file of its own. Here alone they are told apart, and every one has to be named.

mod bench;
mod blend;
mod bracket;
mod ladder;
mod margin;
mod outcome;
mod ranking;
mod tabs;
mod try_in;
mod two_lights;
mod verdict;

pub use bench::{BenchDraft, other_light};
pub use blend::BlendDraft;
pub use bracket::BracketDraft;
pub use ladder::LadderDraft;
pub use margin::MarginDraft;
pub use outcome::Outcome;
pub use ranking::{Ranked, numbered};
pub use tabs::MatchDraft;
pub use try_in::{DIRECTIONS, TryInDraft};
pub use two_lights::{LightStep, TwoLightsDraft};

use crate::exercise::{Answer, Question, Sight, Task};
use crate::play::intents::Act;
use crate::scene::Tooth;

/// An answer under way.
#[derive(Debug, Clone, PartialEq)]
pub enum Draft {
    /// To Blend.
    Blend(BlendDraft),
    /// To Ladder.
    Ladder(LadderDraft),
    /// To Match.
    Match(MatchDraft),
    /// To Two lights.
    TwoLights(TwoLightsDraft),
    /// To Bench.
    Bench(Box<BenchDraft>),
    /// To Try-in.
    TryIn(TryInDraft),
    /// To Bracket.
    Bracket(BracketDraft),
    /// To Margin.
    Margin(MarginDraft),
    /// To Verdict.
    Verdict,
}

impl Draft {
    /// The start of an answer to a question.
    #[must_use]
    pub fn new(question: &Question) -> Self {
        let count = question.sights.len();
        match &question.task {
            Task::Blend(task) => Self::Blend(BlendDraft::new(task)),
            Task::Ladder(task) => Self::Ladder(LadderDraft::new(task)),
            Task::Match(task) => Self::Match(MatchDraft::new(task)),
            Task::TwoLights(task) => Self::TwoLights(TwoLightsDraft::new(task)),
            Task::Bench(task) => Self::Bench(Box::new(BenchDraft::new(task))),
            Task::TryIn(task) => Self::TryIn(TryInDraft::new(task)),
            Task::Bracket(_) => Self::Bracket(BracketDraft::new(count)),
            Task::Margin(_) => Self::Margin(MarginDraft::new(count)),
            Task::Verdict(_) => Self::Verdict,
        }
    }

    /// The sight in view, by its place among those the step shows.
    #[must_use]
    pub fn current(&self) -> usize {
        match self {
            Self::Blend(draft) => draft.current,
            Self::TwoLights(draft) => draft.current,
            Self::TryIn(draft) => draft.current,
            Self::Bracket(draft) => draft.current,
            Self::Margin(draft) => draft.current,
            Self::Ladder(_) | Self::Match(_) | Self::Bench(_) | Self::Verdict => 0,
        }
    }

    /// Does what was asked for.
    pub fn apply(&mut self, act: Act, question: &Question) -> Outcome {
        match self {
            Self::Blend(draft) => draft.apply(act),
            Self::Ladder(draft) => draft.apply(act),
            Self::Match(draft) => draft.apply(act),
            Self::TwoLights(draft) => draft.apply(act),
            Self::Bench(draft) => match &question.task {
                Task::Bench(task) => draft.apply(act, task),
                _ => Outcome::Nothing,
            },
            Self::TryIn(draft) => draft.apply(act),
            Self::Bracket(draft) => draft.apply(act),
            Self::Margin(draft) => draft.apply(act),
            Self::Verdict => verdict::apply(act),
        }
    }
}

/// Smiles that can be looked at while the question is asked.
pub(super) fn asked_sights(question: &Question, draft: Option<&Draft>) -> Vec<Sight> {
    match (&question.task, draft) {
        (Task::TwoLights(task), Some(Draft::TwoLights(draft))) => {
            two_lights::asked_sights(question, task, draft)
        }
        (Task::TryIn(_), Some(Draft::TryIn(draft))) => try_in::asked_sights(question, draft),
        (Task::Bench(task), Some(Draft::Bench(draft))) => bench::asked_sights(task, draft),
        (
            Task::Blend(_)
            | Task::Ladder(_)
            | Task::Match(_)
            | Task::TwoLights(_)
            | Task::Bench(_)
            | Task::TryIn(_)
            | Task::Bracket(_)
            | Task::Margin(_)
            | Task::Verdict(_),
            _,
        ) => question.sights.clone(),
    }
}

/// Smiles that a later step of the same question may show.
pub(super) fn next_sights(question: &Question, draft: Option<&Draft>) -> Vec<Sight> {
    match (&question.task, draft) {
        (Task::TwoLights(task), Some(Draft::TwoLights(_))) => task.second_sights.clone(),
        (Task::TryIn(_), _) => question.sights.clone(),
        (Task::Bench(task), Some(Draft::Bench(draft))) => bench::next_sights(task, draft),
        (
            Task::Blend(_)
            | Task::Ladder(_)
            | Task::Match(_)
            | Task::TwoLights(_)
            | Task::Bench(_)
            | Task::Bracket(_)
            | Task::Margin(_)
            | Task::Verdict(_),
            _,
        ) => Vec::new(),
    }
}

/// Smiles of recipes kept aside, in the light in view.
pub(super) fn kept_sights(question: &Question, draft: Option<&Draft>) -> Vec<Sight> {
    match (&question.task, draft) {
        (Task::Bench(task), Some(Draft::Bench(draft))) => bench::kept_sights(task, draft),
        _ => Vec::new(),
    }
}

/// Smiles that can be looked at in the debrief.
pub(super) fn debrief_sights(question: &Question, answer: &Answer) -> Vec<Sight> {
    match (&question.task, answer) {
        (Task::TwoLights(task), _) => two_lights::debrief_sights(question, task),
        (Task::TryIn(task), _) => try_in::debrief_sights(question, task),
        (Task::Bench(task), Answer::Bench(answer)) => bench::debrief_sights(task, answer),
        (
            Task::Blend(_)
            | Task::Ladder(_)
            | Task::Match(_)
            | Task::Bench(_)
            | Task::Bracket(_)
            | Task::Margin(_)
            | Task::Verdict(_),
            _,
        ) => question.sights.clone(),
    }
}

/// The smile that the debrief begins with: the one that was answered.
pub(super) fn first_reviewed(question: &Question, answer: &Answer) -> usize {
    match (answer, &question.task) {
        (Answer::Blend(answer), Task::Blend(task)) => answer.best.unwrap_or(task.best),
        (Answer::TwoLights(answer), _) => answer.choice,
        (Answer::TryIn(answer), _) => answer.seated,
        (Answer::Bracket(answer), _) => answer.options[0],
        (Answer::Margin(answer), Task::Margin(task)) => answer.choice.unwrap_or(task.best),
        (Answer::Bench(answer), _) => answer.attempts.len().saturating_sub(1),
        (
            Answer::Blend(_)
            | Answer::Margin(_)
            | Answer::Ladder(_)
            | Answer::Match(_)
            | Answer::Verdict(_),
            _,
        ) => 0,
    }
}

/// The options of an answered question, the nearest first. Empty where nothing is ranked. Where a room
/// answered, its answer is what it chose most often.
#[must_use]
pub fn ranking(question: &Question, answer: &Answer, in_room: bool) -> Vec<Ranked> {
    let mut ranked = match (&question.task, answer) {
        (Task::Blend(task), Answer::Blend(answer)) => {
            blend::ranked(question, task, answer, in_room)
        }
        (Task::Match(task), Answer::Match(answer)) => tabs::ranked(task, answer),
        (Task::TwoLights(task), Answer::TwoLights(answer)) => {
            two_lights::ranked(question, task, answer)
        }
        (Task::Bench(task), Answer::Bench(answer)) => bench::ranked(task, answer),
        (Task::TryIn(task), Answer::TryIn(answer)) => try_in::ranked(task, answer),
        (Task::Bracket(task), Answer::Bracket(answer)) => bracket::ranked(question, task, answer),
        (Task::Margin(task), Answer::Margin(answer)) => margin::ranked(question, task, answer),
        (Task::Verdict(task), Answer::Verdict(answer)) => {
            verdict::ranked(question, task, answer, in_room)
        }
        (
            Task::Blend(_)
            | Task::Ladder(_)
            | Task::Match(_)
            | Task::TwoLights(_)
            | Task::Bench(_)
            | Task::TryIn(_)
            | Task::Bracket(_)
            | Task::Margin(_)
            | Task::Verdict(_),
            _,
        ) => Vec::new(),
    };
    ranked.sort_by(|a, b| a.difference.de00.total_cmp(&b.difference.de00));
    ranked
}

/// The teeth that a question is about.
#[must_use]
pub fn teeth_of(task: &Task) -> Vec<Tooth> {
    match task {
        Task::Blend(task) => task.teeth.clone(),
        Task::Ladder(_) => Vec::new(),
        Task::Match(task) => vec![task.tooth],
        Task::TwoLights(task) => vec![task.tooth],
        Task::Bench(task) => vec![task.tooth],
        Task::TryIn(task) => vec![task.tooth],
        Task::Bracket(task) => vec![task.tooth],
        Task::Margin(task) => vec![task.tooth],
        Task::Verdict(task) => vec![task.tooth],
    }
}
