//! The likelihood of all trials at many observers, fast: what sampling a posterior takes.
//!
//! The same model as [`GlanceModel`], worked out for the answer that was given alone. What does
//! not change from observer to observer is prepared, the normal distribution is a table, and a
//! few nodes do: a probability is off by less than 1e-6, which lapses drown.

use crate::psychophysics::Direction;
use crate::psychophysics::choice::NormalTable;
use crate::psychophysics::glance_model::{
    D_PRIME_AT_THRESHOLD, GlanceModel, INVISIBLE, ModelTrial, SLIP, exposure_gain, place,
};
use gauss_quad::GaussLegendre;
use std::num::NonZeroUsize;

/// Quadrature points.
const NODES: usize = 20;
/// How far around the largest mean the integral goes, standard deviations.
const AROUND: f64 = 6.0;
/// As in the exact rule: beyond, an answer is certain.
const LARGEST_MEAN: f64 = 30.0;
/// Points of the table of the normal distribution per standard deviation.
const DENSITY: f64 = 32.0;

/// Trials prepared for a model.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Likelihood {
    axes: usize,
    side: Vec<f64>,
    eccentricity: Vec<f64>,
    trials: Vec<Prepared>,
    /// A smile that keeps to the norm, in case no catch trial was shown.
    norm: Prepared,
    nodes: Vec<(f64, f64)>,
    table: NormalTable,
}

#[derive(Debug, Clone, PartialEq)]
struct Prepared {
    answer: usize,
    /// d′ at threshold for this exposure.
    gain: f64,
    /// Natural residual of every tooth.
    teeth: Vec<Residual>,
    signal: Option<Shown>,
}

/// A natural residual in value, ΔE00.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Residual {
    signed: f64,
    /// Logarithm of its size; minus infinity where there is none.
    ln: f64,
    /// The axis through whose threshold it is seen.
    axis: usize,
}

/// The restoration of a trial.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Shown {
    tooth: usize,
    /// Signed difference in value, ΔE00.
    value: f64,
    /// Difference on an axis that is not value, and that axis.
    across: Option<(usize, f64)>,
    /// Axes through whose thresholds a positive and a negative value are seen.
    value_axes: [usize; 2],
}

/// An observer as the likelihood reads one: what all trials share.
struct Observer<'a> {
    natural: &'a [f64],
    exponent: f64,
    criterion: f64,
    lapse: f64,
    confusion: f64,
    ln_confusion: f64,
    side_bias: f64,
    inverse_thresholds: Vec<f64>,
    /// Gain of every tooth by its distance from the midline.
    gains: Vec<f64>,
}

impl Likelihood {
    /// Prepares `trials`, which must fit `model`.
    pub(crate) fn new(model: &GlanceModel, trials: &[ModelTrial]) -> Self {
        let n = model.teeth();
        let prepare = |trial: &ModelTrial| {
            let residual = |i: usize| {
                let signed = trial.residuals_de00.get(i).copied().unwrap_or(0.0);
                Residual { signed, ln: signed.abs().ln(), axis: model.value_axis(signed < 0.0) }
            };
            let signal = trial.signal.map(|(tooth, direction, x)| {
                let is_value = matches!(direction, Direction::Darker | Direction::Lighter);
                let on_axis = model.axes().iter().position(|a| *a == direction.axis());
                Shown {
                    tooth,
                    value: if is_value { direction.sign() * x } else { 0.0 },
                    across: if is_value { None } else { on_axis.map(|axis| (axis, x)) },
                    value_axes: [model.value_axis(false), model.value_axis(true)],
                }
            });
            let gain = D_PRIME_AT_THRESHOLD * exposure_gain(trial.exposure_s);
            Prepared { answer: trial.answer, gain, teeth: (0..n).map(residual).collect(), signal }
        };
        let norm = ModelTrial { signal: None, residuals_de00: vec![], exposure_s: 2.5, answer: 0 };
        let rule = GaussLegendre::new(NonZeroUsize::new(NODES).unwrap_or(NonZeroUsize::MIN));
        Self {
            axes: model.axes().len(),
            side: model.side().to_vec(),
            eccentricity: model.eccentricity().to_vec(),
            trials: trials.iter().map(prepare).collect(),
            norm: prepare(&norm),
            nodes: rule.as_node_weight_pairs().to_vec(),
            table: NormalTable::new(DENSITY),
        }
    }

