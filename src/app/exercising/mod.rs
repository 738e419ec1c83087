//! The bridge between the app and exercises with questions: owns the round, prepares every smile
//! that can be looked at, turns intents into answers and answers into stored rows.

mod bench;
mod choice;
mod draft;
mod free;
mod ranking;
mod study;

pub use bench::{BenchDraft, other_light};
pub use choice::{Choosing, OPTION_GAP_S, choice_result};
pub use draft::{
    Act, BlendDraft, BracketDraft, DIRECTIONS, Draft, LadderDraft, LightStep, MarginDraft,
    MatchDraft, Outcome, TryInDraft, TwoLightsDraft,
};
pub use free::FreePlay;
pub use ranking::{Ranked, numbered, ranking};
pub use study::{Page, Study};

use crate::app::content::ActiveContent;
use crate::app::debrief::DebriefView;
use crate::app::frames::{LastFrame, Moved};
use crate::app::persist::{MEASURE, PRACTICE, Records};
use crate::app::scenes::{BeginWork, Leave, Preparation, PreparedScene};
use crate::app::{AppSystems, Pause, Problem, Screen};
use crate::exercise::{
    Answer, ChoiceMeasurement, FreeBench, Mark, Question, RecipePart, Round, RoundSummary, Sight,
    Sitting, Slot, Stage, Task, Wording,
};
use crate::level::course_format::ToothNames;
use crate::results::{Recording, Sitting as CourseSitting};
use crate::scene::Tooth;
use crate::trial::InputDevice;
use crate::words::count;
use bevy::prelude::*;
use std::sync::Arc;

/// What a learner can ask for in an exercise with questions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ExerciseIntent {
    /// Leave the instructions.
    Begin,
    /// Do this to the answer under way; by which device.
    Act(Act, InputDevice),
    /// Take the patch at one place to another.
    Carry(usize, usize),
    /// Move a part of the recipe by steps.
    Compose(RecipePart, i32),
    /// Set a part of the recipe that is a number; whether a new change begins, as with the first
    /// step of a drag.
    Set(RecipePart, f64, bool),
    /// Set the predicted effect in value, ΔE00, darker below 0.
    Predict(f64),
    /// Set where the tooth lies between two options, percent.
    Place(u32),
    /// Show all options as small smiles, or one again.
    ToggleSheet,
    /// In the debrief, show this page, or the smile again.
    TogglePage(Page),
    /// In the debrief, look at this smile.
    Review(usize),
    /// In the debrief, the smile before or after.
    ReviewNext(i32),
}

