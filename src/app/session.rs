//! The bridge between the app and the rules: owns the engine, turns frames and intents into its
//! inputs, and its events into stored rows and screens.

use crate::app::content::ActiveContent;
use crate::app::debrief::{DebriefView, Look};
use crate::app::frames::{FrameTimes, LastFrame};
use crate::app::input::Intent;
use crate::app::measuring::{AfterAnswer, Measuring};
use crate::app::persist::{MEASURE, PRACTICE, Records, SessionStart};
use crate::app::scenes::{Preparation, PreparedScene};
use crate::app::start::PendingStart;
use crate::app::{AppSystems, Pause, Problem, Screen};
use crate::measure::BLOCK_TRIALS;
use crate::results::{Recording, TrialRow};
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
    /// What is measured; `None` in practice.
    measuring: Option<Measuring>,
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
            measuring: None,
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
        if self.measuring.is_some() || self.is_search() { MEASURE } else { PRACTICE }
    }

    /// Whether a block is over and more smiles are to come.
    fn is_at_a_rest(&self) -> bool {
        let Progress { answered, total } = self.progress();
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

    /// The trial whose smile should be in preparation now: an index into the plan's trials.
    fn wanted_trial(&self) -> Option<usize> {
        let current = self.engine.index();
        let wanted = match self.phase() {
            Phase::Adaptation { .. } | Phase::Preparing => current,
            // Computing the next smile while this one is explained keeps the grey gap short.
            // Never during an exposure: it could cost frames.
            Phase::Debrief => current + 1,
            _ => return None,
        };
        (wanted < self.plan().trials.len()).then_some(wanted)
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
            prepare_scene.run_if(resource_exists::<Session>).in_set(AppSystems::Prepare),
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
    if let Some(trial) = session.wanted_trial()
        && !matches!(before, Phase::Debrief)
        && let Some(prepared) = preparation.ready(trial)
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
                session.in_phase_s = 0.0;
                if matches!(phase, Phase::Fixation) {
                    session.cursor = session.plan().teeth.len() / 2;
                    begin_recording(session, records, problem);
                }
            }
            Event::Completed(outcome) => {
                session.last = Some(*outcome);
                if session.measuring.is_some() {
                    measure(session, outcome, records, frames, problem);
                } else {
                    store(session, outcome, records, content, problem);
                    if session.is_search() && !session.is_at_a_rest() {
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
    if session.recording.is_some() {
        return;
    }
    let start = SessionStart {
        plan: session.plan(),
        mode: session.mode(),
        refresh_hz: session.refresh_hz,
        adapted_s: session.adapted_s,
        cut_short: session.cut_short,
    };
    let begun = match &session.measuring {
        Some(m) => records.begin_measurement(&start, m.measurement(), m.display()),
        None => records.begin(&start),
    };
    match begun {
        Ok(recording) => session.recording = Some(recording),
        Err(error) => problem.report(format!("This session is not being stored: {error}")),
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
    session.cause = content.0.cause(&planned.case, &shown.scene, outcome.response);
    let Some(recording) = session.recording else { return };
    let truth = shown.scene.truth.as_ref();
    let pictures = truth.and_then(|t| shown.restored.difference_to(&shown.twin, t.tooth));
    let row = TrialRow::glance(session.plan(), session.mode(), &planned, outcome, truth)
        .with_pictures(pictures);
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
    mut pending: ResMut<PendingStart>,
    mut view: ResMut<DebriefView>,
    mut problem: ResMut<Problem>,
    records: Res<Records>,
    content: Res<ActiveContent>,
    frames: Res<FrameTimes>,
    mut screen: ResMut<NextState<Screen>>,
    mut pause: ResMut<NextState<Pause>>,
    mut exit: MessageWriter<AppExit>,
) {
    for intent in intents.drain() {
        match intent {
            Intent::StartLevel(level) => *pending = PendingStart::New(level),
            Intent::ContinueLevel(level) => *pending = PendingStart::Unfinished(level),
            Intent::OpenMeasure => screen.set(Screen::MeasureSetup),
            Intent::StartMeasure(choice) => *pending = PendingStart::Measure(choice),
            Intent::ContinueMeasure(number) => *pending = PendingStart::UnfinishedMeasure(number),
            Intent::ShowMeasured(number) => {
                commands.insert_resource(MeasuredSession(number));
                screen.set(Screen::Measured);
            }
            Intent::OpenAbout => screen.set(Screen::About),
            Intent::BackToTitle => screen.set(Screen::Title),
            Intent::Quit => {
                exit.write(AppExit::Success);
            }
            Intent::ToggleTwin => view.toggle(),
            Intent::ToggleAutoBlink => view.toggle_blink(),
            Intent::ToggleValueOnly => view.value_only = !view.value_only,
            Intent::ToggleOutlines => view.outlines = !view.outlines,
            Intent::ToggleMap | Intent::ToggleSideBySide if !has_twin(session.as_deref()) => {}
            Intent::ToggleMap => view.toggle_look(Look::Map),
            Intent::ToggleSideBySide => view.toggle_look(Look::SideBySide),
            Intent::Pause => pause.set(Pause::Paused),
            Intent::Resume => pause.set(Pause::Running),
            Intent::DismissProblem => problem.0 = None,
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
    last: Res<LastFrame>,
) {
    if *screen.get() != Screen::Trial {
        return;
    }
    match session.phase() {
        Phase::Debrief => view.tick(last.0.as_secs_f64()),
        Phase::Finished => {
            preparation.clear();
            finish_recording(&session, &records, &mut problem);
            pause.set(Pause::Running);
            match (&session.measuring, session.recording) {
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
    let failed = session.wanted_trial().is_some_and(|trial| preparation.has_failed(trial));
    if failed && !matches!(session.phase(), Phase::Debrief) {
        session.engine.handle(Input::Stop);
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

fn prepare_scene(
    session: Res<Session>,
    content: Res<ActiveContent>,
    mut preparation: ResMut<Preparation>,
) {
    if let Some(index) = session.wanted_trial()
        && let Some(planned) = session.plan().trials.get(index)
    {
        preparation.begin(index, &planned.case, &content);
    }
}
