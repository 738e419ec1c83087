//! Why no material was found.

use crate::optics::MediumError;
use thiserror::Error;

/// Why no material was found.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum DesignError {
    /// A number of the target is out of range.
    #[error("{what} must be {rule}, got {value}")]
    BadTarget {
        /// Which number.
        what: &'static str,
        /// What it must be.
        rule: &'static str,
        /// What it is.
        value: f64,
    },
    /// What was found describes no medium.
    #[error(transparent)]
    Medium(#[from] MediumError),
    /// No material of this family meets the target; how near the best one comes.
    #[error(
        "no material of this family looks like that: the nearest is off by ΔL {dl:.2}, Δa {da:.2}, Δb {db:.2}, translucency {dt:.2}"
    )]
    Unreachable {
        /// L* of the nearest less that wanted.
        dl: f64,
        /// a* of the nearest less that wanted.
        da: f64,
        /// b* of the nearest less that wanted.
        db: f64,
        /// Translucency of the nearest less that wanted: TP, or contrast ratio in hundredths.
        dt: f64,
    },
}
