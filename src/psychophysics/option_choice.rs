//! Which of several options somebody picks, and what their picks say about them.
//!
//! An option lies at a distance `Δ_k = √((w(ΔL − L₀))² + r²)` from where the learner would like it:
//! `ΔL` is its signed difference in value, `r` all the rest of its difference, `w` how much value
//! counts and `L₀` the departure in value they prefer. They pick option `k` of `K` with probability
//! `(1 − λ) e^(−Δ_k/σ) / Σ_j e^(−Δ_j/σ) + λ/K`.
//!
//! Noise and the preferred value are told apart by options that differ as much one way as the other:
//! among those, only `L₀` makes one of them win.
//!
//! # References
//! Luce, Individual Choice Behavior, Wiley 1959 (choice by ratio; from memory). The distance and its
//! parameters are our own.

use crate::bake::ZoneDifference;

/// Distances below this count as this, so that slopes exist where an option is just as liked, ΔE00.
pub(super) const LEAST_DISTANCE: f64 = 1e-6;

/// An option as the model sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SeenOption {
    /// Signed difference in value to the twin, ΔL00; negative when darker.
    pub value: f64,
    /// The rest of the difference, ΔE00, 0 or more: chroma, hue, and what differs between thirds.
    pub rest: f64,
}

impl SeenOption {
    /// The option with this difference to its twin.
    #[must_use]
    pub fn of(difference: &ZoneDifference) -> Self {
        let value = difference.dl00;
        let rest = (difference.de00 * difference.de00 - value * value).max(0.0).sqrt();
        Self { value, rest }
    }

    /// How far it is from where somebody would like it who weighs value by `weight` and prefers a
    /// departure of `bias` in value; the difference to the twin itself for 1 and 0. ΔE00.
    #[must_use]
    pub fn distance(&self, weight: f64, bias: f64) -> f64 {
        (weight * (self.value - bias)).hypot(self.rest)
    }
}

/// One answer: the options there were, and the one picked.
#[derive(Debug, Clone, PartialEq)]
pub struct OptionChoice {
    /// The options, in any order.
    pub options: Vec<SeenOption>,
    /// Place of the one picked.
    pub chosen: usize,
}

/// Somebody who picks options.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chooser {
    /// Noise of a decision σ, ΔE00, above 0.
    pub noise_de00: f64,
    /// Weight of value w, above 0; 1 for as much as its ΔE00.
    pub value_weight: f64,
    /// Preferred departure in value L₀, ΔL00; above 0 the lighter is liked.
    pub value_bias: f64,
    /// Share of picks made without looking λ, 0..1.
    pub lapse: f64,
}

impl Chooser {
    /// Probability of picking each option.
    #[must_use]
    pub fn probabilities(&self, options: &[SeenOption]) -> Vec<f64> {
        let mut out = vec![0.0; options.len()];
        self.fill_probabilities(options, &mut out);
        out
    }

    pub(crate) fn fill_probabilities(&self, options: &[SeenOption], out: &mut [f64]) {
        for (p, option) in out.iter_mut().zip(options) {
            *p = option.distance(self.value_weight, self.value_bias);
        }
        let least = out.iter().copied().fold(f64::INFINITY, f64::min);
        out.iter_mut().for_each(|p| *p = (-(*p - least) / self.noise_de00).exp());
        let sum: f64 = out.iter().sum();
        let lapse = self.lapse / out.len() as f64;
        out.iter_mut().for_each(|p| *p = (1.0 - self.lapse) * *p / sum + lapse);
    }

    /// The option picked, given a number drawn uniformly from 0..1.
    #[must_use]
    pub fn pick(&self, options: &[SeenOption], uniform: f64) -> usize {
        let mut left = uniform;
        let probabilities = self.probabilities(options);
        let last = probabilities.len().saturating_sub(1);
        probabilities
            .iter()
            .position(|p| {
                left -= p;
                left < 0.0
            })
            .unwrap_or(last)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn options() -> Vec<SeenOption> {
        [(0.2, 0.5), (-1.4, 0.4), (1.4, 0.4), (0.3, 2.0), (-2.5, 0.2)]
            .map(|(value, rest)| SeenOption { value, rest })
            .to_vec()
    }

    #[test]
    fn probabilities_are_those_of_the_definition() {
        let chooser = Chooser { noise_de00: 0.6, value_weight: 1.3, value_bias: 0.4, lapse: 0.03 };
        let options = options();
        let found = chooser.probabilities(&options);
        let e: Vec<f64> = options
            .iter()
            .map(|o| {
                let value = 1.3 * (o.value - 0.4);
                (-(value * value + o.rest * o.rest).sqrt() / 0.6).exp()
            })
            .collect();
        let sum: f64 = e.iter().sum();
        for (p, e) in found.iter().zip(&e) {
            assert!((p - (0.97 * e / sum + 0.03 / 5.0)).abs() < 1e-12, "{found:?}");
        }
        assert!((found.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        // A pick is the option in whose share of 0..1 the number falls.
        let picks: Vec<usize> =
            (0..10_000).map(|i| chooser.pick(&options, (f64::from(i) + 0.5) / 1e4)).collect();
        for (k, p) in found.iter().enumerate() {
            let share = picks.iter().filter(|pick| **pick == k).count() as f64 / 1e4;
            assert!((share - p).abs() < 2e-4, "{k}: {share} {p}");
        }
    }

    #[test]
    fn whoever_likes_it_lighter_picks_the_lighter_of_an_equal_pair() {
        let pair = [(-1.4, 0.4), (1.4, 0.4)].map(|(value, rest)| SeenOption { value, rest });
        let share = |value_bias: f64| {
            let chooser = Chooser { noise_de00: 0.5, value_weight: 1.0, value_bias, lapse: 0.0 };
            chooser.probabilities(&pair)[1]
        };
        assert!((share(0.0) - 0.5).abs() < 1e-12);
        assert!(share(0.6) > 0.85 && share(-0.6) < 0.15);
    }
}
