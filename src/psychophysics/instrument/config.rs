//! What is asked of the instrument, and what it asks of the screen.

use crate::psychophysics::{Axis, Direction};
use crate::scene::Tooth;
use crate::trial::{Response, ScheduleError, TrialKind};
use serde::{Deserialize, Serialize};
use thiserror::Error;

/// When a measurement may end by itself.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StopRule {
    /// Posterior standard deviation of `ln τ` that is precise enough on every axis, above 0.
    pub sd_ln_threshold: f64,
    /// Most trials, timed-out ones included, repeated ones not.
    pub max_trials: u32,
    /// Longest session, s.
    pub max_elapsed_s: f64,
}

impl Default for StopRule {
    /// 0.15, 160 trials, 12 minutes. Design choices.
    fn default() -> Self {
        Self { sd_ln_threshold: 0.15, max_trials: 160, max_elapsed_s: 720.0 }
    }
}

/// What to measure and with what.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Config {
    /// Teeth that can be restored and answered, in the viewer's order from left to right, 4 to 16.
    pub teeth: Vec<Tooth>,
    /// Axes to measure, 1 to 4, none twice.
    pub axes: Vec<Axis>,
    /// How long a picture is meant to be shown, s.
    pub exposure_s: f64,
    /// Smallest difference the display can show honestly, ΔE00, at least 0.25.
    pub least_de00: f64,
    /// Largest difference that can be made, ΔE00, at most 10 and at least 4 times the smallest.
    pub most_de00: f64,
    /// When the measurement may end.
    pub stop: StopRule,
}

impl Config {
    /// A measurement of `axes` on `teeth` with the defaults: 2.5 s, 0.4 to 10 ΔE00. Below 0.4 one
    /// step of an 8-bit display without dither is too large a part of the difference.
    #[must_use]
    pub fn new(teeth: Vec<Tooth>, axes: Vec<Axis>) -> Self {
        Self {
            teeth,
            axes,
            exposure_s: 2.5,
            least_de00: 0.4,
            most_de00: 10.0,
            stop: StopRule::default(),
        }
    }
}

/// What the next trial shows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Stimulus {
    /// 0-based number of the block of 20.
    pub block: u32,
    /// 0-based place in the schedule. A repeated trial keeps its place and gets a new `shown`.
    pub slot: u32,
    /// 0-based count of all trials shown before, repeated ones included: a scene seed that is
    /// never used twice.
    pub shown: u32,
    /// Whether this place was shown before and had to be repeated.
    pub repeat: bool,
    /// The restoration; `None` on a catch trial.
    pub signal: Option<Signal>,
}

/// The restoration of a signal trial.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Signal {
    /// The tooth to restore.
    pub tooth: Tooth,
    /// Which way it differs from its twin.
    pub direction: Direction,
    /// By how much, ΔE00.
    pub de00: f64,
    /// Whether this is an easy trial that estimates lapses, not one chosen for information.
    pub anchor: bool,
}

impl Stimulus {
    /// Signal or catch.
    #[must_use]
    pub const fn kind(&self) -> TrialKind {
        if self.signal.is_some() { TrialKind::Signal } else { TrialKind::Catch }
    }
}

/// What was really on the screen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shown {
    /// Achieved difference between restored tooth and twin, ΔE00; 0 on a catch trial. It may
    /// differ from what was asked.
    pub de00: f64,
    /// Signed residual of every natural tooth in value from the norm of its position, ΔE00,
    /// negative when darker; in the order of [`Config::teeth`]. Empty where unknown: then natural
    /// variation is left out of the model.
    pub residuals_de00: Vec<f64>,
    /// Achieved exposure, s.
    pub exposure_s: f64,
}

/// What came back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Answer {
    /// This tooth is the restoration.
    Tooth(Tooth),
    /// No tooth is restored.
    None,
    /// No answer in time. Counted, kept, and left out of every estimate.
    TimedOut,
    /// The exposure was missed or interrupted: marked, left out of every estimate, and its place
    /// is shown again at the end of the block.
    Void,
}

