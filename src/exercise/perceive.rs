//! How a simulated learner sees differences.

use super::Learner;
use crate::bake::ZoneDifference;
use rand::RngExt;
use statrs::distribution::{ContinuousCDF, Normal};

/// A standard normal deviate, within ±3.
pub(super) fn deviate(stream: &mut impl rand::Rng) -> f64 {
    Normal::standard().inverse_cdf(stream.random_range(0.00135..0.99865))
}

impl Learner {
    /// How far off a difference seems: value weighed and seen from the preferred place, with noise.
    pub(super) fn seems(&self, difference: &ZoneDifference, stream: &mut impl rand::Rng) -> f64 {
        let value = self.value_weight * (difference.dl00 - self.value_bias);
        let rest = difference.de00.powi(2) - difference.dl00.powi(2);
        let seen = (value.powi(2) + rest).max(0.0).sqrt();
        if self.noise_de00 > 0.0 { seen + self.noise_de00 * deviate(stream) } else { seen }
    }

    /// The place of what seems nearest; any place in a lapse.
    pub(super) fn nearest<'a>(
        &self,
        differences: impl Iterator<Item = &'a ZoneDifference>,
        stream: &mut impl rand::Rng,
    ) -> usize {
        let seen: Vec<f64> = differences.map(|difference| self.seems(difference, stream)).collect();
        if self.lapses(stream) && !seen.is_empty() {
            return stream.random_range(0..seen.len());
        }
        (0..seen.len()).min_by(|&a, &b| seen[a].total_cmp(&seen[b])).unwrap_or(0)
    }
}
