//! The room that a preparation leaves for ceramic and cement.

use crate::scene::Thickness;
use serde::{Deserialize, Serialize};

/// How much of a tooth was taken away, and how much of that is kept for the cement.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Space {
    /// Total reduction at the margin and at three heights, mm.
    pub reduction: Thickness,
    /// Gap kept for the cement, everywhere the same, mm.
    pub cement_gap_mm: f64,
}

impl Space {
    /// Thinnest ceramic that can be made away from the margin, mm (common practice, no source).
    pub const THINNEST_CERAMIC_MM: f64 = 0.1;

    /// What is left for the ceramic: total reduction less the gap, mm. May be negative where the
    /// reduction is less than the gap.
    #[must_use]
    pub fn ceramic(&self) -> Thickness {
        let left = |mm: f64| mm - self.cement_gap_mm;
        Thickness {
            margin_mm: left(self.reduction.margin_mm),
            neck_mm: left(self.reduction.neck_mm),
            body_mm: left(self.reduction.body_mm),
            incisal_mm: left(self.reduction.incisal_mm),
        }
    }
}