impl From<Answer> for Response {
    fn from(answer: Answer) -> Self {
        match answer {
            Answer::Tooth(tooth) => Self::Tooth(tooth),
            Answer::None => Self::None,
            Answer::TimedOut | Answer::Void => Self::Timeout,
        }
    }
}

impl From<Response> for Answer {
    fn from(response: Response) -> Self {
        match response {
            Response::Tooth(tooth) => Self::Tooth(tooth),
            Response::None => Self::None,
            Response::Timeout => Self::TimedOut,
        }
    }
}

/// A trial that is over.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// What was asked for.
    pub stimulus: Stimulus,
    /// What was shown.
    pub shown: Shown,
    /// What was answered.
    pub answer: Answer,
}

/// All that has to be kept to go on exactly where a measurement stopped. Save it after every
/// [`record`](super::Instrument::record); it grows by about 300 bytes of JSON a trial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Saved {
    /// Version of this layout, [`Saved::VERSION`].
    pub version: u32,
    /// What is measured.
    pub config: Config,
    /// Seed of the schedule.
    pub seed: u64,
    /// Trials so far, in the order shown.
    pub records: Vec<Record>,
}

impl Saved {
    /// The current layout.
    pub const VERSION: u32 = 1;
}

/// Why a measurement is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum StopReason {
    /// Every axis asked is precise enough.
    Precise,
    /// The most trials were shown.
    Trials,
    /// The time is up.
    Time,
    /// The learner wished to stop. The instrument never says this; the caller may store it.
    Learner,
}

/// Why an instrument cannot be made, fed or resumed.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum InstrumentError {
    /// Too few or too many teeth.
    #[error("a measurement needs 4 to 16 different teeth, got {0}")]
    Teeth(usize),
    /// No axis, or one twice.
    #[error("a measurement needs 1 to 4 different axes, got {0:?}")]
    Axes(Vec<Axis>),
    /// A range of differences on which nothing can be measured.
    #[error(
        "differences must span at least a factor of 4 within 0.25 to 10 ΔE00, got {least} to {most}"
    )]
    Range {
        /// Smallest difference asked, ΔE00.
        least: f64,
        /// Largest difference asked, ΔE00.
        most: f64,
    },
    /// An exposure that is no duration.
    #[error("an exposure must be longer than 0 s and at most 60 s, got {0}")]
    Exposure(f64),
    /// A stop rule that can never be met or is met at once.
    #[error(
        "a stop rule needs a standard deviation and a time above 0 and 1 to 2000 trials: {0:?}"
    )]
    Stop(StopRule),
    /// No schedule can be laid out.
    #[error(transparent)]
    Schedule(#[from] ScheduleError),
    /// A difference that is not a number above 0 on a signal trial, or not 0 on a catch trial.
    #[error("a {} trial cannot have shown a difference of {de00} ΔE00", kind.name())]
    Shown {
        /// Which kind of trial it was.
        kind: TrialKind,
        /// What was said to be shown.
        de00: f64,
    },
    /// Residuals that do not fit the teeth.
    #[error("got {got} natural residuals for {teeth} teeth, or one is not a number")]
    Residuals {
        /// Number of residuals given.
        got: usize,
        /// Number of teeth.
        teeth: usize,
    },
    /// An answer that was not offered.
    #[error("tooth {0} was answered but not offered")]
    NotOffered(Tooth),
    /// The schedule has run out.
    #[error("the measurement is over: no trial is waiting for an answer")]
    Over,
    /// The observer could not be fitted. No trials that [`record`](super::Instrument::record)
    /// accepts are known to cause this.
    #[error("the observer could not be fitted to {0} trials")]
    Fit(usize),
    /// A saved measurement of another layout.
    #[error(
        "a saved measurement of layout {got} cannot be read by this version, which reads {wanted}"
    )]
    Version {
        /// The layout found.
        got: u32,
        /// The layout read.
        wanted: u32,
    },
    /// A saved trial that the schedule would not have shown.
    #[error("saved trial {0} does not follow from the ones before it")]
    Replay(usize),
}
