//! The bridge between the app and the rules: owns the engine, turns frames and intents into its
//! inputs, and its events into stored rows and screens.

use crate::app::bench_setup::BenchBeingSet;
use crate::app::clinic_form::ClinicForm;
use crate::app::content::ActiveContent;
use crate::app::courses::{Courses, ExamLog};
use crate::app::debrief::{DebriefView, Look};
use crate::app::exercising::Exercising;
use crate::app::foresight::kinds_of_answer;
use crate::app::frames::{FrameTimes, LastFrame, Moved};
use crate::app::input::Intent;
use crate::app::lecture::{RoomIntent, RoomStage};
use crate::app::measuring::{AfterAnswer, ComposeNext, Measuring};
use crate::app::persist::{EXAM, MEASURE, PRACTICE, Records, SessionStart};
use crate::app::scenes::{BeginWork, Leave, PictureSize, Preparation, PreparedScene};
use crate::app::start::Start;
use crate::app::{AppSystems, Pause, Problem, Screen};
use crate::level::course_format::ToothNames;
use crate::measure::BLOCK_TRIALS;
use crate::results::{Recording, Sitting, SittingEvent, StoreError, TrialRow};
use crate::scene::Case;
use crate::trial::{
    Engine, Event, Input, InputDevice, Phase, Plan, PlannedTrial, Progress, Response, TrialOutcome,
};
use bevy::prelude::*;

/// The session under way, or the one just finished.
#[derive(Resource, Debug)]
pub struct Session {
    engine: Engine,
    refresh_hz: f64,
    /// The rows being written; `None` until the first fixation.
    recording: Option<Recording>,
    cursor: usize,
    shown: Option<PreparedScene>,
    last: Option<TrialOutcome>,
    cause: Option<String>,
    adapted_s: f64,
    cut_short: bool,
    in_phase_s: f64,
    /// How much longer than planned the grey before each smile but the first was, s.
    waits_s: Vec<f64>,
    /// What is measured; `None` in practice.
    measuring: Option<Measuring>,
    /// Whose step of which course it is.
    course: Option<Sitting>,
    conduct: Conduct,
    names: ToothNames,
}

/// How a session with smiles laid out beforehand is gone through.
#[derive(Debug, Clone, PartialEq)]
pub enum Conduct {
    /// A debrief after every smile.
    Practice,
    /// A form of a course: no feedback, and everything around it is written down.
    Exam(ExamLog),
    /// A room answers, and nothing is stored as anyone's answer.
    Room,
}

impl Session {
    /// A session at the start of `plan`, or where `recording` goes on.
    pub(super) fn new(plan: &Plan, refresh_hz: f64, recording: Option<Recording>) -> Self {
        let first = recording.map_or(0, |recording| recording.next_trial as usize);
        Self {
            engine: Engine::new(plan, refresh_hz, first),
            refresh_hz,
            recording,
            cursor: plan.teeth.len() / 2,
            shown: None,
            last: None,
            cause: None,
            adapted_s: 0.0,
            cut_short: false,
            in_phase_s: 0.0,
            waits_s: Vec::new(),
            measuring: None,
            course: None,
            conduct: Conduct::Practice,
            names: ToothNames::Iso3950,
        }
    }

    /// The session as a step of a course.
    pub(super) fn in_course(self, course: Option<Sitting>) -> Self {
        Self { course, ..self }
    }

    /// The session gone through in this way.
    pub(super) fn conducted(self, conduct: Conduct) -> Self {
        Self { conduct, ..self }
    }

    /// The session with teeth named like this.
    pub(super) fn with_names(self, names: ToothNames) -> Self {
        Self { names, ..self }
    }

    /// How teeth are named.
    #[must_use]
    pub const fn names(&self) -> ToothNames {
        self.names
    }

    /// How it is gone through.
    #[must_use]
    pub const fn conduct(&self) -> &Conduct {
        &self.conduct
    }

    /// Whose step of which course it is.
    #[must_use]
    pub const fn course(&self) -> Option<&Sitting> {
        self.course.as_ref()
    }

    /// Whether nobody is told how an answer went.
    #[must_use]
    pub const fn is_without_feedback(&self) -> bool {
        self.is_search() || matches!(self.conduct, Conduct::Exam(_))
    }

    /// The trial under way.
    #[must_use]
    pub fn current(&self) -> Option<&PlannedTrial> {
        self.engine.current()
    }

