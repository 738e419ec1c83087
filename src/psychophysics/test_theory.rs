//! Classical test theory and change: what a fixed list of items says about a group.

use crate::psychophysics::{average_ranks, pearson};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Answers of a group to a fixed list of items, right or not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answers {
    items: usize,
    /// `[learner × items + item]`.
    right: Vec<bool>,
}

/// What an item does in a group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ItemFigures {
    /// Share of learners who were right, 0..1.
    pub difficulty: f64,
    /// Correlation of the item with the total of the others; `None` for a constant.
    pub corrected_r: Option<f64>,
    /// Share right among the upper 27 % less that among the lower 27 %, by total score; ties at
    /// the edge count in part. `None` below 4 learners.
    pub d27: Option<f64>,
    /// The two shares that this is the difference of.
    pub tails: Option<TailShares>,
}

/// Shares right at the two ends of a group.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TailShares {
    /// Of the upper 27 % by total score, 0..1.
    pub upper: f64,
    /// Of the lower 27 %.
    pub lower: f64,
    /// People in each end; those at the edge count in part.
    pub size: f64,
}

impl Answers {
    /// From one row per learner, all as long as the list of items. `None` for rows of different
    /// lengths or none at all.
    #[must_use]
    pub fn new(rows: &[Vec<bool>]) -> Option<Self> {
        let items = rows.first()?.len();
        let even = items > 0 && rows.iter().all(|row| row.len() == items);
        even.then(|| Self { items, right: rows.concat() })
    }

    /// Number of learners.
    #[must_use]
    pub const fn learners(&self) -> usize {
        self.right.len() / self.items
    }

    fn row(&self, learner: usize) -> &[bool] {
        &self.right[learner * self.items..(learner + 1) * self.items]
    }

    /// Items right, per learner.
    #[must_use]
    pub fn totals(&self) -> Vec<f64> {
        (0..self.learners()).map(|l| count(self.row(l).iter())).collect()
    }

    /// Kuder-Richardson formula 20, with variances of the group itself (divisor n). `None` for
    /// fewer than 2 items or equal totals.
    ///
    /// # References
    /// Kuder & Richardson, Psychometrika 1937;2:151-160.
    #[must_use]
    pub fn kr20(&self) -> Option<f64> {
        let (k, n) = (self.items as f64, self.learners() as f64);
        let totals = self.totals();
        let mean = totals.iter().sum::<f64>() / n;
        let variance = totals.iter().map(|t| (t - mean).powi(2)).sum::<f64>() / n;
        let within: f64 = (0..self.items)
            .map(|item| {
                let p = count((0..self.learners()).map(|l| &self.row(l)[item])) / n;
                p * (1.0 - p)
            })
            .sum();
        (self.items > 1 && variance > 0.0).then(|| k / (k - 1.0) * (1.0 - within / variance))
    }

    /// Reliability from two halves of the items, stepped up by the Spearman-Brown formula;
    /// `first` says which items make the first half. `None` for a half without variance.
    ///
    /// # References
    /// Spearman, Br J Psychol 1910;3:271-295. Brown, ibid. 296-322.
    #[must_use]
    pub fn split_half(&self, first: impl Fn(usize) -> bool) -> Option<f64> {
        let half = |learner: usize, wanted: bool| {
            let row = self.row(learner).iter().enumerate();
            count(row.filter(|(item, _)| first(*item) == wanted).map(|(_, right)| right))
        };
        let pairs: Vec<_> = (0..self.learners()).map(|l| (half(l, true), half(l, false))).collect();
        let r = pearson(&pairs)?;
        Some(2.0 * r / (1.0 + r))
    }

    /// Figures of every item.
    ///
    /// # References
    /// Kelley, J Educ Psychol 1939;30:17-24 (27 %; from memory).
    #[must_use]
    pub fn items(&self) -> Vec<ItemFigures> {
        let totals = self.totals();
        let tails = tails(&totals);
        (0..self.items)
            .map(|item| {
                let one = |l: usize| f64::from(u8::from(self.row(l)[item]));
                let n = self.learners();
                let pairs: Vec<_> = (0..n).map(|l| (one(l), totals[l] - one(l))).collect();
                let share = |weights: &[f64]| {
                    let sum: f64 = weights.iter().sum();
                    weights.iter().enumerate().map(|(l, w)| w * one(l)).sum::<f64>() / sum
                };
                ItemFigures {
                    difficulty: (0..n).map(one).sum::<f64>() / n as f64,
                    corrected_r: pearson(&pairs),
                    d27: tails.as_ref().map(|(low, high)| share(high) - share(low)),
                    tails: tails.as_ref().map(|(low, high)| TailShares {
                        upper: share(high),
                        lower: share(low),
                        size: high.iter().sum(),
                    }),
                }
            })
            .collect()
    }
}

fn count<'a>(right: impl Iterator<Item = &'a bool>) -> f64 {
    right.filter(|right| **right).count() as f64
}

/// Weights of every learner in the lower and the upper 27 %. Learners of equal total share what is
/// left of the group's size, so that their order in the list does not matter.
fn tails(totals: &[f64]) -> Option<(Vec<f64>, Vec<f64>)> {
    let size = (0.27 * totals.len() as f64).round();
    if totals.len() < 4 || size < 1.0 {
        return None;
    }
    let weights = |values: &[f64]| -> Vec<f64> {
        let below = |x: f64| values.iter().filter(|v| **v < x).count() as f64;
        let equal = |x: f64| values.iter().filter(|v| (**v - x).abs() < 1e-9).count() as f64;
        values.iter().map(|x| ((size - below(*x)) / equal(*x)).clamp(0.0, 1.0)).collect()
    };
    let turned: Vec<f64> = totals.iter().map(|t| -t).collect();
    Some((weights(totals), weights(&turned)))
}

