//! A round of questions under way: the answer as it is made, the smiles that can be looked at, and the
//! rows that are stored.
//!
//! A [`Draft`] per exercise says what keys and buttons do and in which order, every smile of the
//! question is prepared in the background, and the answer is stored before it is explained. How
//! composing keeps up with its controls is told in [`crate::play::answer`].

mod acting;
mod advance;
mod choosing;
mod free;
mod looking;
mod study;

pub use advance::Passed;
pub use choosing::{ChoiceResultError, Choosing, OPTION_GAP_S, choice_result};
pub use free::FreePlay;
pub use study::Study;

use crate::exercise::{
    Answer, ChoiceMeasurement, FreeBench, Mark, Question, Round, RoundSummary, Sitting, Stage,
    Wording,
};
use crate::level::course_format::ToothNames;
use crate::play::answer::{Draft, numbered, ranking};
use crate::play::intents::Page;
use crate::play::mode::{Instrument, Mode};
use crate::play::picture::PreparedScene;
use crate::play::records::{MEASURE, PRACTICE};
use crate::play::wanted::Origin;
use crate::results::{self, Recording};
use crate::scene::Tooth;
use crate::trial::InputDevice;
use std::sync::Arc;

/// A round under way, or the one just finished.
#[derive(Debug)]
pub struct Exercising {
    sitting: Sitting,
    draft: Option<Draft>,
    refresh_hz: f64,
    /// The rows being written; `None` until the first question is asked.
    recording: Option<Recording>,
    /// Whether the instructions were left.
    begun: bool,
    missing: Option<&'static str>,
    /// Where the latest act came from.
    device: InputDevice,
    sheet: bool,
    reviewed: usize,
    /// Time that the smiles in view have been waited for, s.
    waited_s: f64,
    /// What the debrief shows.
    page: Page,
    study: Study,
    /// The smile last shown while a recipe changed.
    last_shown: Option<PreparedScene>,
    /// Questions answered in this run.
    given: Vec<(Question, Answer)>,
    mode: Mode,
    /// Whose step of which course it is.
    course: Option<results::Sitting>,
}

impl Exercising {
    /// A round at its start, or where `recording` goes on.
    #[must_use]
    pub fn new(round: Round, refresh_hz: f64, recording: Option<Recording>) -> Self {
        let first = recording.map_or(0, |recording| recording.next_trial as usize);
        let sitting = Sitting::new(Arc::new(round), PRACTICE, first);
        let draft = sitting.question().map(Draft::new);
        Self {
            sitting,
            draft,
            refresh_hz,
            recording,
            begun: false,
            missing: None,
            device: InputDevice::Keyboard,
            sheet: false,
            reviewed: 0,
            waited_s: 0.0,
            page: Page::Smile,
            study: Study::default(),
            last_shown: None,
            given: Vec::new(),
            mode: Mode::Practice,
            course: None,
        }
    }

    /// A round that a room answers: it begins at once, and no answer is stored as anyone's.
    #[must_use]
    pub fn in_room(round: Round, refresh_hz: f64) -> Self {
        let room = Self::new(round, refresh_hz, None).in_mode(Mode::Room);
        room.with_names(Wording::default().names)
    }

    /// The round at its start, played in this way.
    fn in_mode(self, mode: Mode) -> Self {
        Self { begun: !mode.instructs(), sheet: mode.begins_with_sheet(), mode, ..self }
    }

    /// The way that it is played.
    #[must_use]
    pub const fn mode(&self) -> &Mode {
        &self.mode
    }

    /// The round with teeth named like this.
    #[must_use]
    pub fn with_names(self, names: ToothNames) -> Self {
        let wording = Wording { names, to_room: self.mode.is_room() };
        Self { sitting: self.sitting.worded(wording), ..self }
    }

    /// What a tooth of the question is called within a sentence.
    #[must_use]
    pub fn tooth_said(&self, tooth: Tooth) -> String {
        let teeth = self.sitting.question().map_or_else(Vec::new, Question::teeth_in_view);
        self.sitting.wording().names.said(tooth, &teeth)
    }

    /// The round as a step of a course.
    #[must_use]
    pub fn in_course(self, course: Option<results::Sitting>) -> Self {
        Self { course, ..self }
    }