    /// Writes down in an exam that the focus went or came back.
    pub(super) fn note_focus(
        &mut self,
        focused: bool,
        records: &Records,
    ) -> Result<(), StoreError> {
        let (trial, recording) = (self.trial(), self.recording);
        match &mut self.conduct {
            Conduct::Exam(log) => log.note_focus(focused, trial, recording, records),
            _ => Ok(()),
        }
    }

    /// A measurement at its start, or where `recording` goes on.
    pub(super) fn measure(
        measuring: Measuring,
        adaptation_s: Option<f64>,
        refresh_hz: f64,
        recording: Option<Recording>,
    ) -> Self {
        let mut plan = measuring.measurement().plan();
        if let Some(adaptation_s) = adaptation_s {
            plan.timing.adaptation_s = adaptation_s;
        }
        let mut session = Self::new(&plan, refresh_hz, None);
        session.engine = Engine::open_ended(&plan, refresh_hz);
        session.recording = recording;
        session.measuring = Some(measuring);
        session
    }

    /// Whether smiles stay until they are searched; such a session gives no feedback.
    #[must_use]
    pub const fn is_search(&self) -> bool {
        self.plan().timing.until_seen
    }

    /// The mode's name in results.
    const fn mode(&self) -> &'static str {
        if matches!(self.conduct, Conduct::Exam(_)) {
            return EXAM;
        }
        if self.measuring.is_some() || self.is_search() { MEASURE } else { PRACTICE }
    }

    /// Whether a block is over and more smiles are to come.
    fn is_at_a_rest(&self) -> bool {
        let Progress { answered, total } = self.progress();
        if matches!(self.conduct, Conduct::Exam(_)) {
            // Forms are laid out in blocks.
            let block = |index: usize| self.plan().trials.get(index).map(|trial| trial.block);
            return answered > 0 && answered < total && block(answered) != block(answered - 1);
        }
        answered < total && answered.is_multiple_of(BLOCK_TRIALS as usize)
    }

    /// What is measured; `None` in practice.
    #[must_use]
    pub const fn measuring(&self) -> Option<&Measuring> {
        self.measuring.as_ref()
    }

    pub(super) const fn measuring_mut(&mut self) -> Option<&mut Measuring> {
        self.measuring.as_mut()
    }

    /// Adds the next trial of a measurement.
    pub(super) fn append(&mut self, trial: PlannedTrial) {
        self.engine.append(trial);
    }

    /// Ends the session.
    pub(super) fn stop(&mut self) {
        self.engine.handle(Input::Stop);
    }

    /// What the engine says is on screen.
    #[must_use]
    pub const fn phase(&self) -> Phase {
        self.engine.phase()
    }

    /// The plan.
    #[must_use]
    pub const fn plan(&self) -> &Plan {
        self.engine.plan()
    }

    /// How far the session is.
    #[must_use]
    pub fn progress(&self) -> Progress {
        self.engine.progress()
    }

    /// The number of the session in the result store, once a smile was shown.
    #[must_use]
    pub fn stored_as(&self) -> Option<i64> {
        self.recording.map(|recording| recording.session)
    }

    /// The answer row's cursor: an index into the plan's teeth, or their number for "none".
    #[must_use]
    pub const fn cursor(&self) -> usize {
        self.cursor
    }

    /// The smile of the trial under way or just answered.
    #[must_use]
    pub const fn shown(&self) -> Option<&PreparedScene> {
        self.shown.as_ref()
    }

    /// How the last trial went.
    #[must_use]
    pub const fn last_outcome(&self) -> Option<&TrialOutcome> {
        self.last.as_ref()
    }

    /// One sentence on what made the last restoration look as it did.
    #[must_use]
    pub fn cause(&self) -> Option<&str> {
        self.cause.as_deref()
    }

    /// Time in the present phase, s, counted by frames shown.
    #[must_use]
    pub const fn in_phase_s(&self) -> f64 {
        self.in_phase_s
    }

    /// The 0-based number of the trial under way.
    #[must_use]
    pub fn trial(&self) -> Option<u32> {
        self.engine.current().map(|trial| trial.trial)
    }

    /// How much longer than planned the grey before each smile but the first was, s, counted by
    /// frames shown: what the learner waited because a smile was not ready.
    #[must_use]
    pub fn waits_s(&self) -> &[f64] {
        &self.waits_s
    }

    /// The smile to show next: of the trial under way before it is shown, of the one after in the
    /// debrief and, in practice, while the answer is awaited.
    #[must_use]
    pub fn next_case(&self) -> Option<&Case> {
        let current = self.engine.index();
        let next = match self.phase() {
            Phase::Adaptation { .. } | Phase::Preparing => current,
            Phase::Response { .. } if self.measuring.is_none() => current + 1,
            Phase::Debrief => current + 1,
            _ => return None,
        };
        self.plan().trials.get(next).map(|planned| &planned.case)
    }

    /// The smiles that should be in preparation now, and what may be done for them. Nothing is
    /// begun while a smile is looked at: it could cost frames.
    fn wanted(&self) -> Option<(Vec<&Case>, Leave)> {
        let next = || self.next_case().into_iter().collect();
        match (self.phase(), &self.measuring) {
            (Phase::Adaptation { .. } | Phase::Preparing | Phase::Debrief, _) => {
                Some((next(), Leave::Everything))
            }
            (Phase::Response { .. }, None) => Some((next(), Leave::Quietly)),
            (Phase::Response { .. }, Some(measuring)) => {
                Some((measuring.foreseen(), Leave::Quietly))
            }
            (Phase::Finished, _) => Some((Vec::new(), Leave::Nothing)),
            (Phase::Fixation | Phase::Exposure | Phase::Mask, _) => None,
        }
    }

    /// Composes the smiles that may follow the answer awaited.
    pub(super) fn foresee(&mut self, content: &ActiveContent) {
        let Some(measuring) = &mut self.measuring else { return };
        let truth = self.shown.as_ref().and_then(|shown| shown.scene.truth.as_ref());
        let engine = &self.engine;
        let outcomes = || {
            let odd = engine.current().and_then(|trial| trial.case.odd_tooth());
            let supposed = |response| {
                let answer = Input::Answer(response, InputDevice::Keyboard);
                let events = engine.clone().handle(answer);
                events.into_iter().find_map(|event| match event {
                    Event::Completed(outcome) => Some(outcome),
                    Event::Entered(_) => None,
                })
            };
            kinds_of_answer(odd, &engine.plan().teeth).into_iter().filter_map(supposed).collect()
        };
        measuring.foresee(truth, outcomes, content);
    }

    /// Whether time stands still while the pause menu is open. During a trial it does not: a
    /// stopped clock would be a second look at the smile.
    const fn can_stand_still(&self) -> bool {
        matches!(self.phase(), Phase::Adaptation { .. } | Phase::Preparing | Phase::Debrief)
    }
}

