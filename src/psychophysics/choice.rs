//! Which of several noisy evidences is largest, and whether it exceeds a criterion.

use gauss_quad::GaussLegendre;
use statrs::function::erf::erfc;
use std::f64::consts::{FRAC_1_SQRT_2, PI};
use std::num::NonZeroUsize;

/// Quadrature points. 64 leave errors below 1e-10, 48 up to 1e-8 over the widest interval used here.
const NODES: usize = 64;
/// How far above the largest mean the integral goes, standard deviations.
const ABOVE: f64 = 8.0;
/// How far below the largest mean the integral starts at the lowest. Every integrand holds the
/// density or the distribution of the largest mean, so less than 1e-15 lies below.
const BELOW: f64 = 8.0;
/// Means are capped here: beyond, an answer is certain, and products would underflow.
const LARGEST_MEAN: f64 = 30.0;

/// Density of the standard normal distribution.
pub(crate) fn density(z: f64) -> f64 {
    (-0.5 * z * z).exp() / (2.0 * PI).sqrt()
}

/// The standard normal distribution function.
pub(crate) fn distribution(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}

/// Probabilities of naming each tooth or none when evidence `E_i = m_i + N(0, 1)` is compared
/// with a criterion `c`: the largest evidence is named if it exceeds `c`.
///
/// `Q_i = ∫_c^∞ φ(z − m_i) Π_{k≠i} Φ(z − m_k) dz`, `Q_0 = Π_k Φ(c − m_k)`.
///
/// # References
/// Sridharan, Steinmetz, Moore, Knudsen. J Vis 2014;14(9):16 (multi-alternative detection).
#[derive(Debug, Clone, PartialEq)]
pub struct ChoiceRule {
    /// Nodes and weights on −1..1.
    nodes: Vec<(f64, f64)>,
}

/// Choice probabilities and their slopes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Choice {
    /// Probability of "none" first, then of each tooth.
    pub probability: Vec<f64>,
    /// `∂ probability[y] / ∂ m_k` at `y × n + k`; empty unless asked for.
    pub by_mean: Vec<f64>,
    /// `∂ probability[y] / ∂ c`; empty unless asked for.
    pub by_criterion: Vec<f64>,
}

impl Default for ChoiceRule {
    fn default() -> Self {
        Self::new()
    }
}

impl ChoiceRule {
    /// The rule with its quadrature points.
    #[must_use]
    pub fn new() -> Self {
        let degree = NonZeroUsize::new(NODES).unwrap_or(NonZeroUsize::MIN);
        let rule = GaussLegendre::new(degree);
        Self { nodes: rule.as_node_weight_pairs().to_vec() }
    }

    /// Probabilities for `means` and `criterion`.
    #[must_use]
    pub fn probabilities(&self, means: &[f64], criterion: f64) -> Choice {
        self.evaluate(means, criterion, false)
    }

    /// Probabilities with their slopes.
    #[must_use]
    pub fn with_slopes(&self, means: &[f64], criterion: f64) -> Choice {
        self.evaluate(means, criterion, true)
    }

    fn evaluate(&self, means: &[f64], criterion: f64, slopes: bool) -> Choice {
        let n = means.len();
        let mean = |i: usize| means[i].min(LARGEST_MEAN);
        let largest = (0..n).map(mean).fold(f64::NEG_INFINITY, f64::max);
        let low = criterion.max(largest - BELOW);
        let high = criterion.max(largest) + ABOVE;
        let (centre, half) = (0.5 * (low + high), 0.5 * (high - low));

        let mut probability = vec![0.0; n + 1];
        let mut pairs = vec![0.0; if slopes { n * n } else { 0 }];
        let mut ratio = vec![0.0; n];
        for (node, weight) in &self.nodes {
            let z = centre + half * node;
            let product = ratios(z, n, mean, &mut ratio) * weight * half;
            for i in 0..n {
                let part = product * ratio[i];
                probability[i + 1] += part;
                if slopes {
                    for k in 0..i {
                        pairs[i * n + k] += part * ratio[k];
                    }
                }
            }
        }
        let product = ratios(criterion, n, mean, &mut ratio);
        probability[0] = product;
        if !slopes {
            return Choice { probability, ..Choice::default() };
        }

        let mut by_mean = vec![0.0; (n + 1) * n];
        let mut by_criterion = vec![0.0; n + 1];
        for i in 0..n {
            let edge = product * ratio[i];
            by_mean[i] = -edge;
            by_criterion[0] += edge;
            by_criterion[i + 1] = -edge;
            // Moving all means and the criterion together changes nothing.
            let mut own = edge;
            for k in (0..n).filter(|k| *k != i) {
                let pair = if k < i { pairs[i * n + k] } else { pairs[k * n + i] };
                by_mean[(i + 1) * n + k] = -pair;
                own += pair;
            }
            by_mean[(i + 1) * n + i] = own;
        }
        Choice { probability, by_mean, by_criterion }
    }
}

/// Fills `φ/Φ` of every mean at `z` and returns `Π Φ`.
fn ratios(z: f64, n: usize, mean: impl Fn(usize) -> f64, ratio: &mut [f64]) -> f64 {
    let mut product = 1.0;
    for (i, ratio) in ratio.iter_mut().enumerate().take(n) {
        let below = distribution(z - mean(i));
        *ratio = if below > 0.0 { density(z - mean(i)) / below } else { 0.0 };
        product *= below;
    }
    product
}
