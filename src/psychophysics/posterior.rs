//! What the trials say of an observer, whole: draws from the posterior with weights.
//!
//! The maximum and its curvature ([`Refit`]) describe the middle of the posterior, not its tails:
//! a threshold near the end of the differences on offer has a long tail to one side, and a lapse
//! rate is cut off at 0. So draws are taken from a distribution that is easy to draw from, a
//! multivariate t about the maximum, and each is weighted by how much more likely the posterior
//! makes it (importance sampling). A second distribution with the mean and covariance found by the
//! first follows where the posterior lies aside; draws of both are weighted by their mixture.
//!
//! # References
//! Geweke, Econometrica 1989;57:1317-1339 (importance sampling of posteriors). Veach, Guibas,
//! Proc SIGGRAPH 1995:419-428 (weights by the mixture of all distributions drawn from). Kong, Liu,
//! Wong, J Am Stat Assoc 1994;89:278-288 (effective number of draws). All from memory.

use crate::psychophysics::likelihood::Likelihood;
use crate::psychophysics::refit::Refit;
use crate::psychophysics::{GlanceModel, ModelTrial};
use crate::random::{Purpose, StreamKey};
use nalgebra::{DMatrix, DVector};
use rand::RngExt;
use rand::distr::Open01;
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF, Normal};

/// Draws in the first round and in each that follows.
const FIRST: usize = 400;
const NEXT: usize = 800;
/// Most rounds. The third is for what the second did not meet.
const ROUNDS: usize = 3;
/// Effective draws that are enough to stop after the second round.
const ENOUGH: f64 = 300.0;
/// Effective draws below which the normal approximation is stated instead. With 100, the end of a
/// 95 % interval is off by a quarter of a standard error.
const LEAST: f64 = 100.0;
/// Degrees of freedom of the t distributions: tails heavier than any posterior with normal
/// priors. Even, so that a χ² is a sum of logarithms.
const FREEDOM: usize = 6;

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
        let mut deviates = Deviates::new();
        let mut proposals: Vec<(Proposal, f64)> = Vec::new();
        let mut points: Vec<(DVector<f64>, f64)> = Vec::new();
        let mut next = Proposal::new(refit.at().clone(), refit.covariance().clone());
        let mut weights = Weights::default();
        for round in 0..ROUNDS {
            let Some(proposal) = next.take() else { break };
            let count = if round == 0 { FIRST } else { NEXT };
            for _ in 0..count / 2 {
                let step = proposal.step(&mut deviates);
                for z in [&proposal.mean + &step, &proposal.mean - &step] {
                    let ln = target(&z, &mut natural);
                    points.push((z, ln));
                }
            }
            proposals.push((proposal, count as f64));
            weights = Weights::new(&points, &proposals);
            if round > 0 && weights.effective >= ENOUGH {
                break;
            }
            next = weights.proposal(&points);
        }
        if weights.effective < least {
            return Self::normal(refit, axes);
        }
        let mut draws = vec![0.0; width * points.len()];
        for ((z, _), row) in points.iter().zip(draws.chunks_exact_mut(width)) {
            refit.natural_at(z, row);
        }
        let summary = Summary::Sampled { effective: weights.effective };
        Self { axes, width, draws, weights: weights.of, summary }
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

/// A distribution of one quantity by weighted draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Distribution {
    /// Values in ascending order, each with its weight; weights sum to 1.
    draws: Vec<(f64, f64)>,
}

impl Distribution {
    fn new(mut draws: Vec<(f64, f64)>) -> Self {
        draws.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        Self { draws }
    }

    /// The mean.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.draws.iter().map(|(value, weight)| value * weight).sum()
    }

    /// The standard deviation.
    #[must_use]
    pub fn sd(&self) -> f64 {
        let mean = self.mean();
        let square: f64 = self.draws.iter().map(|(v, w)| w * (v - mean) * (v - mean)).sum();
        square.max(0.0).sqrt()
    }

    /// The value below which a `share` of the distribution lies, 0..1, by a line between draws.
    #[must_use]
    pub fn quantile(&self, share: f64) -> f64 {
        let (mut below, mut last) = (0.0, None::<(f64, f64)>);
        for (value, weight) in self.draws.iter().filter(|(_, w)| *w > 0.0) {
            // Half of a draw lies below its value.
            let middle = below + 0.5 * weight;
            if middle >= share {
                return match last {
                    Some((value_before, middle_before)) => {
                        let t = (share - middle_before) / (middle - middle_before);
                        // Next to minus infinity there is nothing in between.
                        if value_before.is_finite() {
                            value_before + t * (value - value_before)
                        } else {
                            value_before
                        }
                    }
                    None => *value,
                };
            }
            below += weight;
            last = Some((*value, middle));
        }
        last.map_or(f64::NAN, |(value, _)| value)
    }

    /// The share of the distribution below `value`, 0..1: the rank of a truth.
    #[must_use]
    pub fn share_below(&self, value: f64) -> f64 {
        self.draws.iter().take_while(|(v, _)| *v < value).map(|(_, w)| w).sum()
    }
}

