//! Trials: schedule, plan, engine, response, outcome.
//!
//! `schedule` decides what comes when, a `Plan` holds the cases, the [`Engine`] steps through
//! them frame by frame, and a [`TrialOutcome`] says what was answered and whether it was right.
//! Nothing here reads a clock: the caller reports each frame and how long it was on screen.

mod engine;
mod outcome;
mod phase;
mod plan;
mod response;
mod schedule;

pub use engine::Engine;
pub use outcome::{Exposure, Onsets, TrialOutcome, Verdict};
pub use phase::{Event, Input, Phase, Progress};
pub use plan::{Plan, PlannedTrial, Timing, TrialKind};
pub use response::{InputDevice, Response};
pub use schedule::{ScheduleError, ScheduledTrial, Sign, schedule};
