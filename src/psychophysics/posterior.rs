//! What the trials say of an observer, whole: draws from the posterior with weights.
//!
//! The maximum and its curvature ([`Refit`]) describe the middle of the posterior, not its tails:
//! a threshold near the end of the differences on offer has a long tail to one side, and a lapse
//! rate is cut off at 0. So the posterior is drawn from, with weights (`WeightedDraws`).

use crate::psychophysics::draws::{Deviates, Distribution, FIRST, NEXT, WeightedDraws};
use crate::psychophysics::likelihood::Likelihood;
use crate::psychophysics::refit::Refit;
use crate::psychophysics::{GlanceModel, ModelTrial};
use nalgebra::DVector;

/// Effective draws below which the normal approximation is stated instead. With 100, the end of a
/// 95 % interval is off by a quarter of a standard error.
pub(crate) const LEAST: f64 = 100.0;

/// How a posterior was summarised.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub enum Summary {
    /// By weighted draws.
    Sampled {
        /// Number of equally weighted draws that would say as much.
        effective: f64,
    },
    /// By the normal distribution at its maximum, because weighted draws said too little.
    Normal,
}

/// Draws from the posterior of an observer's parameters.
#[derive(Debug, Clone, PartialEq)]
pub struct Posterior {
    axes: usize,
    width: usize,
    /// Natural parameters, draw after draw.
    draws: Vec<f64>,
    /// Sum to 1.
    weights: Vec<f64>,
    summary: Summary,
}

impl Posterior {
    /// The posterior that `refit` is about the maximum of. The same trials give the same draws.
    #[must_use]
    pub fn new(refit: &Refit, model: &GlanceModel, trials: &[ModelTrial]) -> Self {
        Self::sample(refit, &Likelihood::new(model, trials))
    }

    pub(crate) fn sample(refit: &Refit, likelihood: &Likelihood) -> Self {
        Self::sample_or_normal(refit, likelihood, LEAST)
    }

    /// The normal approximation where draws are worth fewer than `least`.
    fn sample_or_normal(refit: &Refit, likelihood: &Likelihood, least: f64) -> Self {
        let width = refit.natural().len();
        let axes = width - crate::psychophysics::glance_model::place::COUNT;
        let mut natural = vec![0.0; width];
        let target = |z: &DVector<f64>, natural: &mut [f64]| {
            refit.natural_at(z, natural);
            let ln = refit.ln_prior(z) + likelihood.at(natural);
            if ln.is_finite() { ln } else { f64::NEG_INFINITY }
        };
        let drawn = WeightedDraws::new(refit.at(), refit.covariance(), |z| target(z, &mut natural));
        if drawn.effective < least {
            return Self::normal(refit, axes);
        }
        let mut draws = vec![0.0; width * drawn.points.len()];
        for (z, row) in drawn.points.iter().zip(draws.chunks_exact_mut(width)) {
            refit.natural_at(z, row);
        }
        let summary = Summary::Sampled { effective: drawn.effective };
        Self { axes, width, draws, weights: drawn.weights, summary }
    }

    /// Draws from the normal distribution at the maximum.
    fn normal(refit: &Refit, axes: usize) -> Self {
        let width = refit.natural().len();
        let count = FIRST + NEXT;
        let mut draws = vec![0.0; width * count];
        let mut deviates = Deviates::new();
        let factor = refit.covariance().clone().cholesky().map(|c| c.unpack());
        let mut rows = draws.chunks_exact_mut(width);
        while let (Some(one), Some(other)) = (rows.next(), rows.next()) {
            let free = refit.at().len();
            let normal = DVector::from_fn(free, |_, _| deviates.normal());
            let step = factor.as_ref().map_or_else(|| DVector::zeros(free), |f| f * normal);
            refit.natural_at(&(refit.at() + &step), one);
            refit.natural_at(&(refit.at() - &step), other);
        }
        let weights = vec![1.0 / count as f64; count];
        Self { axes, width, draws, weights, summary: Summary::Normal }
    }

    /// How the posterior was summarised.
    #[must_use]
    pub const fn summary(&self) -> Summary {
        self.summary
    }

    /// The distribution of a quantity of the natural parameters `(ln τ …, ln β, c, λ, κ, η, b)`.
    pub(crate) fn of(&self, quantity: impl Fn(&[f64]) -> f64) -> Distribution {
        let values = self.draws.chunks_exact(self.width).map(quantity);
        Distribution::new(values.zip(self.weights.iter().copied()).collect())
    }