/// The measured session whose result is to be shown.
#[derive(Resource, Debug, Clone, Copy, PartialEq, Eq)]
pub struct MeasuredSession(pub i64);

/// The session of a measurement of choosing whose result is asked for.
#[derive(Resource, Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShownChoice(pub i64);

/// The steps that take a running session on, within [`AppSystems::Advance`].
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) struct AdvanceSession;

pub(super) fn plugin(app: &mut App) {
    app.init_resource::<DebriefView>()
        .add_systems(
            Update,
            (
                show_frame.run_if(resource_exists::<Session>),
                apply_intents,
                follow_phase.run_if(resource_exists::<Session>),
            )
                .chain()
                .in_set(AppSystems::Advance)
                .in_set(AdvanceSession),
        )
        .add_systems(
            Update,
            prepare_scenes
                .run_if(resource_exists::<Session>)
                .in_set(AppSystems::Prepare)
                .after(ComposeNext)
                .before(BeginWork),
        );
}

/// Reports the frame that has just ended, and the picture when it is there.
fn show_frame(
    mut session: ResMut<Session>,
    last: Res<LastFrame>,
    frames: Res<FrameTimes>,
    pause: Res<State<Pause>>,
    preparation: Res<Preparation>,
    records: Res<Records>,
    content: Res<ActiveContent>,
    mut problem: ResMut<Problem>,
) {
    if *pause.get() == Pause::Paused && session.can_stand_still() {
        return;
    }
    let duration_s = last.0.as_secs_f64();
    let before = session.phase();
    session.in_phase_s += duration_s;
    if matches!(before, Phase::Adaptation { .. }) {
        session.adapted_s += duration_s;
    }
    if let Some(measuring) = session.measuring_mut() {
        measuring.pass(before, duration_s);
    }
    let mut events = Vec::new();
    if matches!(before, Phase::Adaptation { .. } | Phase::Preparing)
        && preparation.is_settled()
        && let Some(prepared) = session.next_case().and_then(|case| preparation.ready(case))
    {
        session.shown = Some(prepared.clone());
        events.extend(session.engine.handle(Input::PictureReady));
    }
    events.extend(session.engine.handle(Input::FrameShown { duration_s }));
    take_in(&mut session, &events, &records, &content, &frames, &mut problem);
}

