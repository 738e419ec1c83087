//! A session of timed trials: owns the engine, turns frames and intents into its inputs, and its
//! events into stored rows.

mod keeping;
mod steering;

use crate::level::course_format::ToothNames;
use crate::play::content::ActiveContent;
use crate::play::frames::FrameTimes;
use crate::play::measuring::{Measuring, kinds_of_answer};
use crate::play::mode::{Instrument, Mode};
use crate::play::picture::PreparedScene;
use crate::play::records::Records;
use crate::play::smiles::Leave;
use crate::play::work::Workers;
use crate::results::{Recording, Sitting, StoreError};
use crate::scene::Case;
use crate::trial::{
    Engine, Event, Input, InputDevice, Phase, Plan, PlannedTrial, Progress, TrialOutcome,
};

/// What a session takes from and writes to.
#[derive(Clone, Copy)]
pub struct Desk<'a> {
    /// Where answers are kept.
    pub records: &'a Records,
    /// What is played.
    pub content: &'a ActiveContent,
    /// How long frames last.
    pub frames: &'a FrameTimes,
}

/// The session under way, or the one just finished.
#[derive(Debug)]
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
    mode: Mode,
    /// Whose step of which course it is.
    course: Option<Sitting>,
    names: ToothNames,
}

impl Session {
    /// A session at the start of `plan`, or where `recording` goes on.
    pub(crate) fn new(plan: &Plan, refresh_hz: f64, recording: Option<Recording>) -> Self {
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
            mode: Mode::of_plan(plan),
            course: None,
            names: ToothNames::Iso3950,
        }
    }

    /// The session as a step of a course.
    pub(crate) fn in_course(self, course: Option<Sitting>) -> Self {
        Self { course, ..self }
    }

    /// The session played in this way.
    pub(crate) fn in_mode(self, mode: Mode) -> Self {
        Self { mode, ..self }
    }

    /// The session with teeth named like this.
    pub(crate) fn with_names(self, names: ToothNames) -> Self {
        Self { names, ..self }
    }

    /// How teeth are named.
    #[must_use]
    pub const fn names(&self) -> ToothNames {
        self.names
    }

    /// The way that it is played.
    #[must_use]
    pub const fn mode(&self) -> &Mode {
        &self.mode
    }

    /// Whose step of which course it is.
    #[must_use]
    pub const fn course(&self) -> Option<&Sitting> {
        self.course.as_ref()
    }

    /// The trial under way.
    #[must_use]
    pub fn current(&self) -> Option<&PlannedTrial> {
        self.engine.current()
    }

    /// Writes down in an exam that the focus went or came back.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be written.
    pub fn note_focus(&mut self, focused: bool, records: &Records) -> Result<(), StoreError> {
        let (trial, recording) = (self.trial(), self.recording);
        match self.mode.exam_mut() {
            Some(log) => log.note_focus(focused, trial, recording, records),
            None => Ok(()),
        }
    }

    /// A measurement at its start, or where `recording` goes on.
    pub(crate) fn measure(
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
        session.in_mode(Mode::Measure(Instrument::Glances(Box::new(measuring))))
    }

    /// Adds the next trial of a measurement.
    pub(crate) fn append(&mut self, trial: PlannedTrial) {
        self.engine.append(trial);
    }

    /// Ends the session.
    pub(crate) fn stop(&mut self) {
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
            Phase::Response { .. } if self.mode.measuring().is_none() => current + 1,
            Phase::Debrief => current + 1,
            _ => return None,
        };
        self.plan().trials.get(next).map(|planned| &planned.case)
    }

    /// The smiles that should be in preparation now, and what may be done for them. Nothing is
    /// begun while a smile is looked at: it could cost frames.
    fn wanted(&self) -> Option<(Vec<&Case>, Leave)> {
        let next = || self.next_case().into_iter().collect();
        match (self.phase(), self.mode.measuring()) {
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
    pub(crate) fn foresee(&mut self, content: &ActiveContent, workers: &Workers) {
        let Some(measuring) = self.mode.measuring_mut() else { return };
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
        measuring.foresee(truth, outcomes, content, workers);
    }

    /// Whether time stands still while the pause menu is open. During a trial it does not: a
    /// stopped clock would be a second look at the smile.
    const fn can_stand_still(&self) -> bool {
        matches!(self.phase(), Phase::Adaptation { .. } | Phase::Preparing | Phase::Debrief)
    }
}
