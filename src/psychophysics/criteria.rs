//! Outcome probabilities of a trial at many criteria at once.
//!
//! The criterion is only the lower end of the integral over evidence, so one pass from the top
//! down serves every criterion. Tables over hundreds of observers need that.

use crate::psychophysics::choice::{density, distribution};
use crate::psychophysics::glance_model::SLIP;
use crate::psychophysics::{GlanceModel, GlanceParameters, ModelTrial};
use gauss_quad::GaussLegendre;
use std::num::NonZeroUsize;

/// Nodes between two criteria a quarter apart, and above the highest.
const BETWEEN: usize = 4;
const ABOVE: usize = 48;
/// How far the integral goes beyond and starts before the largest mean; as in the choice rule.
const REACH: f64 = 8.0;
const LARGEST_MEAN: f64 = 30.0;

/// A rising list of criteria with the quadrature between them.
#[derive(Debug, Clone, PartialEq)]
pub struct Criteria {
    criteria: Vec<f64>,
    between: Vec<(f64, f64)>,
    above: Vec<(f64, f64)>,
}

/// Probability of "none" and of the restored tooth, before lapses; the latter 0 without a
/// restoration.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoneOrRight {
    /// "None".
    pub none: f64,
    /// The restored tooth.
    pub right: f64,
}

impl Criteria {
    /// For criteria in rising order.
    #[must_use]
    pub fn new(criteria: Vec<f64>) -> Self {
        let rule = |degree: usize| {
            let degree = NonZeroUsize::new(degree).unwrap_or(NonZeroUsize::MIN);
            GaussLegendre::new(degree).as_node_weight_pairs().to_vec()
        };
        Self { criteria, between: rule(BETWEEN), above: rule(ABOVE) }
    }

    /// The criteria.
    #[must_use]
    pub fn values(&self) -> &[f64] {
        &self.criteria
    }

    /// Probabilities at every criterion; those of `parameters` and its lapses are not used.
    #[must_use]
    pub fn outcomes(
        &self,
        model: &GlanceModel,
        parameters: &GlanceParameters,
        trial: &ModelTrial,
    ) -> Vec<NoneOrRight> {
        let means: Vec<f64> =
            model.means(parameters, trial).iter().map(|m| m.min(LARGEST_MEAN)).collect();
        let none = |c: f64| means.iter().map(|m| distribution(c - m)).product::<f64>();
        let mut out: Vec<NoneOrRight> =
            self.criteria.iter().map(|c| NoneOrRight { none: none(*c), right: 0.0 }).collect();
        let (Some((restored, ..)), Some(highest)) = (trial.signal, self.criteria.last()) else {
            return out;
        };
        // A choice slips to a neighbour; at an end the lost half stays.
        let last = means.len() - 1;
        let shares = [
            (restored, 1.0 - SLIP),
            (restored.saturating_sub(1), 0.5 * SLIP),
            ((restored + 1).min(last), 0.5 * SLIP),
        ];
        let integrand = |z: f64| {
            let product: f64 = means.iter().map(|m| distribution(z - m)).product();
            if product <= 0.0 {
                return 0.0;
            }
            let ratio = |i: usize| density(z - means[i]) / distribution(z - means[i]);
            product * shares.iter().map(|(i, share)| share * ratio(*i)).sum::<f64>()
        };
        let integral = |nodes: &[(f64, f64)], low: f64, high: f64| {
            let (centre, half) = (0.5 * (low + high), 0.5 * (high - low));
            half * nodes.iter().map(|(x, w)| w * integrand(centre + half * x)).sum::<f64>()
        };
        let largest = means.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut right =
            integral(&self.above, highest.max(largest - REACH), highest.max(largest) + REACH);
        for i in (0..out.len()).rev() {
            if i + 1 < out.len() {
                right += integral(&self.between, self.criteria[i], self.criteria[i + 1]);
            }
            out[i].right = right;
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::psychophysics::{Axis, Direction};
    use crate::scene::Tooth;

    #[test]
    fn one_pass_gives_what_the_model_gives_at_each_criterion() {
        let teeth = Tooth::arch(10);
        let model = GlanceModel::new(&teeth, &Axis::ALL);
        let criteria = Criteria::new((0..10).map(|i| 0.75 + 0.25 * f64::from(i)).collect());
        let residuals_de00: Vec<f64> = (0..10).map(|i| 0.9 - 0.2 * f64::from(i)).collect();
        for (index, de00, threshold) in
            [(0, 0.8, 2.0), (4, 3.3, 0.3), (9, 2.0, 1.1), (5, 1.3, 7.5), (2, 3.4, 1.0)]
        {
            let trial = ModelTrial {
                signal: Some((index, Direction::MoreChroma, de00)),
                residuals_de00: residuals_de00.clone(),
                exposure_s: 2.5,
                answer: 0,
            };
            let at = |criterion: f64| GlanceParameters {
                confusion: 0.4,
                eccentricity_loss: 0.05,
                exponent: 1.3,
                ..GlanceParameters::even(threshold, criterion)
            };
            for (c, found) in
                criteria.values().iter().zip(criteria.outcomes(&model, &at(1.0), &trial))
            {
                let expected = model.probabilities(&at(*c), &trial);
                assert!((found.none - expected[0]).abs() < 1e-9);
                let gap = (found.right - expected[index + 1]).abs();
                assert!(gap < 1e-6, "{index} {de00} {threshold} at {c}: {gap:e}");
            }
            let none = ModelTrial { signal: None, ..trial };
            for (c, found) in
                criteria.values().iter().zip(criteria.outcomes(&model, &at(1.0), &none))
            {
                assert!((found.none - model.probabilities(&at(*c), &none)[0]).abs() < 1e-9);
                assert_eq!(found.right, 0.0);
            }
        }
    }
}