    /// A measurement of choosing at its start, or where `recording` goes on: instructions first, then
    /// one question after the other.
    #[must_use]
    pub fn choosing(
        measurement: ChoiceMeasurement,
        refresh_hz: f64,
        recording: Option<Recording>,
    ) -> Self {
        let round = measurement.round();
        let mut exercising = Self::new(round.clone(), refresh_hz, None);
        let before = measurement.questions();
        exercising.sitting = Sitting::open_ended(Arc::new(round), MEASURE, before);
        exercising.recording = recording;
        if measurement.is_done().is_some() {
            // It ended with its last answer, and only that was not written any more.
            exercising.sitting.stop();
        }
        let choosing = Box::new(Choosing::new(measurement));
        exercising.in_mode(Mode::Measure(Instrument::Choices(choosing)))
    }

    /// Free play on the bench: it begins at once.
    #[must_use]
    pub fn free(bench: FreeBench, back: Origin, refresh_hz: f64) -> Self {
        let free = FreePlay::new(back, bench.remarks);
        Self::new(bench.round, refresh_hz, None).in_mode(Mode::Free(free))
    }

    /// Whether the smile in view may be compared with its natural twin: in the debrief, and in free
    /// play.
    #[must_use]
    pub const fn may_compare(&self) -> bool {
        matches!(self.sitting.stage(), Stage::Marked) || self.mode.compares_unmarked()
    }

    /// The round and where it stands.
    #[must_use]
    pub const fn sitting(&self) -> &Sitting {
        &self.sitting
    }

    #[cfg(all(test, feature = "app"))]
    pub(crate) const fn sitting_mut(&mut self) -> &mut Sitting {
        &mut self.sitting
    }

    /// The answer under way.
    #[must_use]
    pub const fn draft(&self) -> Option<&Draft> {
        self.draft.as_ref()
    }

    /// Whether the instructions were left.
    #[must_use]
    pub const fn has_begun(&self) -> bool {
        self.begun
    }

    /// What was missing when the answer was to be given.
    #[must_use]
    pub const fn missing(&self) -> Option<&'static str> {
        self.missing
    }

    /// Whether all options are shown as small smiles.
    #[must_use]
    pub const fn shows_sheet(&self) -> bool {
        self.sheet
    }

    /// How long the smiles in view have been waited for, s.
    #[must_use]
    pub const fn waited_s(&self) -> f64 {
        self.waited_s
    }

    /// The number of the session in the result store, once a question was asked.
    #[must_use]
    pub fn stored_as(&self) -> Option<i64> {
        self.recording.map(|recording| recording.session)
    }

    /// What the debrief shows.
    #[must_use]
    pub const fn page(&self) -> Page {
        self.page
    }

    /// Chart and layers of the smile looked at in the debrief.
    #[must_use]
    pub const fn study(&self) -> &Study {
        &self.study
    }

    /// Questions answered in this run, with their answers.
    #[must_use]
    pub fn given(&self) -> &[(Question, Answer)] {
        &self.given
    }

    /// What the answers of this run say.
    #[must_use]
    pub fn given_summary(&self) -> RoundSummary {
        let round = self.sitting.round();
        let mut answers = vec![None; round.questions.len()];
        for (question, answer) in &self.given {
            if let Some(slot) = answers.get_mut(question.number as usize) {
                *slot = Some(answer.clone());
            }
        }
        round.summary(&answers)
    }

    /// The question and how its answer was marked, in the debrief.
    #[must_use]
    pub fn marked(&self) -> Option<(&Question, &Answer, &Mark)> {
        let (answer, mark) = self.sitting.last()?;
        Some((self.sitting.question()?, answer, mark))
    }

    /// The digits that lead to smiles of the debrief, with the smile of each.
    #[must_use]
    pub fn numbered(&self) -> Vec<(usize, usize)> {
        let list = |(question, answer, _)| ranking(question, answer, self.mode.is_room());
        self.marked().map_or_else(Vec::new, |marked| numbered(&list(marked)))
    }

    /// Whether something is being worked out that is not a smile: a chart, layers, the best recipe.
    #[must_use]
    pub const fn is_at_work(&self) -> bool {
        let searches = match self.mode.free() {
            Some(free) => free.is_searching(),
            None => false,
        };
        searches || self.study.is_at_work() || !self.study.is_done(self.page)
    }

    /// Whether nothing is left to be asked.
    fn is_whole(&self) -> bool {
        match self.mode.choosing() {
            Some(choosing) => choosing.measurement().is_done().is_some(),
            None => self.sitting.answered() >= self.sitting.round().questions.len(),
        }
    }

    /// Ends the round where it is.
    pub(crate) fn stop(&mut self) {
        self.sitting.stop();
    }
}
