//! What time does to a seated restoration.

use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal};

/// How a cement sets.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Cure {
    /// By light alone.
    LightCured,
    /// By light and by a chemical initiator.
    DualCured,
}

/// How long a restoration has been in the mouth, and where in the spread of cases it lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Drift {
    /// Time since seating, months, 0 to [`Self::MAX_MONTHS`].
    pub months: f64,
    /// How the cement set.
    pub cure: Cure,
    /// How far this case lies from the middle one: standard deviations of the logarithm of the
    /// change, within ±[`Self::MAX_DEVIATE`].
    pub deviate: f64,
}

impl Drift {
    /// Longest time that a publication behind the model reports, months.
    pub const MAX_MONTHS: f64 = 36.0;
    /// Cases further out than this are taken as if they lay here: what is published about spread
    /// are the quartiles of ten veneers, which say nothing of rarer cases.
    pub const MAX_DEVIATE: f64 = 1.5;

    /// The case that a share `quantile` of all cases, 0..1, changes less than.
    #[must_use]
    pub fn at_quantile(months: f64, cure: Cure, quantile: f64) -> Self {
        let deviate = Normal::standard().inverse_cdf(quantile.clamp(1e-3, 1.0 - 1e-3));
        Self { months, cure, deviate: deviate.clamp(-Self::MAX_DEVIATE, Self::MAX_DEVIATE) }
    }
}

impl Cure {
    /// Plain words: `light-cured`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::LightCured => "light-cured",
            Self::DualCured => "dual-cured",
        }
    }
}