    /// The distribution of a shared parameter at a place.
    pub(crate) fn shared(&self, place: usize) -> Distribution {
        self.of(|natural| natural[self.axes + place])
    }

    /// The distribution of `ln τ` on one axis.
    #[must_use]
    pub fn ln_threshold(&self, axis: usize) -> Distribution {
        self.of(|natural| natural[axis])
    }

    /// The distribution of the logarithm of d′ at a difference of `de00` on one axis:
    /// `ln 2 + β (ln x − ln τ)`.
    #[must_use]
    pub fn ln_d_prime(&self, axis: usize, de00: f64) -> Distribution {
        use crate::psychophysics::glance_model::{D_PRIME_AT_THRESHOLD, place};
        let exponent = self.axes + place::EXPONENT;
        let distance = |natural: &[f64]| de00.ln() - natural[axis];
        self.of(|n| D_PRIME_AT_THRESHOLD.ln() + n[exponent].exp() * distance(n))
    }

    /// The distribution of the false-alarm rate over the catch trials among `trials`, 0..1.
    #[must_use]
    pub fn false_alarms(&self, model: &GlanceModel, trials: &[ModelTrial]) -> Distribution {
        let likelihood = Likelihood::new(model, trials);
        self.of(|natural| likelihood.named_on_catch(natural))
    }

    /// The distribution of the criterion.
    #[must_use]
    pub fn criterion(&self) -> Distribution {
        self.shared(crate::psychophysics::glance_model::place::CRITERION)
    }

    /// The distribution of the confusion `κ`.
    #[must_use]
    pub fn confusion(&self) -> Distribution {
        self.shared(crate::psychophysics::glance_model::place::CONFUSION)
    }

