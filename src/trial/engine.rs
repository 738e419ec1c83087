//! The trial state machine.
//!
//! ```text
//! Adaptation → Preparing → Fixation → Exposure → Mask → Response → Debrief
//!                  ↑                                        Continue │
//!                  └─────────────────────────────────────────────────┘  … → Finished
//! ```
//!
//! # How time is counted
//! The engine has no clock. After each displayed frame the caller reports how long that frame was
//! on screen, while the engine is still in the phase the frame belonged to. Every phase but the
//! debrief lasts a whole number of refresh periods; it ends with the frame that brings its
//! time on screen within half a period of that number. On a display that keeps up, this is
//! exactly counting frames. On one that does not, the picture still goes away on time, in fewer
//! and longer frames, and the [`Exposure`] says so: `shown_frames` below `requested_frames`, and
//! the missing ones in `dropped_frames`.
//!
//! # Answers
//! The response window opens with the mask. An answer during the mask ends the trial at once. An
//! answer at any earlier time is ignored: it could only be a guess or a key pressed too
//! long, and would cut the exposure short. Answers naming a tooth that is not in the
//! plan are ignored too.

use super::phase::{Event, Input, Phase, Progress};
use crate::random::{Purpose, StreamKey};
use crate::trial::{
    Exposure, InputDevice, Onsets, Plan, PlannedTrial, Response, TrialOutcome, Verdict,
};
use rand::RngExt;

/// A frame longer than this many refresh periods missed at least one refresh.
const LONG_FRAME_PERIODS: f64 = 1.2;

/// Steps through a [`Plan`].
#[derive(Debug, Clone)]
pub struct Engine {
    plan: Plan,
    refresh_hz: f64,
    /// Whether trials are added while the session runs.
    open_ended: bool,
    /// Index of the trial under way or next.
    at: usize,
    /// Trials over.
    answered: usize,
    phase: Phase,
    /// Time in the present phase, s.
    in_phase_s: f64,
    /// Time since the engine was made, s.
    now_s: f64,
    picture_ready: bool,
    /// Grey due before the next fixation, s.
    gap_s: f64,
    fixation_s: f64,
    onsets: Onsets,
    exposure: Exposure,
}

impl Engine {
    /// An engine at the start of `plan`, or at trial index `first_trial` when a session is taken
    /// up again. It begins with adaptation either way; it is finished at once when no trial is
    /// left.
    ///
    /// `refresh_hz` is the display's measured refresh rate. A rate that is not finite or not above
    /// 0 is taken as 60 Hz.
    #[must_use]
    pub fn new(plan: &Plan, refresh_hz: f64, first_trial: usize) -> Self {
        Self::start(plan, refresh_hz, first_trial, false)
    }

    /// An engine whose trials come one by one through [`append`](Self::append), each perhaps only
    /// once the one before is answered. It never finishes by itself: [`Input::Stop`] ends it.
    #[must_use]
    pub fn open_ended(plan: &Plan, refresh_hz: f64) -> Self {
        Self::start(plan, refresh_hz, 0, true)
    }

    fn start(plan: &Plan, refresh_hz: f64, first_trial: usize, open_ended: bool) -> Self {
        let refresh_hz = if refresh_hz.is_finite() && refresh_hz > 0.0 { refresh_hz } else { 60.0 };
        let phase = if open_ended || first_trial < plan.trials.len() {
            Phase::Adaptation { remaining_s: plan.timing.adaptation_s.max(0.0) }
        } else {
            Phase::Finished
        };
        Self {
            refresh_hz,
            open_ended,
            at: first_trial.min(plan.trials.len()),
            answered: first_trial.min(plan.trials.len()),
            phase,
            in_phase_s: 0.0,
            now_s: 0.0,
            picture_ready: false,
            gap_s: 0.0,
            fixation_s: 0.0,
            onsets: Onsets::default(),
            exposure: no_exposure(plan.timing.exposure_s, refresh_hz),
            plan: plan.clone(),
        }
    }

    /// The present phase.
    #[must_use]
    pub const fn phase(&self) -> Phase {
        self.phase
    }

