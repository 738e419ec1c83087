//! A session laid out: which cases in which order, and how long each part lasts.

use crate::scene::{Case, Tooth};

/// Whether a trial has a restoration to find.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TrialKind {
    /// One tooth is restored.
    Signal,
    /// No tooth is restored; the right answer is "none".
    Catch,
}

impl TrialKind {
    /// The name stored with results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Signal => "signal",
            Self::Catch => "catch",
        }
    }
}

/// One trial to come.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedTrial {
    /// 0-based block number.
    pub block: u32,
    /// 0-based trial number in the session.
    pub trial: u32,
    /// Signal or catch.
    pub kind: TrialKind,
    /// The smile to show.
    pub case: Case,
}

/// How long each part of a trial lasts, s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Timing {
    /// Neutral grey before the first trial, s.
    pub adaptation_s: f64,
    /// Shortest and longest fixation, s. Each trial draws its own.
    pub fixation_s: (f64, f64),
    /// The picture, s; at most that long where it stays until it is found.
    pub exposure_s: f64,
    /// Whether the picture stays until the learner says that the restoration is found.
    pub until_seen: bool,
    /// The mask, s.
    pub mask_s: f64,
    /// The response window from mask onset, s.
    pub response_s: f64,
    /// Grey between the debrief and the next fixation, s at least.
    pub gap_s: f64,
}

impl Default for Timing {
    /// 60 s of grey leave slow chromatic adaptation, half-life about 20 s, some 88 % settled.
    ///
    /// # References
    /// Rinner & Gegenfurtner 2000 (half-life). The other durations are design choices.
    fn default() -> Self {
        Self {
            adaptation_s: 60.0,
            fixation_s: (0.5, 0.9),
            exposure_s: 2.5,
            until_seen: false,
            mask_s: 0.3,
            response_s: 6.0,
            gap_s: 1.0,
        }
    }
}

/// A session laid out before it starts.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// The level's id, which names the session's random streams.
    pub level_id: String,
    /// The level's title.
    pub title: String,
    /// What the level teaches, one sentence.
    pub teaches: String,
    /// The session's seed.
    pub seed: u64,
    /// Teeth that can be answered, in the viewer's order, left to right.
    pub teeth: Vec<Tooth>,
    /// Durations.
    pub timing: Timing,
    /// The trials in order.
    pub trials: Vec<PlannedTrial>,
}
