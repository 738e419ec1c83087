//! Glance by reaction time: how likely a restoration is found within a few seconds.
//!
//! The picture stays until a key says "seen" or 8 s have passed. Time is cut into bins of 250 ms;
//! in each the chance of finding, given that nothing was found before, is
//! `logit h = a₀ + a₁ ln t + a₂ ln x`. Whoever names the wrong tooth never finds the right one:
//! such a trial counts as not found to the end, so that `F` is a share of all trials.

use crate::psychophysics::Proportion;
use crate::psychophysics::instrument::Interval;
use crate::psychophysics::refit::Z95;
use crate::psychophysics::scoring::{Local, Maximum, maximise};
use nalgebra::{DMatrix, DVector};
use thiserror::Error;

/// Width of a bin, s.
const BIN_S: f64 = 0.25;
/// How long a picture stays at most, s.
pub const SEARCH_LIMIT_S: f64 = 8.0;
/// Bins to the limit.
const BINS: usize = 32;
/// Standard deviation of the prior on every coefficient, wide; it keeps the fit finite when every
/// restoration was found or none. Design choice.
const PRIOR_SD: f64 = 3.0;

/// One trial of the search task.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SearchTrial {
    /// Difference of the restored tooth to its twin, ΔE00 above 0; `None` on a catch trial.
    pub de00: Option<f64>,
    /// When "seen" was pressed, s from onset; `None` if it was not.
    pub pressed_s: Option<f64>,
    /// Whether the right tooth was named then; false on a catch trial.
    pub right: bool,
}

/// Why search trials cannot be fitted.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SearchError {
    /// A trial that cannot have been.
    #[error(
        "trial {index}: a difference and a time must be above 0, and a right answer needs both: {trial:?}"
    )]
    Trial {
        /// 0-based number of the trial.
        index: usize,
        /// The trial.
        trial: SearchTrial,
    },
    /// Nothing to fit.
    #[error("needs at least one trial with a restoration")]
    NoSignal,
    /// The fit has no maximum. No trials within range are known to cause this.
    #[error("the hazard could not be fitted to {0} trials")]
    Fit(usize),
}

/// The fitted search.
#[derive(Debug, Clone, PartialEq)]
pub struct SearchFit {
    maximum: Maximum,
    false_presses: Proportion,
    correct_times_s: Vec<f64>,
}

/// Predictors of the hazard in a bin: constant, `ln t` at its middle, `ln x`.
fn predictors(bin: usize, x: f64) -> [f64; 3] {
    [1.0, (BIN_S * (bin as f64 + 0.5)).ln(), x.ln()]
}

fn hazard(at: &DVector<f64>, of: [f64; 3]) -> f64 {
    let logit = at[0] * of[0] + at[1] * of[1] + at[2] * of[2];
    1.0 / (1.0 + (-logit).exp())
}

/// The 0-based bin of a time.
fn bin_of(time_s: f64) -> usize {
    ((time_s / BIN_S).ceil() as usize).saturating_sub(1)
}

impl SearchFit {
    /// Fits the hazard of finding.
    ///
    /// # Errors
    /// [`SearchError`] when a trial is impossible or none has a restoration.
    ///
    /// # References
    /// Discrete-time hazards by logistic regression: Allison, Sociol Methodol 1982;13:61-98; wrong
    /// answers kept at risk: Fine & Gray, J Am Stat Assoc 1999;94:496-509 (both from memory).
    pub fn new(trials: &[SearchTrial]) -> Result<Self, SearchError> {
        let positive = |x: Option<f64>| x.is_none_or(|x| x > 0.0 && x.is_finite());
        for (index, trial) in trials.iter().enumerate() {
            let complete = trial.de00.is_some() && trial.pressed_s.is_some();
            let possible = positive(trial.de00) && positive(trial.pressed_s);
            if !possible || (trial.right && !complete) {
                return Err(SearchError::Trial { index, trial: *trial });
            }
        }
        // Per trial with a restoration: difference, and the bin in which it was found.
        let found_in = |t: &SearchTrial| {
            let time = t.pressed_s.filter(|time| t.right && *time <= SEARCH_LIMIT_S);
            t.de00.map(|x| (x, time.map(bin_of)))
        };
        let searched: Vec<(f64, Option<usize>)> = trials.iter().filter_map(found_in).collect();
        if searched.is_empty() {
            return Err(SearchError::NoSignal);
        }
        let start = DVector::from_row_slice(&[-3.0, 0.0, 0.0]);
        let maximum = maximise(start, 1e-12, |at| local(&searched, at))
            .filter(|m| m.converged)
            .ok_or(SearchError::Fit(searched.len()))?;
        let catch = trials.iter().filter(|t| t.de00.is_none());
        let pressed = catch.clone().filter(|t| t.pressed_s.is_some()).count();
        let mut correct_times_s: Vec<f64> =
            trials.iter().filter(|t| t.right).filter_map(|t| t.pressed_s).collect();
        correct_times_s.sort_by(f64::total_cmp);
        Ok(Self {
            maximum,
            false_presses: Proportion { successes: pressed as u32, total: catch.count() as u32 },
            correct_times_s,
        })
    }