/// A round under way, or the one just finished.
#[derive(Resource, Debug)]
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
    /// Free play, where nothing is asked.
    free: Option<FreePlay>,
    /// Whose step of which course it is.
    course: Option<CourseSitting>,
    /// Whether a room answers: nothing is stored as anyone's answer.
    in_room: bool,
    /// A measurement of choosing.
    choosing: Option<Choosing>,
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
            free: None,
            choosing: None,
            course: None,
            in_room: false,
        }
    }

    /// A round that a room answers: it begins at once, and no answer is stored as anyone's.
    #[must_use]
    pub fn in_room(round: Round, refresh_hz: f64) -> Self {
        let new = Self::new(round, refresh_hz, None);
        let room = Self { in_room: true, begun: true, sheet: true, ..new };
        room.with_names(Wording::default().names)
    }

    /// The round with teeth named like this.
    #[must_use]
    pub fn with_names(self, names: ToothNames) -> Self {
        let wording = Wording { names, to_room: self.in_room };
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

    /// Whether a room answers.
    #[must_use]
    pub const fn is_in_room(&self) -> bool {
        self.in_room
    }

    /// Answers the question as a room did.
    pub(super) fn answer_for_room(&mut self, answer: Answer) {
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
        exercising.choosing = Some(Choosing::new(measurement));
        exercising
    }

    /// The measurement of choosing, where one is under way.
    #[must_use]
    pub const fn measured(&self) -> Option<&Choosing> {
        self.choosing.as_ref()
    }

    /// Free play on the bench: it begins at once.
    #[must_use]
    pub fn free(bench: FreeBench, back: Screen, refresh_hz: f64) -> Self {
        let mut exercising = Self::new(bench.round, refresh_hz, None);
        exercising.begun = true;
        exercising.free = Some(FreePlay::new(back, bench.remarks));
        exercising
    }

    /// Free play, where nothing is asked.
    #[must_use]
    pub const fn free_play(&self) -> Option<&FreePlay> {
        self.free.as_ref()
    }

    /// Whether the smile in view may be compared with its natural twin: in the debrief, and in free
    /// play.
    #[must_use]
    pub const fn may_compare(&self) -> bool {
        matches!(self.sitting.stage(), Stage::Marked) || self.free.is_some()
    }

    /// The round and where it stands.
    #[must_use]
    pub const fn sitting(&self) -> &Sitting {
        &self.sitting
    }

    #[cfg(test)]
    pub(in crate::app) const fn sitting_mut(&mut self) -> &mut Sitting {
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
        let list = |(question, answer, _)| ranking(question, answer, self.in_room);
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
        let searches = match &self.free {
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
            _ => self.choosing.as_ref().is_none_or(|choosing| !choosing.is_gap()),
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

    /// Takes an intent in.
    pub(super) fn handle(
        &mut self,
        intent: ExerciseIntent,
        records: &Records,
        problem: &mut Problem,
    ) {
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
                if let Some(free) = &mut self.free {
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
    pub(super) fn go_on(&mut self) {
        if self.sitting.stage() == Stage::Marked {
            self.sitting.go_on();
            self.page = Page::Smile;
            self.study = Study::default();
            self.draft = self.sitting.question().map(Draft::new);
            self.last_shown = None;
            self.missing = None;
            self.reviewed = 0;
            self.waited_s = 0.0;
            self.sheet = self.in_room;
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
            (&self.draft, self.sitting.question().map(|q| &q.task), &self.free)
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
        match &self.choosing {
            Some(choosing) => choosing.measurement().is_done().is_some(),
            None => self.sitting.answered() >= self.sitting.round().questions.len(),
        }
    }

    /// Ends the round where it is.
    pub(super) fn stop(&mut self) {
        self.sitting.stop();
    }
}

/// Smiles that can be looked at while the question is asked.
fn asked_sights(question: &Question, draft: Option<&Draft>) -> Vec<Sight> {
    match (&question.task, draft) {
        (Task::TwoLights(task), Some(Draft::TwoLights(draft)))
            if draft.step == LightStep::Second =>
        {
            task.second_sights.clone()
        }
        (Task::TryIn(_), Some(Draft::TryIn(draft))) if !draft.may_see() => {
            question.sights.iter().take(1).cloned().collect()
        }
        (Task::Bench(task), Some(Draft::Bench(draft))) => {
            let name = match draft.compared {
                None => "Your recipe",
                Some(Slot::A) => "Recipe A",
                Some(Slot::B) => "Recipe B",
            };
            vec![Sight { name: name.to_owned(), case: draft.case(task) }]
        }
        _ => question.sights.clone(),
    }
}

/// Smiles that can be looked at in the debrief.
fn debrief_sights(question: &Question, answer: &Answer) -> Vec<Sight> {
    let mut sights = question.sights.clone();
    match (&question.task, answer) {
        (Task::TwoLights(task), _) => {
            for sight in &mut sights {
                sight.name = format!("{}, {}", sight.name, task.first_light.name());
            }
            sights.extend(task.second_sights.iter().map(|sight| Sight {
                name: format!("{}, {}", sight.name, task.second_light.name()),
                case: sight.case.clone(),
            }));
        }
        (Task::TryIn(task), _) => {
            let months = count(task.drift.months.round() as usize, "month", "months");
            let later = sights.iter().map(|sight| Sight {
                name: format!("{}, {months} later", sight.name),
                case: task.after(&sight.case),
            });
            let later: Vec<Sight> = later.collect();
            sights.extend(later);
        }
        (Task::Bench(task), Answer::Bench(answer)) => {
            sights.clear();
            for (number, reached) in answer.attempts.iter().enumerate() {
                let name = format!("Attempt {}", number + 1);
                sights.push(Sight { name, case: task.case_with(&reached.recipe) });
            }
            if let Some(best) = &task.best {
                let name = "Best that was found".to_owned();
                sights.push(Sight { name, case: task.case_with(&best.recipe) });
            }
        }
        _ => {}
    }
    sights
}

/// The smile that the debrief begins with: the one that was answered.
fn first_reviewed(question: &Question, answer: &Answer) -> usize {
    match (answer, &question.task) {
        (Answer::Blend(answer), Task::Blend(task)) => answer.best.unwrap_or(task.best),
        (Answer::TwoLights(answer), _) => answer.choice,
        (Answer::TryIn(answer), _) => answer.seated,
        (Answer::Bracket(answer), _) => answer.options[0],
        (Answer::Margin(answer), Task::Margin(task)) => answer.choice.unwrap_or(task.best),
        (Answer::Bench(answer), _) => answer.attempts.len().saturating_sub(1),
        _ => 0,
    }
}

pub(super) fn plugin(app: &mut App) {
    app.add_systems(
        Update,
        (
            pass_time.in_set(AppSystems::Advance),
            want_smiles.in_set(AppSystems::Prepare).before(BeginWork),
            (study_smile, search_best).in_set(AppSystems::Prepare),
        )
            .run_if(resource_exists::<Exercising>)
            .run_if(in_state(Screen::Exercise)),
    );
}

/// Lets the frame pass, asks the question when its smiles are there, ends the round.
fn pass_time(
    mut exercising: ResMut<Exercising>,
    (last, moved): (Res<LastFrame>, Res<Moved>),
    pause: Res<State<Pause>>,
    mut preparation: ResMut<Preparation>,
    records: Res<Records>,
    (content, mut view): (Res<ActiveContent>, ResMut<DebriefView>),
    mut problem: ResMut<Problem>,
    mut next: ResMut<NextState<Screen>>,
    mut next_pause: ResMut<NextState<Pause>>,
) {
    let exercising = &mut *exercising;
    let duration_s = last.0.as_secs_f64();
    exercising.sitting.pass(duration_s, *pause.get() == Pause::Paused);
    exercising.waited_s =
        if exercising.is_ready(&preparation) { 0.0 } else { exercising.waited_s + duration_s };
    if exercising.sights().iter().any(|sight| preparation.has_failed(&sight.case))
        && !exercising.step_back()
    {
        // The reason is on screen already.
        exercising.stop();
    }
    if exercising.choosing.is_some() {
        measure_choice(exercising, duration_s, &content, &mut problem);
    }
    match exercising.sitting.stage() {
        Stage::Preparing if exercising.begun && exercising.is_ready(&preparation) => {
            if exercising.free.is_none() {
                begin_recording(exercising, &records, &mut problem);
            }
            exercising.sitting.show();
            *view = DebriefView::default();
        }
        Stage::Asked => {
            judge_attempt(exercising, &preparation, &records, &mut problem);
            if exercising.free.is_some() {
                view.tick(moved.0.as_secs_f64());
            }
        }
        Stage::Marked => view.tick(moved.0.as_secs_f64()),
        Stage::Finished => {
            preparation.clear();
            if let Some(recording) = exercising.recording
                && exercising.is_whole()
                && let Err(error) = records.finish(recording)
            {
                problem.report(error.to_string());
            }
            next_pause.set(Pause::Running);
            next.set(match (&exercising.free, exercising.in_room) {
                (Some(free), _) => free.back,
                (None, true) => Screen::Lecture,
                (None, false) => Screen::Summary,
            });
        }
        Stage::Preparing => {}
    }
}

/// A frame of a measurement of choosing: what was answered is learned from without a word, and the
/// next question is laid out.
fn measure_choice(
    exercising: &mut Exercising,
    duration_s: f64,
    content: &ActiveContent,
    problem: &mut Problem,
) {
    let in_view = exercising.in_view();
    let Some(choosing) = &mut exercising.choosing else { return };
    match exercising.sitting.stage() {
        Stage::Asked => choosing.pass(in_view, duration_s),
        Stage::Marked => {
            let more = match exercising.given.last() {
                Some((question, answer)) => choosing.learn(question, answer),
                None => true,
            };
            exercising.go_on();
            if !more {
                exercising.stop();
            }
        }
        Stage::Preparing if exercising.begun && exercising.sitting.question().is_none() => {
            match choosing.lay_out(content, problem) {
                Some(Ok(question)) => {
                    exercising.draft = Some(Draft::new(&question));
                    exercising.sitting.append(question);
                }
                // The reason is on screen; what was answered stays.
                Some(Err(())) => exercising.stop(),
                None => {}
            }
        }
        Stage::Preparing | Stage::Finished => {}
    }
}

/// Takes in what an attempt came to once its smile is baked and drawn.
fn judge_attempt(
    exercising: &mut Exercising,
    preparation: &Preparation,
    records: &Records,
    problem: &mut Problem,
) {
    if let Some(shown) = exercising.shown(preparation).cloned()
        && exercising.is_composing()
    {
        exercising.last_shown = Some(shown);
    }
    let (Some(Draft::Bench(draft)), Some(question)) =
        (&mut exercising.draft, exercising.sitting.question())
    else {
        return;
    };
    let Task::Bench(task) = &question.task else { return };
    if !draft.awaits {
        return;
    }
    let judged = preparation.ready(&draft.judged_case(task));
    let truth = judged.map(|prepared| prepared.scene.truth.as_ref());
    let Some(truth) = truth else { return };
    let difference = truth.map(|truth| truth.difference).unwrap_or_default();
    if let Outcome::Answer(answer) = draft.attempted(difference, task) {
        exercising.answer(answer, exercising.device, records, problem);
    }
}

/// Begins the round's rows with its first question: a round left before it leaves no trace.
fn begin_recording(exercising: &mut Exercising, records: &Records, problem: &mut Problem) {
    if exercising.recording.is_some() || exercising.in_room {
        return;
    }
    let sitting = &exercising.sitting;
    let course = exercising.course.as_ref();
    let (mode, questions) = match &exercising.choosing {
        Some(choosing) => (MEASURE, choosing.measurement().most_questions()),
        None => (PRACTICE, sitting.round().questions.len()),
    };
    match records.begin_round(sitting.round(), mode, exercising.refresh_hz, questions, course) {
        Ok(recording) => exercising.recording = Some(recording),
        Err(error) => problem.report(format!("This round is not being stored: {error}")),
    }
}

/// Works out the chart or the layers when the debrief shows them.
fn study_smile(
    mut exercising: ResMut<Exercising>,
    content: Res<ActiveContent>,
    mut problem: ResMut<Problem>,
) {
    let exercising = &mut *exercising;
    if !exercising.may_compare() || exercising.page == Page::Smile {
        return;
    }
    let (sights, in_view) = (exercising.studied(), exercising.in_view());
    let (page, stays) = (exercising.page, exercising.free.is_some());
    exercising.study.advance(page, &sights, in_view, stays, &content, &mut problem);
}

/// Looks for the best that can be reached, in free play, and takes it up.
fn search_best(
    mut exercising: ResMut<Exercising>,
    content: Res<ActiveContent>,
    mut problem: ResMut<Problem>,
) {
    let exercising = &mut *exercising;
    let Some(free) = exercising.free.as_mut().filter(|free| free.is_searching()) else { return };
    let Some(Task::Bench(task)) = exercising.sitting.question().map(|q| &q.task) else { return };
    let Some(Draft::Bench(draft)) = &mut exercising.draft else { return };
    let film_mm = draft.recipe().cement_film_mm;
    if let Some(best) = free.search(task, film_mm, &content, &mut problem) {
        draft.change(best.recipe);
    }
}

fn want_smiles(exercising: Res<Exercising>, mut preparation: ResMut<Preparation>) {
    let mut wanted = exercising.wanted();
    if preparation.is_quick() {
        wanted.extend(exercising.in_other_light());
    }
    let mut cases = Vec::new();
    for sight in &wanted {
        if !cases.contains(&&sight.case) {
            cases.push(&sight.case);
        }
    }
    // A brief view is a look at a picture: nothing may hold up its frames.
    let is_brief = exercising.sitting.stage() == Stage::Asked
        && matches!(exercising.draft, Some(Draft::Verdict))
        && exercising.may_look();
    if is_brief {
        preparation.pause();
    } else {
        preparation.want_sights(&cases, Leave::Everything);
        if exercising.is_composing() {
            preparation.hurry();
        }
    }
}
