//! The simple observer behind the choice of stimuli: one threshold per axis, a shared exponent,
//! criterion and lapse rate, on a grid; no natural variation, no side bias, no midline.

use crate::psychophysics::choice::{ChoiceRule, distribution};
use crate::psychophysics::glance_model::{D_PRIME_AT_THRESHOLD, SLIP, exposure_gain};
use crate::psychophysics::quest_plus::{OutcomeTable, QuestError};
use crate::psychophysics::refit::CRITERION;
use crate::psychophysics::shared_posterior::SharedPosterior;

/// Outcomes of a signal trial.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Outcome {
    None,
    Right,
    Wrong,
}

const EXPONENTS: [f64; 3] = [0.7, 1.0, 1.4];
const LAPSES: [(f64, f64); 3] = [(0.01, 0.45), (0.04, 0.40), (0.08, 0.15)];
const CRITERIA: usize = 10;
const THRESHOLDS: usize = 29;
/// Differences on offer: 27 steps of 0.06 in log10 from 0.25 ΔE00.
const STEPS: usize = 27;
/// Spacing and end of the evidence at which choice probabilities are tabulated. Cubic Hermite
/// pieces between them are right to 1e-8.
const EVIDENCE_STEP: f64 = 0.1;
const EVIDENCE_POINTS: usize = 141;

/// Everything about the online observer that depends on the number of teeth and the exposure
/// alone. Building it takes some tens of milliseconds; measurements may share one.
#[derive(Debug, Clone, PartialEq)]
pub struct OnlineModel {
    teeth: usize,
    exposure_s: f64,
    thresholds: Vec<f64>,
    steps: Vec<f64>,
    criteria: Vec<f64>,
    /// Probability of the right tooth and its slope, `[criterion][evidence]`.
    right: Vec<Vec<(f64, f64)>>,
    table: OutcomeTable,
}

/// Weight of a normal density, unnormalised.
fn bell(x: f64, mean: f64, sd: f64) -> f64 {
    (-0.5 * ((x - mean) / sd).powi(2)).exp()
}

impl OnlineModel {
    /// The model for `teeth` teeth shown for `exposure_s` seconds.
    ///
    /// # Errors
    /// [`QuestError`] when the probabilities do not sum to 1, which no input within the ranges of
    /// [`Config`](super::Config) causes.
    pub fn new(teeth: usize, exposure_s: f64) -> Result<Self, QuestError> {
        let spaced = |from: f64, to: f64, count: usize| -> Vec<f64> {
            let step = (to - from) / (count - 1) as f64;
            (0..count).map(|i| from + step * i as f64).collect()
        };
        let thresholds: Vec<f64> =
            spaced(0.30_f64.ln(), 7.5_f64.ln(), THRESHOLDS).iter().map(|x| x.exp()).collect();
        let steps: Vec<f64> = (0..STEPS).map(|i| 0.25 * 10.0_f64.powf(0.06 * i as f64)).collect();
        let criteria = spaced(0.75, 3.0, CRITERIA);
        let rule = ChoiceRule::new();
        let right = criteria
            .iter()
            .map(|c| {
                let mut means = vec![0.0; teeth];
                let at = |i: usize| {
                    means[0] = EVIDENCE_STEP * i as f64;
                    let choice = rule.with_slopes(&means, *c);
                    (choice.probability[1], choice.by_mean[teeth])
                };
                (0..EVIDENCE_POINTS).map(at).collect()
            })
            .collect();
        let mut model = Self {
            teeth,
            exposure_s,
            thresholds,
            steps,
            criteria,
            right,
            table: OutcomeTable::new(2, 2, 2, |_, _, out| out.fill(0.5))?,
        };
        model.table = OutcomeTable::new(
            STEPS,
            3,
            THRESHOLDS * Self::shared_points(),
            |stimulus, point, out| {
                let (shared, threshold) = (point / THRESHOLDS, point % THRESHOLDS);
                let x = model.steps[stimulus];
                let (none, right) = model.signal(x, exposure_s, shared, threshold);
                out.copy_from_slice(&[none, right, 1.0 - none - right]);
            },
        )?;
        Ok(model)
    }

    const fn shared_points() -> usize {
        EXPONENTS.len() * CRITERIA * LAPSES.len()
    }

    /// Exponent, index of the criterion, and lapse rate of a shared point.
    fn shared(point: usize) -> (f64, usize, f64) {
        let lapse = point % LAPSES.len();
        let criterion = point / LAPSES.len() % CRITERIA;
        (EXPONENTS[point / (LAPSES.len() * CRITERIA)], criterion, LAPSES[lapse].0)
    }

    /// Whether the model is one for `teeth` teeth and `exposure_s`.
    pub(super) fn fits(&self, teeth: usize, exposure_s: f64) -> bool {
        self.teeth == teeth && self.exposure_s == exposure_s
    }

