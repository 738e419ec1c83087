//! Weighted draws from a posterior that only its density is known of.
//!
//! Draws are taken from a distribution that is easy to draw from, a multivariate t about the
//! maximum, and each is weighted by how much more likely the posterior makes it (importance
//! sampling). A second distribution with the mean and covariance found by the first follows where the
//! posterior lies aside; draws of both are weighted by their mixture. The deviates come from one
//! named stream, so the same density gives the same draws.
//!
//! # References
//! Geweke, Econometrica 1989;57:1317-1339 (importance sampling of posteriors). Veach, Guibas,
//! Proc SIGGRAPH 1995:419-428 (weights by the mixture of all distributions drawn from). Kong, Liu,
//! Wong, J Am Stat Assoc 1994;89:278-288 (effective number of draws). All from memory.

use crate::random::{Purpose, StreamKey};
use nalgebra::{DMatrix, DVector};
use rand::RngExt;
use rand::distr::Open01;
use rand_chacha::ChaCha8Rng;
use statrs::distribution::{ContinuousCDF, Normal};

/// Draws in the first round and in each that follows.
pub(crate) const FIRST: usize = 400;
pub(crate) const NEXT: usize = 800;
/// Most rounds. The third is for what the second did not meet.
const ROUNDS: usize = 3;
/// Effective draws that are enough to stop after the second round.
const ENOUGH: f64 = 300.0;
/// Degrees of freedom of the t distributions: tails heavier than any posterior with normal
/// priors. Even, so that a χ² is a sum of logarithms.
const FREEDOM: usize = 6;

/// Draws from a posterior.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct WeightedDraws {
    /// Where the posterior was drawn.
    pub points: Vec<DVector<f64>>,
    /// Sum to 1.
    pub weights: Vec<f64>,
    /// Number of equally weighted draws that would say as much; 0 where nothing could be drawn.
    pub effective: f64,
}

impl WeightedDraws {
    /// Draws from the density whose logarithm, up to a constant, is `ln_density`, from about a
    /// maximum with this covariance.
    pub fn new(
        maximum: &DVector<f64>,
        covariance: &DMatrix<f64>,
        ln_density: impl FnMut(&DVector<f64>) -> f64,
    ) -> Self {
        Self::from_about(&[(maximum, covariance)], ln_density)
    }

    /// The same, the first round from about several places, each with its covariance: a density with
    /// more than one top, or a wide foot beside a narrow one.
    pub fn from_about(
        places: &[(&DVector<f64>, &DMatrix<f64>)],
        mut ln_density: impl FnMut(&DVector<f64>) -> f64,
    ) -> Self {
        let mut deviates = Deviates::new();
        let mut proposals: Vec<(Proposal, f64)> = Vec::new();
        let mut points: Vec<(DVector<f64>, f64)> = Vec::new();
        let mut next: Vec<Proposal> = places
            .iter()
            .filter_map(|(mean, scale)| Proposal::new((*mean).clone(), (*scale).clone()))
            .collect();
        let mut weights = Weights::default();
        for round in 0..ROUNDS {
            if next.is_empty() {
                break;
            }
            let count = if round == 0 { FIRST } else { NEXT };
            for proposal in next.drain(..) {
                for _ in 0..count / 2 {
                    let step = proposal.step(&mut deviates);
                    for z in [&proposal.mean + &step, &proposal.mean - &step] {
                        let ln = ln_density(&z);
                        points.push((z, ln));
                    }
                }
                proposals.push((proposal, count as f64));
            }
            weights = Weights::new(&points, &proposals);
            if round > 0 && weights.effective >= ENOUGH {
                break;
            }
            next.extend(weights.proposal(&points));
        }
        let points = points.into_iter().map(|(z, _)| z).collect();
        Self { points, weights: weights.of, effective: weights.effective }
    }

    /// The distribution of a quantity of the draws.
    pub fn of(&self, quantity: impl Fn(&DVector<f64>) -> f64) -> Distribution {
        let values = self.points.iter().map(quantity);
        Distribution::new(values.zip(self.weights.iter().copied()).collect())
    }
}

/// A distribution of one quantity by weighted draws.
#[derive(Debug, Clone, PartialEq)]
pub struct Distribution {
    /// Values in ascending order, each with its weight; weights sum to 1.
    draws: Vec<(f64, f64)>,
}

impl Distribution {
    pub(crate) fn new(mut draws: Vec<(f64, f64)>) -> Self {
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
pub(crate) struct Deviates {
    stream: ChaCha8Rng,
    normal: Normal,
}

impl Deviates {
    pub fn new() -> Self {
        let key = StreamKey {
            form: "posterior",
            seed: 0,
            purpose: Purpose::Posterior,
            block: 0,
            trial: 0,
        };
        Self { stream: key.stream(), normal: Normal::standard() }
    }

    pub fn normal(&mut self) -> f64 {
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
