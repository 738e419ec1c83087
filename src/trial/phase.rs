//! Phases of a trial, and what goes into the engine and comes out of it.

use crate::trial::{InputDevice, Response, TrialOutcome};

/// What is on screen.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Phase {
    /// Neutral grey before the first trial.
    Adaptation {
        /// Seconds left.
        remaining_s: f64,
    },
    /// Neutral grey until the next picture is ready, and after a debrief for the gap at least.
    Preparing,
    /// The fixation mark.
    Fixation,
    /// The picture.
    Exposure,
    /// The mask. Answers count from here on.
    Mask,
    /// Waiting for the answer.
    Response {
        /// Seconds left in the window.
        remaining_s: f64,
    },
    /// The answer explained; lasts until [`Input::Continue`].
    Debrief,
    /// Nothing more to come.
    Finished,
}

/// What the caller reports.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Input {
    /// A frame of the present phase was on screen this long, s. A duration that is negative or
    /// not finite counts as 0.
    FrameShown {
        /// Time on screen, s.
        duration_s: f64,
    },
    /// The picture of `Engine::current` can be shown without delay. Heeded in
    /// [`Phase::Adaptation`] and [`Phase::Preparing`].
    PictureReady,
    /// The learner's answer. [`Response::Timeout`] is ignored: only the engine times out.
    Answer(Response, InputDevice),
    /// "I have found it": ends the exposure. Heeded in [`Phase::Exposure`] where the picture stays
    /// until then ([`Timing::until_seen`](crate::trial::Timing::until_seen)); there, the answer
    /// "none" is heeded too, and letting the picture run out is that answer.
    Seen,
    /// On to the next trial. Heeded in [`Phase::Debrief`].
    Continue,
    /// End the session. The trial under way is not an outcome; finished ones stand.
    Stop,
}

/// What happened because of an input.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Event {
    /// A phase began.
    Entered(Phase),
    /// A trial is over. Sent before [`Phase::Debrief`] is entered, once per trial.
    Completed(TrialOutcome),
}

/// How far a session is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Trials answered or timed out, counting those before a resumed session's first.
    pub answered: usize,
    /// Trials in the plan.
    pub total: usize,
}
