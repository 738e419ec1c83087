//! Limits that several rules of levels and cases share.

use super::checker::Checker;
use super::format::Range;
use crate::scene::Drift;
use std::ops::RangeInclusive;

pub(super) const MARGIN_MM: RangeInclusive<f64> = 0.02..=1.0;
pub(super) const CERAMIC_MM: RangeInclusive<f64> = 0.1..=3.0;

pub(super) const DRIFT_MONTHS: RangeInclusive<f64> = 1.0..=Drift::MAX_MONTHS;

/// Requires both ends within limits and in order.
pub(super) fn check_range(
    path: &str,
    range: Range,
    limits: RangeInclusive<f64>,
    unit: &str,
    checker: &mut Checker<'_>,
) {
    checker.within(&format!("{path}[0]"), range.low, limits.clone(), unit);
    checker.within(&format!("{path}[1]"), range.high, limits, unit);
    if range.low > range.high {
        let (low, high) = (range.low, range.high);
        checker.error(
            path,
            format!("the range ({low}, {high}) runs downwards"),
            format!("write the lower end first: ({high}, {low})"),
        );
    }
}
