//! A round of questions under way: the answer as it is made, the smiles that can be looked at, and the
//! rows that are stored.
//!
//! A [`Draft`] per exercise says what keys and buttons do and in which order, every smile of the
//! question is prepared in the background, and the answer is stored before it is explained. How
//! composing keeps up with its controls is told in [`crate::play::answer`].

mod advance;
mod choosing;
mod free;
mod sights;
mod study;

pub use advance::Passed;
pub use choosing::{Choosing, OPTION_GAP_S, choice_result};
pub use free::FreePlay;
pub use study::Study;

use self::sights::{asked_sights, debrief_sights, first_reviewed};
use crate::exercise::{
    Answer, ChoiceMeasurement, FreeBench, Mark, Question, Round, RoundSummary, Sight, Sitting,
    Stage, Task, Wording,
};
use crate::level::course_format::ToothNames;
use crate::play::answer::{BenchDraft, Draft, Outcome, numbered, other_light, ranking};
use crate::play::intents::{Act, ExerciseIntent, Page};
use crate::play::mode::{Instrument, Mode};
use crate::play::picture::PreparedScene;
use crate::play::problem::Problem;
use crate::play::records::{MEASURE, PRACTICE, Records};
use crate::play::smiles::Preparation;
use crate::play::start::Origin;
use crate::results::{Recording, Sitting as CourseSitting};
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
    course: Option<CourseSitting>,
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
    pub fn in_course(self, course: Option<CourseSitting>) -> Self {
        Self { course, ..self }
    }

    /// Answers the question as a room did.
    pub(crate) fn answer_for_room(&mut self, answer: Answer) {
        let Some(question) = self.sitting.question().cloned() else { return };
        if let Ok(Some(_)) = self.sitting.answer(answer.clone(), InputDevice::Simulated) {
            self.reviewed = first_reviewed(&question, &answer);
            self.sheet = false;
            self.waited_s = 0.0;
            self.given.push((question, answer));
        }
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

    /// The smiles that can be looked at now, in order.
    #[must_use]
    pub fn sights(&self) -> Vec<Sight> {
        let Some(question) = self.sitting.question() else { return Vec::new() };
        match self.sitting.last() {
            Some((answer, _)) => debrief_sights(question, answer),
            None => asked_sights(question, self.draft.as_ref()),
        }
    }

    /// Which of them is in view.
    #[must_use]
    pub fn in_view(&self) -> usize {
        match self.sitting.stage() {
            Stage::Marked => self.reviewed,
            _ => self.draft.as_ref().map_or(0, Draft::current),
        }
    }

    /// The smile in view, once it is ready; while a recipe changes, the latest that was.
    #[must_use]
    pub fn shown<'a>(&'a self, preparation: &'a Preparation) -> Option<&'a PreparedScene> {
        let sights = self.sights();
        let latest = sights.get(self.in_view()).and_then(|sight| preparation.latest(&sight.case));
        latest.or_else(|| self.last_shown.as_ref().filter(|_| self.is_composing()))
    }

    /// Whether the smile in view is the one asked for, and not an earlier one.
    #[must_use]
    pub fn is_up_to_date(&self, preparation: &Preparation) -> bool {
        let sights = self.sights();
        sights.get(self.in_view()).is_none_or(|sight| preparation.ready(&sight.case).is_some())
    }

    /// Whether a restoration is being composed.
    #[must_use]
    pub fn is_composing(&self) -> bool {
        self.sitting.stage() == Stage::Asked && matches!(self.draft, Some(Draft::Bench(_)))
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

    /// Whether the smile may be looked at: a brief view ends by itself.
    #[must_use]
    pub fn may_look(&self) -> bool {
        match (self.sitting.stage(), self.sitting.question().map(|q| &q.task)) {
            (Stage::Asked, Some(Task::Verdict(task))) => self.sitting.asked_s() < task.exposure_s,
            _ => self.mode.choosing().is_none_or(|choosing| !choosing.is_gap()),
        }
    }

    /// The teeth that the question is about.
    #[must_use]
    pub fn teeth(&self) -> Vec<Tooth> {
        let Some(question) = self.sitting.question() else { return Vec::new() };
        match &question.task {
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

    /// All smiles that should be in preparation, the most urgent first.
    fn wanted(&self) -> Vec<Sight> {
        let mut wanted = self.sights();
        let Some(question) = self.sitting.question() else { return Vec::new() };
        if self.sitting.last().is_some() {
            if let Some(next) = self.sitting.next_question() {
                wanted.extend(asked_sights(next, Some(&Draft::new(next))));
            }
            return wanted;
        }
        match (&question.task, &self.draft) {
            (Task::TwoLights(task), Some(Draft::TwoLights(_))) => {
                wanted.extend(task.second_sights.iter().cloned());
            }
            (Task::TryIn(_), _) => wanted.extend(question.sights.iter().cloned()),
            (Task::Bench(task), Some(Draft::Bench(draft))) => {
                let judged = draft.judged_case(task);
                wanted.push(Sight { name: String::new(), case: judged });
                let kept = draft.kept_cases(task).into_iter();
                wanted.extend(kept.map(|(name, case)| Sight { name: name.to_owned(), case }));
            }
            _ => {}
        }
        wanted
    }

    /// The recipe that a bench begins with, in the light that it can be switched to. Once it is there,
    /// another recipe in that light takes one tooth and one picture, as in the first.
    fn in_other_light(&self) -> Option<Sight> {
        let Some(Task::Bench(task)) = self.sitting.question().map(|question| &question.task) else {
            return None;
        };
        let mut case = task.case_with(&task.start);
        case.illuminant = other_light(case.illuminant);
        self.is_composing().then(|| Sight { name: String::new(), case })
    }

    /// Whether every smile of the step is ready.
    fn is_ready(&self, preparation: &Preparation) -> bool {
        self.sitting.question().is_some()
            && self.sights().iter().all(|sight| preparation.ready(&sight.case).is_some())
    }

    /// Does what is asked for; an answer is stored in `records` at once.
    pub fn handle(&mut self, intent: ExerciseIntent, records: &Records, problem: &mut Problem) {
        let sights = self.sights().len();
        match intent {
            ExerciseIntent::Begin => self.begun = true,
            ExerciseIntent::ToggleSheet => self.sheet = !self.sheet && sights > 1,
            ExerciseIntent::TogglePage(page) if self.may_compare() => {
                self.page = if self.page == page { Page::Smile } else { page };
            }
            ExerciseIntent::Review(sight) if sight < sights => self.reviewed = sight,
            ExerciseIntent::ReviewNext(by) if sights > 0 => {
                self.reviewed =
                    (self.reviewed as i64 + i64::from(by)).rem_euclid(sights as i64) as usize;
            }
            _ if self.sitting.stage() != Stage::Asked => {}
            ExerciseIntent::Act(act, device) => self.act(act, device, records, problem),
            ExerciseIntent::Carry(from, to) => {
                if let Some(Draft::Ladder(draft)) = &mut self.draft {
                    draft.carry(from, to);
                    draft.cursor = to;
                    draft.held = false;
                }
            }
            ExerciseIntent::Compose(part, steps) => self.compose(|draft, limits| {
                draft.part = part;
                draft.change(draft.drafts.current().stepped(part, steps, limits));
            }),
            ExerciseIntent::Set(part, value, begins) => self.compose(|draft, limits| {
                draft.part = part;
                let to = draft.drafts.current().with_number(part, value, limits);
                if begins { draft.change(to) } else { draft.adjust(to) }
            }),
            ExerciseIntent::Predict(value) => {
                if let Some(Draft::TryIn(draft)) = &mut self.draft
                    && !draft.may_see()
                {
                    draft.set_value(value);
                }
            }
            ExerciseIntent::Place(percent) => {
                if let Some(Draft::Bracket(draft)) = &mut self.draft
                    && draft.placing
                {
                    draft.place = Some(percent.min(100));
                }
            }
            ExerciseIntent::TogglePage(_)
            | ExerciseIntent::Review(_)
            | ExerciseIntent::ReviewNext(_) => {}
        }
    }

    fn compose(&mut self, change: impl FnOnce(&mut BenchDraft, &crate::exercise::RecipeLimits)) {
        if let Some(Draft::Bench(draft)) = &mut self.draft
            && let Some(Task::Bench(task)) = self.sitting.question().map(|q| &q.task)
            && !draft.awaits
        {
            change(draft, &task.limits);
        }
    }

    fn act(&mut self, act: Act, device: InputDevice, records: &Records, problem: &mut Problem) {
        let (Some(draft), Some(question)) = (&mut self.draft, self.sitting.question()) else {
            return;
        };
        self.missing = None;
        self.device = device;
        if matches!(act, Act::Choose(_) | Act::Move(_)) {
            self.sheet = false;
        }
        match draft.apply(act, question) {
            Outcome::Nothing | Outcome::Attempt => {}
            Outcome::FindBest => {
                if let Some(free) = self.mode.free_mut() {
                    free.want_best();
                }
            }
            Outcome::Missing(what) => self.missing = Some(what),
            Outcome::Answer(answer) => self.answer(answer, device, records, problem),
        }
    }

    /// Marks an answer and stores it at once.
    fn answer(
        &mut self,
        answer: Answer,
        device: InputDevice,
        records: &Records,
        problem: &mut Problem,
    ) {
        let Some(question) = self.sitting.question().cloned() else { return };
        match self.sitting.answer(answer.clone(), device) {
            Ok(Some(row)) => {
                if let Some(recording) = self.recording
                    && let Err(error) = records.append_answer(recording, &row)
                {
                    problem.report(format!("This answer was not stored: {error}"));
                }
                self.reviewed = first_reviewed(&question, &answer);
                self.sheet = false;
                self.waited_s = 0.0;
                self.given.push((question, answer));
            }
            Ok(None) => {}
            Err(error) => problem.report(format!("This answer cannot be marked: {error}")),
        }
    }

    /// Leaves the debrief.
    pub(crate) fn go_on(&mut self) {
        if self.sitting.stage() == Stage::Marked {
            self.sitting.go_on();
            self.page = Page::Smile;
            self.study = Study::default();
            self.draft = self.sitting.question().map(Draft::new);
            self.last_shown = None;
            self.missing = None;
            self.reviewed = 0;
            self.waited_s = 0.0;
            self.sheet = self.mode.begins_with_sheet();
        }
    }

    /// Takes back the change of a recipe that could not be made. Returns whether there was one.
    fn step_back(&mut self) -> bool {
        match &mut self.draft {
            Some(Draft::Bench(draft)) => {
                draft.awaits = false;
                draft.compared.take().is_some() || draft.drafts.undo()
            }
            _ => false,
        }
    }

    /// The smiles that chart and layers are made of: all of the debrief, and in free play the one
    /// in view with the kept recipes.
    fn studied(&self) -> Vec<Sight> {
        let mut sights = self.sights();
        if let (Some(Draft::Bench(draft)), Some(Task::Bench(task)), Some(_)) =
            (&self.draft, self.sitting.question().map(|q| &q.task), self.mode.free())
        {
            let kept = draft.kept_cases(task).into_iter();
            sights.extend(
                kept.filter(|(_, case)| sights.iter().all(|sight| sight.case != *case))
                    .map(|(name, case)| Sight { name: name.to_owned(), case })
                    .collect::<Vec<_>>(),
            );
        }
        sights
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