    /// The trial under way: through the debrief the one just answered, from then on the next.
    /// `None` once finished.
    #[must_use]
    pub fn current(&self) -> Option<&PlannedTrial> {
        match self.phase {
            Phase::Finished => None,
            _ => self.plan.trials.get(self.at),
        }
    }

    /// Adds a trial at the end of the plan.
    pub fn append(&mut self, trial: PlannedTrial) {
        self.plan.trials.push(trial);
    }

    /// The place in the plan of the trial under way or next: its number of trials where the next
    /// one is still to be appended.
    #[must_use]
    pub const fn index(&self) -> usize {
        self.at
    }

    /// How far the session is.
    #[must_use]
    pub fn progress(&self) -> Progress {
        Progress { answered: self.answered, total: self.plan.trials.len() }
    }

    /// The plan.
    #[must_use]
    pub const fn plan(&self) -> &Plan {
        &self.plan
    }

    /// Takes in what happened and returns what follows from it, in order.
    pub fn handle(&mut self, input: Input) -> Vec<Event> {
        let mut events = Vec::new();
        match (input, self.phase) {
            (_, Phase::Finished) => {}
            (Input::Stop, _) => self.enter(Phase::Finished, &mut events),
            (Input::FrameShown { duration_s }, _) => self.frame(duration_s, &mut events),
            (Input::PictureReady, Phase::Adaptation { .. } | Phase::Preparing)
                if self.at < self.plan.trials.len() =>
            {
                self.picture_ready = true;
                self.leave_preparing_if_due(&mut events);
            }
            (Input::Answer(response, device), Phase::Mask | Phase::Response { .. })
                if self.can_be_answered(response) =>
            {
                self.complete(response, Some(device), &mut events);
            }
            (Input::Seen, Phase::Exposure) if self.plan.timing.until_seen => {
                self.enter(Phase::Mask, &mut events);
            }
            (Input::Answer(Response::None, device), Phase::Exposure)
                if self.plan.timing.until_seen =>
            {
                self.onsets.mask_s = self.now_s;
                self.complete(Response::None, Some(device), &mut events);
            }
            (Input::Continue, Phase::Debrief) => {
                self.at += 1;
                self.picture_ready = false;
                self.gap_s = self.plan.timing.gap_s;
                let next = if self.open_ended || self.at < self.plan.trials.len() {
                    Phase::Preparing
                } else {
                    Phase::Finished
                };
                self.enter(next, &mut events);
            }
            _ => {}
        }
        events
    }

    fn frame(&mut self, duration_s: f64, events: &mut Vec<Event>) {
        let duration_s = if duration_s.is_finite() && duration_s > 0.0 { duration_s } else { 0.0 };
        self.now_s += duration_s;
        self.in_phase_s += duration_s;
        let timing = self.plan.timing;
        match self.phase {
            Phase::Adaptation { .. } => {
                let remaining_s = (timing.adaptation_s - self.in_phase_s).max(0.0);
                self.phase = Phase::Adaptation { remaining_s };
                if self.has_lasted(timing.adaptation_s) {
                    self.enter(Phase::Preparing, events);
                    self.leave_preparing_if_due(events);
                }
            }
            Phase::Preparing => self.leave_preparing_if_due(events),
            Phase::Fixation => {
                if self.has_lasted(self.fixation_s) {
                    self.exposure = no_exposure(timing.exposure_s, self.refresh_hz);
                    self.enter(Phase::Exposure, events);
                }
            }
            Phase::Exposure => {
                self.count_exposure_frame(duration_s);
                if self.has_lasted(timing.exposure_s) {
                    if timing.until_seen {
                        // Letting it run means "none".
                        self.onsets.mask_s = self.now_s;
                        self.complete(Response::None, None, events);
                    } else {
                        self.enter(Phase::Mask, events);
                    }
                }
            }
            Phase::Mask => {
                if self.has_lasted(timing.mask_s) {
                    let remaining_s = self.response_remaining_s();
                    self.enter(Phase::Response { remaining_s }, events);
                }
            }
            Phase::Response { .. } => {
                let remaining_s = self.response_remaining_s();
                self.phase = Phase::Response { remaining_s };
                if remaining_s <= 0.0 {
                    self.complete(Response::Timeout, None, events);
                }
            }
            Phase::Debrief | Phase::Finished => {}
        }
    }

