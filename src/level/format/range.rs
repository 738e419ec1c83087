//! Ranges in level files.

use serde::{Deserialize, Serialize};

/// A closed interval, written `(low, high)`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(from = "(f64, f64)", into = "(f64, f64)")]
pub struct Range {
    /// Lower end, included.
    pub low: f64,
    /// Upper end, included; never below [`Self::low`] in a valid file.
    pub high: f64,
}

impl From<(f64, f64)> for Range {
    fn from((low, high): (f64, f64)) -> Self {
        Self { low, high }
    }
}

impl Range {
    /// The value a fraction `t` (0..1) of the way from low to high.
    #[must_use]
    pub fn at(self, t: f64) -> f64 {
        self.low + (self.high - self.low) * t
    }

    /// Whether `value` lies in the interval, ends included.
    #[must_use]
    pub fn contains(self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

/// A box in CIELAB LCh.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LchRanges {
    /// Lightness L*.
    #[serde(rename = "L")]
    pub l: Range,
    /// Chroma C*ab.
    #[serde(rename = "C")]
    pub c: Range,
    /// Hue angle hab, degrees.
    #[serde(rename = "h")]
    pub h: Range,
}