/// Stores what the engine completed and resets what a new phase resets.
fn take_in(
    session: &mut Session,
    events: &[Event],
    records: &Records,
    content: &ActiveContent,
    frames: &FrameTimes,
    problem: &mut Problem,
) {
    for event in events {
        match event {
            Event::Entered(phase) => {
                let lasted_s = std::mem::take(&mut session.in_phase_s);
                if matches!(phase, Phase::Fixation) {
                    if session.last.is_some() {
                        let gap_s = session.plan().timing.gap_s;
                        session.waits_s.push((lasted_s - gap_s).max(0.0));
                    }
                    session.cursor = session.plan().teeth.len() / 2;
                    begin_recording(session, records, problem);
                    note_shown(session, records, problem);
                }
            }
            Event::Completed(outcome) => {
                session.last = Some(*outcome);
                if session.measuring.is_some() {
                    measure(session, outcome, records, frames, problem);
                } else {
                    store(session, outcome, records, content, problem);
                    if session.is_without_feedback() && !session.is_at_a_rest() {
                        session.engine.handle(Input::Continue);
                    }
                }
            }
        }
    }
}

/// Begins the session's rows with its first fixation: only now is it known how long the eyes
/// adapted, and a session left before its first smile leaves no trace.
fn begin_recording(session: &mut Session, records: &Records, problem: &mut Problem) {
    if session.recording.is_some() || session.conduct == Conduct::Room {
        return;
    }
    let start = SessionStart {
        plan: session.plan(),
        mode: session.mode(),
        refresh_hz: session.refresh_hz,
        adapted_s: session.adapted_s,
        cut_short: session.cut_short,
        sitting: session.course.as_ref(),
    };
    let begun = match &session.measuring {
        Some(m) => records.begin_measurement(&start, m.measurement(), m.display()),
        None => records.begin(&start),
    };
    match begun {
        Ok(recording) => {
            session.recording = Some(recording);
            if let Conduct::Exam(log) = &mut session.conduct
                && let Err(error) = log.start(recording, records)
            {
                problem.report(format!("The start was not stored: {error}"));
            }
        }
        Err(error) => problem.report(format!("This session is not being stored: {error}")),
    }
}

/// Writes down, in an exam, that a smile's cross came. Whoever leaves from here on has seen it.
fn note_shown(session: &Session, records: &Records, problem: &mut Problem) {
    let (Conduct::Exam(_), Some(recording)) = (&session.conduct, session.recording) else { return };
    if let Err(error) = records.log(recording.session, SittingEvent::Shown, session.trial(), None) {
        problem.report(format!("The start of this smile was not stored: {error}"));
    }
}

fn store(
    session: &mut Session,
    outcome: &TrialOutcome,
    records: &Records,
    content: &ActiveContent,
    problem: &mut Problem,
) {
    let Some(shown) = session.shown.clone() else { return };
    let Some(planned) = session.plan().trials.get(outcome.trial as usize).cloned() else { return };
    if !session.is_without_feedback() {
        session.cause = content.0.cause(&planned.case, &shown.scene, outcome.response);
    }
    let Some(recording) = session.recording else { return };
    let truth = shown.scene.truth.as_ref();
    let pictures = truth.and_then(|t| shown.restored.difference_to(&shown.twin, t.tooth));
    let mut row = TrialRow::glance(session.plan(), session.mode(), &planned, outcome, truth)
        .with_pictures(pictures);
    if let Conduct::Exam(log) = &session.conduct
        && let Some(key) = log.seed_key(outcome.trial)
    {
        key.clone_into(&mut row.seed_key);
    }
    if let Err(error) = records.append(recording, &row) {
        problem.report(format!("This answer was not stored: {error}"));
    }
}