/// A multivariate t distribution to draw from.
struct Proposal {
    mean: DVector<f64>,
    /// Lower factor of the scale.
    factor: DMatrix<f64>,
    ln_determinant: f64,
}

impl Proposal {
    /// `None` unless the scale is positive definite.
    fn new(mean: DVector<f64>, scale: DMatrix<f64>) -> Option<Self> {
        let factor = scale.cholesky()?.unpack();
        let ln_determinant = factor.diagonal().iter().map(|d| d.ln()).sum();
        Some(Self { mean, factor, ln_determinant })
    }

    fn step(&self, deviates: &mut Deviates) -> DVector<f64> {
        let normal = DVector::from_fn(self.mean.len(), |_, _| deviates.normal());
        &self.factor * normal * (FREEDOM as f64 / deviates.chi_square()).sqrt()
    }

    /// Logarithm of the density, up to what all such distributions share.
    fn ln_density(&self, z: &DVector<f64>) -> f64 {
        let Some(y) = self.factor.solve_lower_triangular(&(z - &self.mean)) else {
            return f64::NEG_INFINITY;
        };
        let (freedom, dimensions) = (FREEDOM as f64, self.mean.len() as f64);
        -0.5 * (freedom + dimensions) * (y.norm_squared() / freedom).ln_1p() - self.ln_determinant
    }
}

/// Weights of draws, summing to 1.
#[derive(Debug, Clone, Default)]
struct Weights {
    of: Vec<f64>,
    effective: f64,
}

impl Weights {
    /// Posterior over the mixture of all that was drawn from.
    fn new(points: &[(DVector<f64>, f64)], proposals: &[(Proposal, f64)]) -> Self {
        let ln_weight = |(z, target): &(DVector<f64>, f64)| {
            let ln: Vec<f64> = proposals.iter().map(|(p, n)| p.ln_density(z) + n.ln()).collect();
            let largest = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            target - largest - ln.iter().map(|l| (l - largest).exp()).sum::<f64>().ln()
        };
        let ln: Vec<f64> = points.iter().map(ln_weight).collect();
        let largest = ln.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if !largest.is_finite() {
            return Self::default();
        }
        let mut of: Vec<f64> = ln.iter().map(|l| (l - largest).exp()).collect();
        let sum: f64 = of.iter().sum();
        of.iter_mut().for_each(|w| *w /= sum);
        let effective = 1.0 / of.iter().map(|w| w * w).sum::<f64>();
        Self { of, effective }
    }

    /// The t distribution with the mean and covariance of weighted points; `None` where they are
    /// too few to have one.
    fn proposal(&self, points: &[(DVector<f64>, f64)]) -> Option<Proposal> {
        let width = points.first()?.0.len();
        let mut mean = DVector::zeros(width);
        for ((z, _), w) in points.iter().zip(&self.of) {
            mean.axpy(*w, z, 1.0);
        }
        let mut covariance = DMatrix::zeros(width, width);
        for ((z, _), w) in points.iter().zip(&self.of) {
            let from_mean = z - &mean;
            covariance.ger(*w, &from_mean, &from_mean, 1.0);
        }
        Proposal::new(mean, covariance)
    }
}

/// The deviates that all posteriors are drawn with.
struct Deviates {
    stream: ChaCha8Rng,
    normal: Normal,
}

impl Deviates {
    fn new() -> Self {
        let key = StreamKey {
            form: "posterior",
            seed: 0,
            purpose: Purpose::Posterior,
            block: 0,
            trial: 0,
        };
        Self { stream: key.stream(), normal: Normal::standard() }
    }

    fn normal(&mut self) -> f64 {
        self.normal.inverse_cdf(self.stream.sample(Open01))
    }

    /// χ² with [`FREEDOM`] degrees of freedom.
    fn chi_square(&mut self) -> f64 {
        let ln = |stream: &mut ChaCha8Rng| stream.sample::<f64, _>(Open01).ln();
        (0..FREEDOM / 2).map(|_| -2.0 * ln(&mut self.stream)).sum()
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

    #[test]
    fn quantiles_of_known_draws() {
        // By hand: middles of the draws lie at 0.1, 0.4 and 0.8.
        let of = Distribution::new(vec![(3.0, 0.4), (1.0, 0.2), (2.0, 0.4)]);
        for (share, value) in [(0.05, 1.0), (0.1, 1.0), (0.25, 1.5), (0.6, 2.5), (0.95, 3.0)] {
            assert!((of.quantile(share) - value).abs() < 1e-12, "{share}");
        }
        assert!((of.mean() - 2.2).abs() < 1e-12 && (of.share_below(2.0) - 0.2).abs() < 1e-12);
        let open = Distribution::new(vec![(f64::NEG_INFINITY, 0.5), (1.0, 0.5)]);
        assert_eq!(open.quantile(0.3), f64::NEG_INFINITY);
        assert_eq!(open.quantile(0.8), 1.0);
    }
}
