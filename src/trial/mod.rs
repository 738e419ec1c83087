//! Trials: schedule, plan, engine, response, outcome.
//!
//! `schedule` decides what comes when, a `Plan` holds the cases, the [`Engine`] steps through
//! them frame by frame, and a [`TrialOutcome`] says what was answered and whether it was right.
//! Nothing here reads a clock: the caller reports each frame and how long it was on screen.
//!
//! # How a trial runs
//! 1. [`level::load`](crate::level::load) reads a file and
//!    [`level::lower()`](crate::level::lower()) lays out a [`Plan`].
//! 2. [`bake::bake`](crate::bake::bake()) computes the maps of every tooth and the truth.
//! 3. The app's viewport draws the shapes of seed and staging with these maps, off screen, and
//!    reads the pixels back with the outline of every tooth.
//! 4. The [`Engine`] is told every frame's duration and every answer, and says what to show. The
//!    app's session owns it, and writes each outcome to [`results`](crate::results) at once.
//!
//! # Why
//! - **The schedule's runs.** "At most three answers of one class in a row" counts none, left and
//!   right as classes. Counting signal and catch instead would make the trial after three
//!   restorations always a catch, and a learner who counts would need no eyes.
//! - **Exposure in frames.** The engine sums reported frame durations and ends a phase at the frame
//!   nearest the requested number of refresh periods, so a slow display does not show longer;
//!   dropped frames are recorded.

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