/// Takes a measured answer in: no feedback, then the next smile, a rest or the end.
fn measure(
    session: &mut Session,
    outcome: &TrialOutcome,
    records: &Records,
    frames: &FrameTimes,
    problem: &mut Problem,
) {
    let Some(shown) = session.shown.clone() else { return };
    let Some(planned) = session.plan().trials.get(session.engine.index()).cloned() else { return };
    let truth = shown.scene.truth.as_ref();
    let row = TrialRow::glance(session.plan(), session.mode(), &planned, outcome, truth);
    let refresh_hz = frames.refresh_hz().unwrap_or(session.refresh_hz);
    let recording = session.recording;
    let Some(measuring) = &mut session.measuring else { return };
    let taken = measuring.take(&row, truth, outcome, refresh_hz, |row, trial, posterior| {
        recording.map_or(Ok(()), |to| records.append_measured(to, row, trial, posterior))
    });
    let input = match taken {
        Ok(AfterAnswer::GoOn) => Some(Input::Continue),
        Ok(AfterAnswer::Rest) => None,
        Ok(AfterAnswer::End) => Some(Input::Stop),
        Err(error) => {
            problem.report(format!("The measurement cannot go on: {error}"));
            Some(Input::Stop)
        }
    };
    if let Some(input) = input {
        session.engine.handle(input);
        session.in_phase_s = 0.0;
    }
}

/// The one place where intents change anything.
pub fn apply_intents(
    mut commands: Commands,
    mut intents: ResMut<Messages<Intent>>,
    mut session: Option<ResMut<Session>>,
    mut exercising: Option<ResMut<Exercising>>,
    (mut setup, mut form): (ResMut<BenchBeingSet>, ResMut<ClinicForm>),
    mut view: ResMut<DebriefView>,
    mut problem: ResMut<Problem>,
    records: Res<Records>,
    content: Res<ActiveContent>,
    frames: Res<FrameTimes>,
    mut screen: ResMut<NextState<Screen>>,
    mut pause: ResMut<NextState<Pause>>,
    mut exit: MessageWriter<AppExit>,
    mut courses: Courses,
) {
    for intent in intents.drain() {
        // Whoever goes elsewhere no longer waits for what was to open here.
        if leads_elsewhere(&intent) {
            courses.pending().withdraw();
        }
        match intent {
            Intent::StartLevel(level) => courses.pending().ask(Start::New(level)),
            Intent::ContinueLevel(level) => courses.pending().ask(Start::Unfinished(level)),
            Intent::OpenMeasure => screen.set(Screen::MeasureSetup),
            Intent::StartMeasure(choice) => courses.pending().ask(Start::Measure(choice)),
            Intent::ContinueMeasure(number) => {
                courses.pending().ask(Start::UnfinishedMeasure(number));
            }
            Intent::ShowMeasured(number) => {
                commands.insert_resource(MeasuredSession(number));
                screen.set(Screen::Measured);
            }
            Intent::ContinueChoice(number) => {
                courses.pending().ask(Start::UnfinishedChoice(number));
            }
            Intent::ShowChoice(number) => {
                commands.insert_resource(ShownChoice(number));
                screen.set(Screen::Summary);
            }
            Intent::OpenBenchSetup => screen.set(Screen::BenchSetup),
            Intent::OpenClinicForm => screen.set(Screen::ClinicForm),
            Intent::Setup(intent) => setup.handle(intent, &content, courses.pending()),
            Intent::Form(intent) => form.handle(intent, &content, courses.pending()),
            Intent::OpenAbout => screen.set(Screen::About),
            Intent::BackToTitle => screen.set(courses.back(&mut commands)),
            Intent::OpenCourses => screen.set(Screen::Courses),
            Intent::ToggleFullScreen => courses.toggle_full_screen(),
            Intent::Course(intent) => {
                courses.handle(intent, &mut commands, &records, &mut screen, &mut problem);
            }
            Intent::Room(RoomIntent::Close) => {
                close_question(&mut courses, session.as_deref_mut(), exercising.as_deref());
            }
            Intent::Room(intent) => {
                courses.handle_room(intent, &mut commands, &records, &mut screen, &mut problem);
                pause.set(Pause::Running);
            }
            // The room sees the solution first.
            Intent::Continue
                if courses
                    .lecture()
                    .is_some_and(|lecture| lecture.stage() == RoomStage::Closed) => {}
            Intent::Quit => {
                exit.write(AppExit::Success);
            }
            Intent::ToggleTwin => view.toggle(),
            Intent::ToggleAutoBlink => view.toggle_blink(),
            Intent::ToggleValueOnly => view.value_only = !view.value_only,
            Intent::ToggleOutlines => view.outlines = !view.outlines,
            Intent::ToggleMap | Intent::ToggleSideBySide
                if exercising.is_none() && !has_twin(session.as_deref()) => {}
            Intent::ToggleMap => view.toggle_look(Look::Map),
            Intent::ToggleSideBySide => view.toggle_look(Look::SideBySide),
            Intent::Pause => pause.set(Pause::Paused),
            Intent::Resume => pause.set(Pause::Running),
            Intent::DismissProblem => problem.0 = None,
            Intent::Exercise(intent) => {
                if let Some(exercising) = exercising.as_deref_mut() {
                    exercising.handle(intent, &records, &mut problem);
                }
            }
            Intent::Continue if exercising.is_some() => {
                if let Some(exercising) = exercising.as_deref_mut() {
                    exercising.go_on();
                }
            }
            Intent::StopSession if exercising.is_some() => {
                if let Some(exercising) = exercising.as_deref_mut() {
                    exercising.stop();
                }
                pause.set(Pause::Running);
            }
            trial_intent => {
                if let Some(session) = session.as_deref_mut() {
                    let events = steer(session, &trial_intent);
                    take_in(session, &events, &records, &content, &frames, &mut problem);
                }
                if trial_intent == Intent::StopSession {
                    pause.set(Pause::Running);
                }
            }
        }
    }
}

