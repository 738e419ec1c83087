//! What one sitting of a form says about the threshold of who sat it.
//!
//! Everyone sees the same smiles, so the probability of every answer at every point of a grid over
//! the observer's parameters is computed once per item. A sitting is then a sum of rows. The
//! observer is the full one of [`GlanceModel`] with one threshold for every direction; side bias
//! and the loss towards the ends of the arch are held at their usual values.

use crate::psychophysics::{Criteria, GlanceModel, GlanceParameters, ModelTrial};
use crate::scene::Tooth;
use rayon::prelude::*;

/// `ln τ` from 0.3 to 7.5 ΔE00.
const THRESHOLDS: usize = 27;
const THRESHOLD_RANGE_DE00: (f64, f64) = (0.3, 7.5);
const CRITERIA: usize = 10;
const CRITERION_RANGE: (f64, f64) = (0.75, 3.0);
/// Nodes and weights of a normal distribution, Gauss-Hermite with three points.
const NORMAL: [(f64, f64); 3] =
    [(-1.732_050_807_568_877_2, 1.0 / 6.0), (0.0, 2.0 / 3.0), (1.732_050_807_568_877_2, 1.0 / 6.0)];
/// Lapse rates and their prior. Design choice.
const LAPSES: [(f64, f64); 3] = [(0.01, 0.45), (0.04, 0.40), (0.08, 0.15)];
/// Priors as in the refit; design choices.
const LN_THRESHOLD: (f64, f64) = (std::f64::consts::LN_2, 0.8);
const CRITERION: (f64, f64) = (2.0, 0.6);
const LN_EXPONENT_SD: f64 = 0.25;
const LOGIT_CONFUSION: (f64, f64) = (-0.85, 0.8);
const ECCENTRICITY_LOSS: f64 = 0.04;

/// How an item was answered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum ItemAnswer {
    /// "None".
    None,
    /// The restored tooth.
    Right,
    /// Another tooth; any tooth where nothing is restored.
    Wrong,
    /// No answer in time.
    TimedOut,
}

impl ItemAnswer {
    /// Whether it is right for an item with or without a restoration.
    #[must_use]
    pub const fn is_right(self, signal: bool) -> bool {
        matches!((self, signal), (Self::Right, true) | (Self::None, false))
    }
}

/// What a sitting says.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SittingEstimate {
    /// Posterior mean of `ln τ`.
    pub ln_threshold: f64,
    /// Posterior standard deviation of `ln τ`.
    pub sd: f64,
    /// `ln τ` and its standard error as the answers alone have it, the prior taken out; for groups.
    pub unshrunk: (f64, f64),
    /// Posterior mean and standard deviation of the criterion.
    pub criterion: (f64, f64),
}

impl SittingEstimate {
    /// The threshold, ΔE00, with its 95 % interval.
    #[must_use]
    pub fn threshold_de00(&self) -> (f64, f64, f64) {
        let half = 1.959_963_984_540_054 * self.sd;
        let at = |ln: f64| ln.exp();
        (at(self.ln_threshold), at(self.ln_threshold - half), at(self.ln_threshold + half))
    }
}

/// The tables of the items of a form, as they were shown.
#[derive(Debug, Clone)]
pub struct FormEstimator {
    /// `[item][answer][cell]`, natural logarithms; three answers.
    tables: Vec<[Vec<f32>; 3]>,
    prior: Vec<f32>,
    /// Threshold and criterion of every group of cells that differ in lapses only.
    places: Vec<(usize, usize)>,
}

/// What the estimate allows a learner to be, besides their threshold, criterion and lapses.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Allowance {
    /// Swayed by the natural variation of teeth, more or less; otherwise not at all.
    pub confusion: bool,
    /// Of a steeper or shallower psychometric function; otherwise of exponent 1.
    pub exponent: bool,
}

impl Default for Allowance {
    /// Both, as people may be.
    fn default() -> Self {
        Self { confusion: true, exponent: true }
    }
}

/// One observer of the grid but for criterion and lapses, with its log prior.
struct Observer {
    threshold: usize,
    parameters: GlanceParameters,
    prior: f64,
}

fn spaced(range: (f64, f64), i: usize, n: usize) -> f64 {
    range.0 + (range.1 - range.0) * i as f64 / (n - 1) as f64
}

fn log_normal(x: f64, (mean, sd): (f64, f64)) -> f64 {
    -0.5 * ((x - mean) / sd).powi(2)
}

/// Thresholds slowest, then confusion, then exponent.
fn observers(allowance: Allowance) -> Vec<Observer> {
    let nodes = |allowed: bool| if allowed { &NORMAL[..] } else { &[(0.0, 1.0)][..] };
    let ln = (THRESHOLD_RANGE_DE00.0.ln(), THRESHOLD_RANGE_DE00.1.ln());
    let mut observers = Vec::new();
    for threshold in 0..THRESHOLDS {
        let ln_threshold = spaced(ln, threshold, THRESHOLDS);
        for (k, k_weight) in nodes(allowance.confusion) {
            let logit: f64 = LOGIT_CONFUSION.0 + LOGIT_CONFUSION.1 * k;
            let confusion = if allowance.confusion { 1.0 / (1.0 + (-logit).exp()) } else { 0.0 };
            for (b, b_weight) in nodes(allowance.exponent) {
                observers.push(Observer {
                    threshold,
                    parameters: GlanceParameters {
                        exponent: (LN_EXPONENT_SD * b).exp(),
                        confusion,
                        eccentricity_loss: ECCENTRICITY_LOSS,
                        ..GlanceParameters::even(ln_threshold.exp(), CRITERION.0)
                    },
                    prior: log_normal(ln_threshold, LN_THRESHOLD) + f64::ln(k_weight * b_weight),
                });
            }
        }
    }
    observers
}