    fn observer<'a>(&self, natural: &'a [f64]) -> Observer<'a> {
        let rest = &natural[self.axes..];
        Observer {
            natural,
            exponent: rest[place::EXPONENT].exp(),
            criterion: rest[place::CRITERION],
            lapse: rest[place::LAPSE],
            confusion: rest[place::CONFUSION],
            ln_confusion: rest[place::CONFUSION].ln(),
            side_bias: rest[place::SIDE],
            inverse_thresholds: natural[..self.axes].iter().map(|t| (-t).exp()).collect(),
            gains: self
                .eccentricity
                .iter()
                .map(|e| (-rest[place::ECCENTRICITY] * e).exp())
                .collect(),
        }
    }

    /// Log likelihood of all trials at natural parameters.
    pub(crate) fn at(&self, natural: &[f64]) -> f64 {
        let observer = self.observer(natural);
        let mut means = vec![0.0; self.side.len()];
        let ln = |trial: &Prepared| self.answered(&observer, trial, &mut means).max(1e-300).ln();
        self.trials.iter().map(ln).sum()
    }

    /// Probability of naming any tooth, mean over the catch smiles shown; over a smile that keeps
    /// to the norm where there was none.
    pub(crate) fn named_on_catch(&self, natural: &[f64]) -> f64 {
        let observer = self.observer(natural);
        let mut means = vec![0.0; self.side.len()];
        let guess = 1.0 / (self.side.len() as f64 + 1.0);
        let mut named = |trial: &Prepared| {
            self.means(&observer, trial, &mut means);
            let none = self.none(&observer, &means);
            1.0 - (1.0 - observer.lapse) * none - observer.lapse * guess
        };
        let catch = self.trials.iter().filter(|t| t.signal.is_none());
        let (count, sum) = catch.fold((0_u32, 0.0), |(n, sum), t| (n + 1, sum + named(t)));
        if count == 0 { named(&self.norm) } else { sum / f64::from(count) }
    }

    /// Mean evidence of every tooth.
    fn means(&self, observer: &Observer<'_>, trial: &Prepared, means: &mut [f64]) {
        let seen = |square: f64| square / (square + INVISIBLE * INVISIBLE);
        for (i, (mean, tooth)) in means.iter_mut().zip(&trial.teeth).enumerate() {
            let ln = observer.ln_confusion + tooth.ln - observer.natural[tooth.axis];
            let along = observer.confusion * tooth.signed * observer.inverse_thresholds[tooth.axis];
            let evidence = trial.gain * observer.gains[i] * (observer.exponent * ln).exp();
            *mean = evidence * seen(along * along) + observer.side_bias * self.side[i];
        }
        if let Some(shown) = trial.signal {
            let i = shown.tooth;
            let value = observer.confusion * trial.teeth[i].signed + shown.value;
            let axis = shown.value_axes[usize::from(value < 0.0)];
            let along = value * observer.inverse_thresholds[axis];
            let beside = shown.across.map_or(0.0, |(a, x)| x * observer.inverse_thresholds[a]);
            let square = along * along + beside * beside;
            let evidence =
                trial.gain * observer.gains[i] * (0.5 * observer.exponent * square.ln()).exp();
            means[i] = evidence * seen(square) + observer.side_bias * self.side[i];
        }
    }

    /// Probability that no evidence exceeds the criterion.
    fn none(&self, observer: &Observer<'_>, means: &[f64]) -> f64 {
        means.iter().map(|m| self.table.at(observer.criterion - m.min(LARGEST_MEAN)).0).product()
    }

    /// Probability of the answer that was given.
    fn answered(&self, observer: &Observer<'_>, trial: &Prepared, means: &mut [f64]) -> f64 {
        self.means(observer, trial, means);
        let n = means.len();
        let lapse = observer.lapse;
        let guess = lapse / (n as f64 + 1.0);
        if trial.answer == 0 {
            return (1.0 - lapse) * self.none(observer, means) + guess;
        }
        let mut largest = f64::NEG_INFINITY;
        for mean in means.iter_mut() {
            *mean = mean.min(LARGEST_MEAN);
            largest = largest.max(*mean);
        }
        // What is answered as this tooth was chosen as this tooth or slipped from a neighbour;
        // the end teeth keep what would slip beyond them.
        let own = trial.answer - 1;
        let (first, last) = (own.saturating_sub(1), (own + 1).min(n - 1));
        let weight = |i: usize| {
            let kept = if i == own { 1.0 - SLIP } else { 0.5 * SLIP };
            let ends = usize::from(own == 0) + usize::from(own == n - 1);
            if i == own { kept + 0.5 * SLIP * ends as f64 } else { kept }
        };
        let low = observer.criterion.max(largest - AROUND);
        let high = observer.criterion.max(largest) + AROUND;
        let (centre, half) = (0.5 * (low + high), 0.5 * (high - low));
        let mut chosen = 0.0;
        for (node, node_weight) in &self.nodes {
            let z = centre + half * node;
            let mut others = 1.0;
            for mean in means[..first].iter().chain(&means[last + 1..]) {
                others *= self.table.at(z - mean).0;
            }
            // Σ weight φ_i Π Φ over the answered tooth and its neighbours.
            let (mut below, mut one) = (1.0, 0.0);
            for (i, mean) in means.iter().enumerate().take(last + 1).skip(first) {
                let (distribution, density) = self.table.at(z - mean);
                one = one * distribution + below * weight(i) * density;
                below *= distribution;
            }
            chosen += node_weight * others * one;
        }
        (1.0 - lapse) * chosen * half + guess
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::psychophysics::Axis;
    use crate::scene::Tooth;

    #[test]
    fn agrees_with_the_model() {
        for axes in [vec![Axis::Darker], vec![Axis::Chroma, Axis::Lighter], Axis::ALL.to_vec()] {
            let model = GlanceModel::new(&Tooth::arch(10), &axes);
            let mut worst = 0.0_f64;
            for i in 0..400 {
                // Numbers without a pattern.
                let u = |k: u32| (f64::from(i * 7 + k) * 0.754_877_666).fract();
                let directions = axes[i as usize % axes.len()].directions();
                let residuals_de00 = (0..10).map(|k| 2.4 * (u(k) - 0.5)).collect();
                let signal = (i % 4 != 0).then(|| {
                    let direction = directions[i as usize / 5 % directions.len()];
                    ((i * 3 % 10) as usize, direction, 0.25 * 40.0_f64.powf(u(11)))
                });
                let trial = ModelTrial {
                    signal,
                    residuals_de00,
                    exposure_s: 2.5,
                    answer: (i as usize * 5) % 11,
                };
                let mut natural: Vec<f64> =
                    (0..axes.len() as u32).map(|k| 3.0 * (u(20 + k) - 0.5) + 0.7).collect();
                natural.extend([
                    u(30) - 0.5,
                    0.5 + 3.0 * u(31),
                    0.15 * u(32),
                    u(33),
                    0.3 * (u(34) - 0.4),
                    1.6 * (u(35) - 0.5),
                ]);
                let exact = model.respond(&natural, &trial, false).probability[trial.answer];
                let fast = Likelihood::new(&model, std::slice::from_ref(&trial)).at(&natural).exp();
                worst = worst.max((exact - fast).abs());
                let likelihood = Likelihood::new(&model, std::slice::from_ref(&trial));
                if trial.signal.is_none() {
                    let none = model.respond(&natural, &trial, false).probability[0];
                    assert!((likelihood.named_on_catch(&natural) - 1.0 + none).abs() < 1e-6);
                }
            }
            println!("{worst:.2e}");
            assert!(worst < 1e-6, "{worst:e}");
        }
    }
}