/// Whether an intent goes to another screen.
const fn leads_elsewhere(intent: &Intent) -> bool {
    matches!(
        intent,
        Intent::OpenMeasure
            | Intent::ShowMeasured(_)
            | Intent::ShowChoice(_)
            | Intent::OpenBenchSetup
            | Intent::OpenClinicForm
            | Intent::OpenAbout
            | Intent::OpenCourses
            | Intent::BackToTitle
    )
}

/// Takes no more answers of a room.
fn close_question(
    courses: &mut Courses<'_>,
    session: Option<&mut Session>,
    exercising: Option<&Exercising>,
) {
    let Some(lecture) = courses.lecture() else { return };
    match (session, exercising) {
        (_, Some(exercising)) => lecture.close_question(exercising),
        (Some(session), None) => {
            // The smile is over; what the room answered is the poll's.
            let answer = Input::Answer(Response::None, InputDevice::Simulated);
            for event in session.engine.handle(answer) {
                if let Event::Completed(outcome) = event {
                    session.last = Some(outcome);
                }
            }
        }
        (None, None) => {}
    }
}

/// Whether the smile on screen has a restored tooth to compare with its twin.
fn has_twin(session: Option<&Session>) -> bool {
    session.and_then(Session::shown).is_some_and(|shown| shown.scene.truth.is_some())
}

/// Applies an intent that belongs to a trial.
fn steer(session: &mut Session, intent: &Intent) -> Vec<Event> {
    let teeth = session.plan().teeth.len();
    match *intent {
        Intent::StartNow => start_now(session),
        Intent::MoveCursor(by) => {
            let cells = teeth as i32 + 1;
            session.cursor = (session.cursor as i32 + by).rem_euclid(cells) as usize;
            Vec::new()
        }
        Intent::AnswerAtCursor => answer_place(session, session.cursor),
        Intent::AnswerPlace(place) if place < teeth => answer_place(session, place),
        Intent::Answer(tooth, device) => {
            let response = tooth.map_or(Response::None, Response::Tooth);
            session.engine.handle(Input::Answer(response, device))
        }
        Intent::Seen => session.engine.handle(Input::Seen),
        Intent::Continue => session.engine.handle(Input::Continue),
        Intent::StopSession => session.engine.handle(Input::Stop),
        _ => Vec::new(),
    }
}

fn answer_place(session: &mut Session, place: usize) -> Vec<Event> {
    let response = session.plan().teeth.get(place).map_or(Response::None, |t| Response::Tooth(*t));
    session.engine.handle(Input::Answer(response, InputDevice::Keyboard))
}

/// Ends the adaptation: the engine starts over, at the same trial, without one.
fn start_now(session: &mut Session) -> Vec<Event> {
    if let Phase::Adaptation { .. } = session.phase() {
        let mut plan = session.plan().clone();
        plan.timing.adaptation_s = 0.0;
        let answered = session.progress().answered;
        session.engine = if session.measuring.is_some() {
            Engine::open_ended(&plan, session.refresh_hz)
        } else {
            Engine::new(&plan, session.refresh_hz, answered)
        };
        session.cut_short = true;
    }
    Vec::new()
}

