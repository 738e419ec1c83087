//! What a hand-in says about itself.

use serde::{Deserialize, Serialize};

/// The bundle format this build reads and writes.
pub const HAND_IN_FORMAT: u32 = 1;

pub(super) const KIND: &str = "second-glance hand-in";
pub(super) const MANIFEST: &str = "manifest.json";

/// What a hand-in says about itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// `second-glance hand-in`.
    pub kind: String,
    /// [`HAND_IN_FORMAT`].
    pub format: u32,
    /// The learner's random id.
    pub learner: String,
    /// The course's id.
    pub course: String,
    /// The day it was made, UTC, such as `2026-01-31`.
    pub day: String,
    /// Version of the program.
    pub build: String,
    /// Schema version of the results.
    pub schema: u32,
    /// Sessions in it.
    pub sessions: u64,
    /// Timed trials in it. Hand-ins of earlier versions count answers to questions here, too.
    pub trials: u64,
    /// Answers to questions in it.
    #[serde(default)]
    pub answers: u64,
    /// Size of the results, bytes.
    pub bytes: u64,
    /// SHA-256 sum of the results, hexadecimal.
    pub sha256: String,
}
