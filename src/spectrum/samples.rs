//! A spectrum by every fourth band, for smooth spectra where speed counts.

use super::{N_BANDS, Spectrum};
use std::sync::LazyLock;

/// Number of samples.
pub const N_SAMPLES: usize = 21;
/// Bands from sample to sample: 20 nm.
pub const SAMPLE_STRIDE: usize = 4;

/// A quantity at 380, 400 .. 780 nm.
pub type Samples = [f64; N_SAMPLES];

/// The band of a sample.
#[must_use]
pub const fn sampled_band(sample: usize) -> usize {
    sample * SAMPLE_STRIDE
}

/// How each band follows from the samples: cubic interpolation through the four nearest.
///
/// For a rise over the 55 nm of ordinary tooth colours the error is below 1e-4 of the rise.
#[must_use]
pub fn interpolation() -> &'static [Samples; N_BANDS] {
    static MATRIX: LazyLock<[Samples; N_BANDS]> = LazyLock::new(|| {
        std::array::from_fn(|band| {
            let first = (band / SAMPLE_STRIDE).saturating_sub(1).min(N_SAMPLES - 4);
            let x = band as f64 / SAMPLE_STRIDE as f64 - first as f64;
            let mut row = [0.0; N_SAMPLES];
            for i in 0..4 {
                row[first + i] = (0..4)
                    .filter(|&j| j != i)
                    .map(|j| (x - j as f64) / (i as f64 - j as f64))
                    .product();
            }
            row
        })
    });
    &MATRIX
}

impl Spectrum {
    /// The values at the sampled bands.
    #[must_use]
    pub fn samples(&self) -> Samples {
        std::array::from_fn(|i| self[sampled_band(i)])
    }

    /// The smooth spectrum through samples.
    #[must_use]
    pub fn through(samples: &Samples) -> Self {
        let rows = interpolation();
        Self::from_bands(std::array::from_fn(|band| {
            rows[band].iter().zip(samples).map(|(w, s)| w * s).sum()
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn smooth_curves_come_back() {
        // A cubic is its own cubic interpolant: analytic.
        let cubic = Spectrum::from_fn(|nm| ((nm - 500.0) / 100.0).powi(3));
        assert!((Spectrum::through(&cubic.samples()) - cubic).map(f64::abs).max() < 1e-12);
        // A logistic rise over 55 nm, the shape of tooth colours.
        let rise = Spectrum::from_fn(|nm| 1.0 / (1.0 + ((500.0 - nm) / 55.0_f64).exp()));
        assert!((Spectrum::through(&rise.samples()) - rise).map(f64::abs).max() < 1e-4);
    }
}
