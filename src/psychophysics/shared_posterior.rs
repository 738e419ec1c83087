//! Several thresholds that share their other parameters, without a joint grid.

use super::quest_plus::{OutcomeTable, entropy, normalise};

/// The posterior of one threshold per axis and of parameters shared by all axes.
///
/// Kept as `p(shared) · Π_a p(τ_a | shared)`. A trial touches one threshold, so this is exact and
/// not an approximation: given the shared parameters the axes never learn of each other. Points of
/// one axis are ordered shared first: `point = shared × thresholds + threshold`.
#[derive(Debug, Clone, PartialEq)]
pub struct SharedPosterior {
    thresholds: usize,
    shared: Vec<f64>,
    /// Per axis, `p(τ | shared)`.
    axes: Vec<Vec<f64>>,
}

impl SharedPosterior {
    /// Starts every axis from the same prior. Weights need not be normalised. `None` when a list
    /// is empty or cannot be normalised.
    #[must_use]
    pub fn new(axes: usize, mut thresholds: Vec<f64>, mut shared: Vec<f64>) -> Option<Self> {
        normalise(&mut thresholds)?;
        normalise(&mut shared)?;
        let conditional = thresholds.repeat(shared.len());
        Some(Self { thresholds: thresholds.len(), shared, axes: vec![conditional; axes] })
    }

    /// Weights of the shared parameters.
    #[must_use]
    pub fn shared(&self) -> &[f64] {
        &self.shared
    }

    /// Joint weights of shared parameters and the threshold of one axis.
    #[must_use]
    pub fn joint(&self, axis: usize) -> Vec<f64> {
        let rows = self.axes[axis].chunks_exact(self.thresholds);
        let scaled = rows.zip(&self.shared).flat_map(|(row, w)| row.iter().map(move |p| p * w));
        scaled.collect()
    }

    /// Weights of the threshold of one axis, whatever the shared parameters.
    #[must_use]
    pub fn marginal(&self, axis: usize) -> Vec<f64> {
        let mut sum = vec![0.0; self.thresholds];
        for (row, w) in self.axes[axis].chunks_exact(self.thresholds).zip(&self.shared) {
            for (total, p) in sum.iter_mut().zip(row) {
                *total += w * p;
            }
        }
        sum
    }

    /// Mean and standard deviation of a quantity of the threshold on one axis.
    #[must_use]
    pub fn moments(&self, axis: usize, quantity: &[f64]) -> (f64, f64) {
        let weights = self.marginal(axis);
        let mean: f64 = weights.iter().zip(quantity).map(|(w, q)| w * q).sum();
        let variance: f64 = weights.iter().zip(quantity).map(|(w, q)| w * (q - mean).powi(2)).sum();
        (mean, variance.sqrt())
    }

    /// Entropy of the whole joint posterior, nats.
    #[must_use]
    pub fn entropy(&self) -> f64 {
        let within: f64 = self
            .axes
            .iter()
            .flat_map(|axis| axis.chunks_exact(self.thresholds).zip(&self.shared))
            .map(|(row, w)| w * entropy(row))
            .sum();
        entropy(&self.shared) + within
    }

    /// Expected entropy of the whole joint posterior after showing each stimulus of `table` on
    /// one axis, nats. The other axes add a constant, because what is learned of the shared
    /// parameters averages out to what is known now.
    #[must_use]
    pub fn expected_entropies(&self, axis: usize, table: &OutcomeTable) -> Vec<f64> {
        let (now, joint) = (self.entropy(), self.joint(axis));
        (0..table.stimuli()).map(|x| now - table.information(x, &joint)).collect()
    }

    /// Learns from an answer on one axis with likelihood `at(shared, threshold)`. Returns false,
    /// and learns nothing, when no point allows the answer.
    pub fn update_axis(&mut self, axis: usize, at: impl Fn(usize, usize) -> f64) -> bool {
        let mut shared = self.shared.clone();
        let mut conditional = self.axes[axis].clone();
        for (s, row) in conditional.chunks_exact_mut(self.thresholds).enumerate() {
            let before = row.to_vec();
            for (t, p) in row.iter_mut().enumerate() {
                *p *= at(s, t);
            }
            match normalise(row) {
                Some(sum) => shared[s] *= sum,
                None => {
                    shared[s] = 0.0;
                    row.copy_from_slice(&before);
                }
            }
        }
        let possible = normalise(&mut shared).is_some();
        if possible {
            self.shared = shared;
            self.axes[axis] = conditional;
        }
        possible
    }

    /// Learns from an answer that depends on the shared parameters alone. Returns false, and
    /// learns nothing, when no point allows the answer.
    pub fn update_shared(&mut self, at: impl Fn(usize) -> f64) -> bool {
        let mut shared: Vec<f64> = self.shared.iter().enumerate().map(|(s, w)| w * at(s)).collect();
        let possible = normalise(&mut shared).is_some();
        if possible {
            self.shared = shared;
        }
        possible
    }

    /// Every weight as little-endian bytes, shared parameters first: equal bytes, equal posterior.
    #[must_use]
    pub fn to_bytes(&self) -> Vec<u8> {
        let all = self.shared.iter().chain(self.axes.iter().flatten());
        all.flat_map(|w| w.to_le_bytes()).collect()
    }
}