/// Mean and standard deviation (divisor n − 1). `None` below 2 values.
#[must_use]
pub fn mean_sd(values: &[f64]) -> Option<(f64, f64)> {
    let n = values.len() as f64;
    if values.len() < 2 {
        return None;
    }
    let mean = values.iter().sum::<f64>() / n;
    let square: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    Some((mean, (square / (n - 1.0)).sqrt()))
}

/// The spread of what was measured without the errors of measuring: `√(SD² − mean SEM²)`, 0 where
/// the errors explain all of it. `None` below 2 values.
#[must_use]
pub fn deconvolved_sd(values: &[f64], errors: &[f64]) -> Option<f64> {
    let (_, sd) = mean_sd(values)?;
    let error = errors.iter().map(|e| e * e).sum::<f64>() / errors.len() as f64;
    Some((sd * sd - error).max(0.0).sqrt())
}

/// Standard error of measurement of a score: `SD √(1 − r)`.
#[must_use]
pub fn standard_error_of_measurement(sd: f64, reliability: f64) -> f64 {
    sd * (1.0 - reliability).max(0.0).sqrt()
}

/// The smallest change of one person that is more than error, at 95 %: `1.96 √2 SEM`.
#[must_use]
pub fn smallest_real_change(sem: f64) -> f64 {
    1.959_963_984_540_054 * std::f64::consts::SQRT_2 * sem
}

/// A change with its uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Change {
    /// Learners.
    pub count: usize,
    /// Mean of after − before.
    pub mean: f64,
    /// 95 % interval of the mean.
    pub interval: (f64, f64),
    /// Spread of true changes between learners; 0 where errors explain all of it.
    pub sd_between: f64,
}

/// One learner before and after, with standard errors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Paired {
    /// Before.
    pub before: f64,
    /// Its standard error, 0 where unknown.
    pub before_sem: f64,
    /// After.
    pub after: f64,
    /// Its standard error.
    pub after_sem: f64,
}

impl Change {
    /// The mean change where every change has a known standard error of its own: a mixed model
    /// with a random change per learner, whose spread is found by the method of Paule and Mandel;
    /// the interval is that of Hartung, Knapp, Sidik and Jonkman with n − 1 degrees of freedom.
    /// With no errors it is the paired t interval. `None` below 2 learners.
    ///
    /// # References
    /// Paule & Mandel, J Res Natl Bur Stand 1982;87:377-385. Hartung & Knapp, Stat Med
    /// 2001;20:1771-1782. As `combine_effects` in statsmodels.
    #[must_use]
    pub fn new(pairs: &[Paired]) -> Option<Self> {
        let n = pairs.len();
        if n < 2 {
            return None;
        }
        let change: Vec<f64> = pairs.iter().map(|p| p.after - p.before).collect();
        let variance: Vec<f64> =
            pairs.iter().map(|p| p.before_sem.powi(2) + p.after_sem.powi(2)).collect();
        let freedom = n as f64 - 1.0;
        let weighted = |between: f64| {
            let weights: Vec<f64> =
                variance.iter().map(|v| (v + between).max(1e-12).recip()).collect();
            let sum: f64 = weights.iter().sum();
            let mean = weights.iter().zip(&change).map(|(w, d)| w * d).sum::<f64>() / sum;
            let off: f64 = weights.iter().zip(&change).map(|(w, d)| w * (d - mean).powi(2)).sum();
            (mean, sum, off)
        };
        let mut between = 0.0;
        if weighted(0.0).2 > freedom {
            let (mut low, mut high) = (0.0, 1.0);
            while weighted(high).2 > freedom && high < 1e12 {
                high *= 2.0;
            }
            for _ in 0..200 {
                between = 0.5 * (low + high);
                if weighted(between).2 > freedom { low = between } else { high = between }
            }
        }
        let (mean, sum, off) = weighted(between);
        let error = (off / freedom / sum).sqrt();
        let t = StudentsT::new(0.0, 1.0, freedom).ok()?.inverse_cdf(0.975);
        Some(Self {
            count: n,
            mean,
            interval: (mean - t * error, mean + t * error),
            sd_between: between.sqrt(),
        })
    }
}

/// Hedges' `g_av` of a change: its mean over the mean of the two standard deviations, corrected for
/// small groups with n − 1 degrees of freedom. `None` below 3 pairs or without spread.
///
/// # References
/// Cumming, Understanding the New Statistics, 2012 (the average standard deviation). Hedges & Olkin, Statistical
/// Methods for Meta-Analysis, 1985 (the correction `1 − 3/(4 df − 1)`). Lakens, Front Psychol
/// 2013;4:863.
#[must_use]
pub fn hedges_g_av(pairs: &[(f64, f64)]) -> Option<f64> {
    let (before, after): (Vec<f64>, Vec<f64>) = pairs.iter().copied().unzip();
    let ((m1, s1), (m2, s2)) = (mean_sd(&before)?, mean_sd(&after)?);
    let freedom = pairs.len() as f64 - 1.0;
    let sd = 0.5 * (s1 + s2);
    let correction = 1.0 - 3.0 / (4.0 * freedom - 1.0);
    (pairs.len() > 2 && sd > 0.0).then(|| (m2 - m1) / sd * correction)
}

/// The share of a list at or below each of its values: what a distribution plot needs.
#[must_use]
pub fn cumulative(values: &[f64]) -> Vec<f64> {
    average_ranks(values).iter().map(|rank| (rank - 0.5) / values.len() as f64).collect()
}