    /// Share of restorations of `x` ΔE00 found within `time_s` seconds, at most 8, with its 95 %
    /// interval, symmetric on the scale `ln(−ln(1 − F))`. Show false presses beside it.
    #[must_use]
    pub fn found_within(&self, time_s: f64, x: f64) -> Interval {
        let bins = (bin_of(time_s.min(SEARCH_LIMIT_S)) + 1).min(BINS);
        // ln(−ln(1 − F)) = ln Σ −ln(1 − h).
        let mut sum = 0.0;
        let mut slope = DVector::zeros(3);
        for bin in 0..bins {
            let of = predictors(bin, x);
            let h = hazard(&self.maximum.at, of);
            sum -= (-h).ln_1p();
            slope += DVector::from_row_slice(&of) * h;
        }
        slope /= sum;
        let sd = (slope.transpose() * &self.maximum.covariance * &slope)[(0, 0)].max(0.0).sqrt();
        let share = |scale: f64| -(-(scale.exp())).exp_m1();
        let (ln, half) = (sum.ln(), Z95 * sd);
        Interval { value: share(ln), low: share(ln - half), high: share(ln + half) }
    }

    /// The time by which half of restorations of `x` ΔE00 are found, s; `None` if more than half
    /// are not found within 8 s.
    #[must_use]
    pub fn half_time_s(&self, x: f64) -> Option<f64> {
        let mut left = 1.0;
        for bin in 0..BINS {
            let h = hazard(&self.maximum.at, predictors(bin, x));
            let next = left * (1.0 - h);
            if next <= 0.5 {
                return Some(BIN_S * (bin as f64 + (left - 0.5) / (left - next)));
            }
            left = next;
        }
        None
    }

    /// Catch trials on which "seen" was pressed, of all catch trials.
    #[must_use]
    pub const fn false_presses(&self) -> Proportion {
        self.false_presses
    }

    /// Median time of right answers, s. Compares within one learner and one device only.
    #[must_use]
    pub fn median_correct_time_s(&self) -> Option<f64> {
        let n = self.correct_times_s.len();
        let middle = |i: usize| self.correct_times_s.get(i).copied();
        Some(0.5 * (middle(n.checked_sub(1)? / 2)? + middle(n / 2)?))
    }
}

fn local(searched: &[(f64, Option<usize>)], at: &DVector<f64>) -> Option<Local> {
    let precision = 1.0 / (PRIOR_SD * PRIOR_SD);
    let mut value = -0.5 * precision * at.norm_squared();
    let mut slope = at * -precision;
    let mut information = DMatrix::identity(3, 3) * precision;
    for (x, found) in searched {
        for bin in 0..found.map_or(BINS, |bin| (bin + 1).min(BINS)) {
            let of = predictors(bin, *x);
            let h = hazard(at, of);
            let event = *found == Some(bin);
            value += if event { h.max(1e-300).ln() } else { (-h).ln_1p() };
            let of = DVector::from_row_slice(&of);
            information += &of * of.transpose() * (h * (1.0 - h));
            slope += of * (f64::from(u8::from(event)) - h);
        }
    }
    value.is_finite().then_some(Local { value, slope, information })
}