impl FormEstimator {
    /// Tables for items as they were shown over `teeth`; the answers in `items` do not matter.
    #[must_use]
    pub fn new(teeth: &[Tooth], items: &[ModelTrial]) -> Self {
        Self::allowing(Allowance::default(), teeth, items)
    }

    /// As [`Self::new`] for learners of whom something else is known: to see what not knowing it
    /// costs.
    #[must_use]
    pub fn allowing(allowance: Allowance, teeth: &[Tooth], items: &[ModelTrial]) -> Self {
        let model = GlanceModel::one_threshold(teeth);
        let observers = observers(allowance);
        let criteria =
            Criteria::new((0..CRITERIA).map(|i| spaced(CRITERION_RANGE, i, CRITERIA)).collect());
        let guess = 1.0 / (teeth.len() as f64 + 1.0);
        let cells = observers.len() * CRITERIA * LAPSES.len();
        let tables = items
            .par_iter()
            .map(|item| {
                let mut table = [0, 1, 2].map(|_| Vec::with_capacity(cells));
                let count = teeth.len() as f64;
                // Without a restoration nothing is "right"; every tooth is wrong.
                let (one, rest) =
                    if item.signal.is_some() { (1.0, count - 1.0) } else { (0.0, count) };
                for observer in &observers {
                    for at in criteria.outcomes(&model, &observer.parameters, item) {
                        let wrong = (1.0 - at.none - at.right).max(0.0);
                        for (lapse, _) in LAPSES {
                            let mixed = |p: f64, options: f64| {
                                ((1.0 - lapse) * p + lapse * guess * options).max(1e-30).ln() as f32
                            };
                            table[0].push(mixed(at.none, 1.0));
                            table[1].push(mixed(at.right, one));
                            table[2].push(mixed(wrong, rest));
                        }
                    }
                }
                table
            })
            .collect();
        let mut prior = Vec::with_capacity(cells);
        let mut places = Vec::with_capacity(observers.len() * CRITERIA);
        for observer in &observers {
            for (index, criterion) in criteria.values().iter().enumerate() {
                places.push((observer.threshold, index));
                let both = observer.prior + log_normal(*criterion, CRITERION);
                prior.extend(LAPSES.map(|(_, weight)| (both + f64::ln(weight)) as f32));
            }
        }
        Self { tables, prior, places }
    }

    /// What answers, one per item, say. Items without an answer are left out; `None` when none is
    /// left.
    #[must_use]
    pub fn estimate(&self, answers: &[Option<ItemAnswer>]) -> Option<SittingEstimate> {
        let mut log = self.prior.clone();
        let mut used = 0;
        for (table, answer) in self.tables.iter().zip(answers) {
            let row = match answer {
                Some(ItemAnswer::None) => &table[0],
                Some(ItemAnswer::Right) => &table[1],
                Some(ItemAnswer::Wrong) => &table[2],
                Some(ItemAnswer::TimedOut) | None => continue,
            };
            used += 1;
            log.iter_mut().zip(row).for_each(|(sum, part)| *sum += part);
        }
        if used == 0 {
            return None;
        }
        let top = log.iter().copied().fold(f32::NEG_INFINITY, f32::max);
        let mut thresholds = [0.0; THRESHOLDS];
        let mut criteria = [0.0; CRITERIA];
        for (part, (threshold, criterion)) in log.chunks_exact(LAPSES.len()).zip(&self.places) {
            let weight: f64 = part.iter().map(|p| f64::from((p - top).exp())).sum();
            thresholds[*threshold] += weight;
            criteria[*criterion] += weight;
        }
        let ln = (THRESHOLD_RANGE_DE00.0.ln(), THRESHOLD_RANGE_DE00.1.ln());
        let (ln_threshold, sd) = moments(&thresholds, ln);
        Some(SittingEstimate {
            ln_threshold,
            sd,
            unshrunk: without_prior(ln_threshold, sd),
            criterion: moments(&criteria, CRITERION_RANGE),
        })
    }
}

/// Mean and standard deviation of weights on an even grid.
fn moments(weights: &[f64], (low, high): (f64, f64)) -> (f64, f64) {
    let at = |i: usize| low + (high - low) * i as f64 / (weights.len() - 1) as f64;
    let total: f64 = weights.iter().sum();
    let mean = weights.iter().enumerate().map(|(i, w)| w * at(i)).sum::<f64>() / total;
    let square: f64 = weights.iter().enumerate().map(|(i, w)| w * (at(i) - mean).powi(2)).sum();
    (mean, (square / total).sqrt())
}

/// Divides a normal posterior by the prior. Where the answers said little the posterior stays.
fn without_prior(mean: f64, sd: f64) -> (f64, f64) {
    let (prior_mean, prior_sd) = LN_THRESHOLD;
    if sd > 0.5 * prior_sd {
        return (mean, sd);
    }
    let (posterior, prior) = (sd.powi(-2), prior_sd.powi(-2));
    let variance = (posterior - prior).recip();
    (variance * (posterior * mean - prior * prior_mean), variance.sqrt())
}