    /// Whether the present phase has been on screen for `wanted_s`, rounded to whole refresh
    /// periods (at least one), give or take half a period.
    fn has_lasted(&self, wanted_s: f64) -> bool {
        let periods = f64::from(whole_periods(wanted_s, self.refresh_hz));
        // The slack keeps rounding of sums of 1/60 s from costing a frame either way.
        self.in_phase_s * self.refresh_hz >= periods - 0.5
    }

    fn count_exposure_frame(&mut self, duration_s: f64) {
        let periods = duration_s * self.refresh_hz;
        let exposure = &mut self.exposure;
        exposure.shown_frames += 1;
        exposure.longest_frame_ms = exposure.longest_frame_ms.max(duration_s * 1000.0);
        if periods > LONG_FRAME_PERIODS {
            exposure.dropped_frames =
                exposure.dropped_frames.saturating_add((periods.round() as u32 - 1).max(1));
        }
    }

    fn response_remaining_s(&self) -> f64 {
        (self.plan.timing.response_s - (self.now_s - self.onsets.mask_s)).max(0.0)
    }

    fn leave_preparing_if_due(&mut self, events: &mut Vec<Event>) {
        let due = matches!(self.phase, Phase::Preparing) && self.picture_ready;
        if due && (self.gap_s <= 0.0 || self.in_phase_s >= self.gap_s) {
            self.fixation_s = self.draw_fixation_s();
            self.enter(Phase::Fixation, events);
        }
    }

    /// The trial's own fixation time, the same whenever it is asked for.
    fn draw_fixation_s(&self) -> f64 {
        let (shortest, longest) = self.plan.timing.fixation_s;
        let Some(trial) = self.plan.trials.get(self.at) else { return shortest };
        // A form name of its own keeps the jitter apart from the draws that made the schedule.
        let form = format!("{}/fixation", self.plan.level_id);
        let key = StreamKey {
            form: &form,
            seed: self.plan.seed,
            purpose: Purpose::Schedule,
            block: trial.block,
            trial: trial.trial,
        };
        shortest + (longest - shortest) * key.stream().random::<f64>()
    }

    fn can_be_answered(&self, response: Response) -> bool {
        match response {
            Response::Tooth(tooth) => self.plan.teeth.contains(&tooth),
            Response::None => true,
            Response::Timeout => false,
        }
    }

    fn complete(
        &mut self,
        response: Response,
        input_device: Option<InputDevice>,
        events: &mut Vec<Event>,
    ) {
        let Some(planned) = self.plan.trials.get(self.at) else { return };
        let restored = planned.case.odd_tooth();
        let answered = response != Response::Timeout;
        let onsets = Onsets { response_s: answered.then_some(self.now_s), ..self.onsets };
        events.push(Event::Completed(TrialOutcome {
            trial: planned.trial,
            block: planned.block,
            kind: planned.kind,
            restored,
            response,
            verdict: Verdict::of(restored, response),
            response_time_s: onsets.response_s.map(|at| at - onsets.mask_s),
            exposure: self.exposure,
            input_device,
            onsets,
        }));
        self.answered += 1;
        self.enter(Phase::Debrief, events);
    }

    fn enter(&mut self, phase: Phase, events: &mut Vec<Event>) {
        match phase {
            Phase::Fixation => self.onsets = Onsets { fixation_s: self.now_s, ..Onsets::default() },
            Phase::Exposure => self.onsets.onset_s = self.now_s,
            Phase::Mask => self.onsets.mask_s = self.now_s,
            _ => {}
        }
        self.phase = phase;
        self.in_phase_s = 0.0;
        events.push(Event::Entered(phase));
    }
}

/// The nearest whole number of refresh periods, at least 1.
fn whole_periods(duration_s: f64, refresh_hz: f64) -> u32 {
    ((duration_s * refresh_hz).round() as u32).max(1)
}

fn no_exposure(exposure_s: f64, refresh_hz: f64) -> Exposure {
    Exposure {
        requested_frames: whole_periods(exposure_s, refresh_hz),
        shown_frames: 0,
        longest_frame_ms: 0.0,
        dropped_frames: 0,
        refresh_hz,
    }
}