    /// The prior over `axes` thresholds and the shared parameters.
    pub(super) fn prior(&self, axes: usize) -> Option<SharedPosterior> {
        let thresholds = self.thresholds.iter().map(|t| bell(t.ln(), 2.0_f64.ln(), 0.8)).collect();
        let shared = (0..Self::shared_points())
            .map(|point| {
                let (exponent, criterion, _) = Self::shared(point);
                let lapse = LAPSES[point % LAPSES.len()].1;
                let (mean, sd) = CRITERION;
                bell(exponent.ln(), 0.0, 0.25) * bell(self.criteria[criterion], mean, sd) * lapse
            })
            .collect();
        SharedPosterior::new(axes, thresholds, shared)
    }

    /// Probabilities of "none" and of the right tooth.
    fn signal(&self, x: f64, exposure_s: f64, shared: usize, threshold: usize) -> (f64, f64) {
        let (exponent, c, lapse) = Self::shared(shared);
        let others = self.teeth as f64 - 1.0;
        let evidence = D_PRIME_AT_THRESHOLD
            * exposure_gain(exposure_s)
            * (x / self.thresholds[threshold]).powf(exponent);
        let criterion = self.criteria[c];
        let none = distribution(criterion).powf(others) * distribution(criterion - evidence);
        let right = self.right_tooth(c, evidence).clamp(0.0, 1.0 - none);
        // What slips to a neighbour, seen from the restored tooth, is lost to the wrong ones and
        // gained from them.
        let wrong = 1.0 - none - right;
        let right = (1.0 - SLIP) * right + SLIP * wrong / others;
        let guess = lapse / (self.teeth as f64 + 1.0);
        ((1.0 - lapse) * none + guess, (1.0 - lapse) * right + guess)
    }

    fn right_tooth(&self, criterion: usize, evidence: f64) -> f64 {
        let table = &self.right[criterion];
        let at = (evidence / EVIDENCE_STEP).min((EVIDENCE_POINTS - 1) as f64);
        let i = (at as usize).min(EVIDENCE_POINTS - 2);
        let t = at - i as f64;
        let ((p0, s0), (p1, s1)) = (table[i], table[i + 1]);
        let (t2, t3) = (t * t, t * t * t);
        (2.0 * t3 - 3.0 * t2 + 1.0) * p0
            + (t3 - 2.0 * t2 + t) * EVIDENCE_STEP * s0
            + (3.0 * t2 - 2.0 * t3) * p1
            + (t3 - t2) * EVIDENCE_STEP * s1
    }

    /// The most informative difference within a range on one axis, ΔE00.
    pub(super) fn choose(
        &self,
        posterior: &SharedPosterior,
        axis: usize,
        range: (f64, f64),
    ) -> f64 {
        // A hair of slack, so that an end that is a step of the grid counts as inside.
        let first = self.steps.partition_point(|x| *x < range.0 * (1.0 - 1e-9));
        let end = self.steps.partition_point(|x| *x <= range.1 * (1.0 + 1e-9));
        let best = self.table.best(&posterior.joint(axis), first..end);
        best.map_or(range.1, |(stimulus, _)| self.steps[stimulus])
    }

    /// Mean and standard deviation of `ln τ` on one axis.
    pub(super) fn ln_threshold(&self, posterior: &SharedPosterior, axis: usize) -> (f64, f64) {
        let logs: Vec<f64> = self.thresholds.iter().map(|t| t.ln()).collect();
        posterior.moments(axis, &logs)
    }

    /// Learns from a signal trial.
    pub(super) fn learn_signal(
        &self,
        posterior: &mut SharedPosterior,
        axis: usize,
        x: f64,
        exposure_s: f64,
        outcome: Outcome,
    ) {
        posterior.update_axis(axis, |shared, threshold| {
            let (none, right) = self.signal(x, exposure_s, shared, threshold);
            match outcome {
                Outcome::None => none,
                Outcome::Right => right,
                Outcome::Wrong => 1.0 - none - right,
            }
        });
    }

    /// Learns from a catch trial.
    pub(super) fn learn_catch(&self, posterior: &mut SharedPosterior, named_a_tooth: bool) {
        let teeth = self.teeth as f64;
        posterior.update_shared(|shared| {
            let (_, c, lapse) = Self::shared(shared);
            let none =
                (1.0 - lapse) * distribution(self.criteria[c]).powf(teeth) + lapse / (teeth + 1.0);
            if named_a_tooth { 1.0 - none } else { none }
        });
    }

    /// Tables for tests and benchmarks: the outcome table of one axis.
    #[must_use]
    pub const fn table(&self) -> &OutcomeTable {
        &self.table
    }
}