/// Moves between screens when the engine's phase asks for it.
fn follow_phase(
    mut commands: Commands,
    mut session: ResMut<Session>,
    screen: Res<State<Screen>>,
    mut next: ResMut<NextState<Screen>>,
    mut pause: ResMut<NextState<Pause>>,
    mut view: ResMut<DebriefView>,
    mut preparation: ResMut<Preparation>,
    records: Res<Records>,
    mut problem: ResMut<Problem>,
    moved: Res<Moved>,
) {
    if *screen.get() != Screen::Trial {
        return;
    }
    match session.phase() {
        Phase::Debrief => view.tick(moved.0.as_secs_f64()),
        Phase::Finished => {
            preparation.clear();
            log_waits(&session.waits_s);
            finish_recording(&session, &records, &mut problem);
            pause.set(Pause::Running);
            note_left(&session, &records, &mut problem);
            match (&session.measuring, session.recording) {
                _ if session.conduct == Conduct::Room => next.set(Screen::Lecture),
                _ if matches!(session.conduct, Conduct::Exam(_)) => next.set(Screen::Course),
                (Some(_), Some(recording)) => {
                    commands.insert_resource(MeasuredSession(recording.session));
                    next.set(Screen::Measured);
                }
                (Some(_), None) => next.set(Screen::MeasureSetup),
                (None, _) => next.set(Screen::Summary),
            }
        }
        _ => *view = DebriefView::default(),
    }
    let is_due = matches!(session.phase(), Phase::Adaptation { .. } | Phase::Preparing);
    if is_due && session.next_case().is_some_and(|case| preparation.has_failed(case)) {
        session.engine.handle(Input::Stop);
    }
}

/// Writes down that a learner left a form before its end.
fn note_left(session: &Session, records: &Records, problem: &mut Problem) {
    let Progress { answered, total } = session.progress();
    if let (Conduct::Exam(_), Some(recording)) = (&session.conduct, session.recording)
        && answered < total
    {
        let next = Some(answered as u32);
        if let Err(error) = records.log(recording.session, SittingEvent::Left, next, None) {
            problem.report(error.to_string());
        }
    }
}

/// A session that was stopped half-way stays open, so that it can be continued.
fn finish_recording(session: &Session, records: &Records, problem: &mut Problem) {
    if let (Some(measuring), Some(recording)) = (&session.measuring, session.recording) {
        // One that the learner left can be taken up again.
        if measuring.is_over()
            && let Err(error) = records.end_measurement(recording, measuring.ended().name())
        {
            problem.report(error.to_string());
        }
        return;
    }
    let progress = session.progress();
    if let Some(recording) = session.recording
        && progress.answered >= progress.total
        && let Err(error) = records.finish(recording)
    {
        problem.report(error.to_string());
    }
}

/// Says how long the learner waited for smiles.
fn log_waits(waits_s: &[f64]) {
    let mut sorted = waits_s.to_vec();
    sorted.sort_by(f64::total_cmp);
    if let Some(longest_s) = sorted.last() {
        info!(
            "waited for {} smiles beyond the planned grey: median {:.0} ms, longest {:.0} ms",
            sorted.len(),
            1000.0 * sorted[sorted.len() / 2],
            1000.0 * longest_s
        );
    }
}

fn prepare_scenes(
    mut session: ResMut<Session>,
    mut preparation: ResMut<Preparation>,
    size: Res<PictureSize>,
) {
    let session = session.bypass_change_detection();
    // In the debrief the smile follows the window's size.
    let is_shown = session.phase() == Phase::Debrief
        && session.measuring.is_none()
        && !session.is_without_feedback();
    let outdated = session.shown.as_ref().filter(|shown| is_shown && shown.size() != size.0);
    let again = outdated.zip(session.engine.current().map(|planned| &planned.case));
    match (session.wanted(), again) {
        (Some((mut cases, leave)), Some((shown, case))) => {
            cases.insert(0, case);
            preparation.want(&cases, leave);
            preparation.take_up(case, shown);
            let drawn = preparation.ready(case).filter(|drawn| drawn.size() == size.0);
            if let Some(drawn) = drawn.cloned() {
                session.shown = Some(drawn);
            }
        }
        (Some((cases, leave)), None) => preparation.want(&cases, leave),
        (None, _) => preparation.pause(),
    }
}