    /// The distribution of the side bias.
    #[must_use]
    pub fn side_bias(&self) -> Distribution {
        self.shared(crate::psychophysics::glance_model::place::SIDE)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::psychophysics::{Axis, Direction, Fit};
    use crate::scene::Tooth;

    fn model() -> GlanceModel {
        GlanceModel::new(&Tooth::arch(10), &[Axis::Darker])
    }

    /// Few finds, all of the largest differences: the threshold has a long tail upwards.
    fn few_finds() -> Vec<ModelTrial> {
        (0..32)
            .map(|i| {
                let tooth = i * 7 % 10;
                let x = [1.0, 2.5, 6.0][i % 3];
                let signal = (i % 4 != 0).then_some((tooth, Direction::Darker, x));
                let answer = if i % 12 == 11 { tooth + 1 } else { 0 };
                ModelTrial { signal, residuals_de00: vec![], exposure_s: 2.5, answer }
            })
            .collect()
    }

    #[test]
    fn without_trials_it_is_the_prior() {
        let refit = Refit::new(&model(), &[], Fit::Full).unwrap();
        let posterior = Posterior::new(&refit, &model(), &[]);
        let ln_threshold = posterior.ln_threshold(0);
        // ln τ ~ N(ln 2, 0.8), the prior of the refit; three standard errors of 600 draws or more.
        assert!((ln_threshold.mean() - 2.0_f64.ln()).abs() < 0.1, "{}", ln_threshold.mean());
        assert!((ln_threshold.sd() - 0.8).abs() < 0.08, "{}", ln_threshold.sd());
        // κ: logistic of N(−0.85, 0.8), whose median is 1/(1 + e^0.85) = 0.2994 and whose 97.5 %
        // point is 1/(1 + e^(0.85 − 1.96 · 0.8)) = 0.672.
        let confusion = posterior.confusion();
        assert!((confusion.quantile(0.5) - 0.2994).abs() < 0.03, "{}", confusion.quantile(0.5));
        assert!((confusion.quantile(0.975) - 0.672).abs() < 0.07, "{}", confusion.quantile(0.975));
        assert!((confusion.share_below(0.2994) - 0.5).abs() < 0.06);
        // Half N(0, 0.05), half N(0, 0.4): within 0.1 of 0 lie ½ (2Φ(2) − 1) + ½ (2Φ(0.25) − 1) =
        // 0.576, below −0.4 ½ Φ(−1) = 0.079. Tables of Φ.
        let side = posterior.side_bias();
        let near = side.share_below(0.1) - side.share_below(-0.1);
        assert!((near - 0.576).abs() < 0.07, "{near}");
        assert!((side.share_below(-0.4) - 0.079).abs() < 0.04, "{}", side.share_below(-0.4));
        // c: N(2, 0.45).
        let criterion = posterior.criterion();
        assert!((criterion.mean() - 2.0).abs() < 0.06, "{}", criterion.mean());
        assert!((criterion.sd() - 0.45).abs() < 0.05, "{}", criterion.sd());
        let Summary::Sampled { effective } = posterior.summary() else { panic!("not sampled") };
        assert!(effective > 400.0, "{effective}");
    }

    /// A skewed posterior against its sum over a grid.
    #[test]
    fn agrees_with_a_grid_where_the_normal_does_not() {
        let (model, trials) = (model(), few_finds());
        let refit = Refit::new(&model, &trials, Fit::Simple).unwrap();
        let likelihood = Likelihood::new(&model, &trials);
        let posterior = Posterior::sample(&refit, &likelihood);
        let normal = Posterior::sample_or_normal(&refit, &likelihood, f64::INFINITY);
        assert_eq!(normal.summary(), Summary::Normal);

        // Four free parameters: ln τ about the maximum in half standard errors, the others over
        // their priors, ln β ~ N(0, 0.25), c ~ N(2, 0.45), lapses N(−1.5, 1) on their scale.
        let (ln_threshold, sd) = refit.ln_threshold(0);
        let tau: Vec<f64> = (-14..=10).map(|i| ln_threshold + 0.5 * sd * f64::from(i)).collect();
        let prior = |mean: f64, sd: f64, step: f64| -> Vec<f64> {
            let ends = (4.0 / step) as i32;
            (-ends..=ends).map(|i| mean + step * sd * f64::from(i)).collect()
        };
        let shared = (prior(0.0, 0.25, 1.0), prior(2.0, 0.45, 0.5), prior(-1.5, 1.0, 1.0));
        let mut grid = Vec::new();
        let mut natural = vec![0.0; refit.natural().len()];
        for t in &tau {
            for beta in &shared.0 {
                for c in &shared.1 {
                    for lapse in &shared.2 {
                        let z = DVector::from_vec(vec![*t, *beta, *c, *lapse]);
                        refit.natural_at(&z, &mut natural);
                        grid.push((*t, refit.ln_prior(&z) + likelihood.at(&natural)));
                    }
                }
            }
        }
        let largest = grid.iter().map(|(_, ln)| *ln).fold(f64::NEG_INFINITY, f64::max);
        let sum: f64 = grid.iter().map(|(_, ln)| (ln - largest).exp()).sum();
        let moment = |f: &dyn Fn(f64) -> f64| {
            grid.iter().map(|(x, ln)| f(*x) * (ln - largest).exp()).sum::<f64>() / sum
        };
        let mean = moment(&|x| x);
        let sd = moment(&|x| (x - mean).powi(2)).sqrt();
        let skewness = moment(&|x| ((x - mean) / sd).powi(3));
        let (found, approximate) = (posterior.ln_threshold(0), normal.ln_threshold(0));
        println!(
            "grid {mean:.3} ± {sd:.3}, skewness {skewness:.2}; draws {:.3} ± {:.3}; normal {:.3} ± {:.3}; {:?}",
            found.mean(),
            found.sd(),
            approximate.mean(),
            approximate.sd(),
            posterior.summary()
        );
        // Four standard errors of 400 draws.
        assert!((found.mean() - mean).abs() < 0.2 * sd, "{} {mean}", found.mean());
        assert!((found.sd() / sd - 1.0).abs() < 0.14, "{} {sd}", found.sd());
        // The 2.5 % point: a point of the grid stands for half a step either way.
        let share = |limit: f64| moment(&|x| f64::from(u8::from(x <= limit)));
        let step = tau[1] - tau[0];
        let upper = tau.iter().position(|x| share(*x) >= 0.025).unwrap();
        let (below, above) = (share(tau[upper - 1]), share(tau[upper]));
        let low = tau[upper] - 0.5 * step + step * (0.025 - below) / (above - below);
        let (drawn, normal) = (found.quantile(0.025), approximate.quantile(0.025));
        println!("2.5 % point: grid {low:.3}, draws {drawn:.3}, normal {normal:.3}");
        // An end of an interval has a standard error of 0.12 standard deviations with 400 draws.
        assert!((drawn - low).abs() < 0.36 * sd, "{drawn} {low}");
        assert!((normal - low).abs() > (drawn - low).abs(), "{normal} {drawn} {low}");
        assert!(skewness.abs() > 0.2, "the case does not test skewness: {skewness}");
    }

    #[test]
    fn same_trials_same_draws() {
        let (model, trials) = (model(), few_finds());
        let draw = || {
            let refit = Refit::new(&model, &trials, Fit::Full).unwrap();
            Posterior::new(&refit, &model, &trials)
        };
        assert_eq!(draw(), draw());
    }
}
