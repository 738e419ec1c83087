//! Spectra on the one wavelength grid of this program: 81 bands, 380 to 780 nm every 5 nm.
//!
//! The grid is that of the CIE tables in [`crate::colorimetry`], so that no sum ever interpolates
//! a colour-matching function. Measured data on coarser grids is brought here by
//! [`Spectrum::from_regular`].

mod samples;
mod vectors;

pub use samples::{N_SAMPLES, SAMPLE_STRIDE, Samples, interpolation, sampled_band};
use serde::{Deserialize, Serialize};
use std::ops::{Add, Index, Mul, Sub};
use thiserror::Error;
pub use vectors::{
    BAND_VECTORS, BandVectors, LANES, SAMPLE_VECTORS, SampleVectors, VectorWeights, samples_of,
    vectors,
};

/// Number of bands.
pub const N_BANDS: usize = 81;
/// Wavelength of the first band, nm.
pub const FIRST_NM: f64 = 380.0;
/// Distance between bands, nm.
pub const STEP_NM: f64 = 5.0;

/// Why samples could not be brought to the grid.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum SpectrumError {
    /// Fewer than two samples carry no slope.
    #[error("a spectrum needs at least 2 samples, got {0}")]
    TooFewSamples(usize),
    /// The step between samples is not a positive number.
    #[error("the wavelength step must be positive, got {0} nm")]
    BadStep(f64),
    /// A sample is not a finite number.
    #[error("sample {index} at {wavelength_nm} nm is not a finite number")]
    NotFinite {
        /// Position in the input.
        index: usize,
        /// Its wavelength, nm.
        wavelength_nm: f64,
    },
}

/// A quantity sampled at the 81 bands of the grid. Units are those of whatever it holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spectrum([f64; N_BANDS]);

/// The wavelength of band `band`, nm. Any index is accepted; 0..81 lie on the grid.
#[must_use]
pub fn wavelength_nm(band: usize) -> f64 {
    FIRST_NM + STEP_NM * band as f64
}

impl Spectrum {
    /// The same value at every band.
    #[must_use]
    pub const fn constant(value: f64) -> Self {
        Self([value; N_BANDS])
    }

    /// Values as given, band 0 (380 nm) first.
    #[must_use]
    pub const fn from_bands(values: [f64; N_BANDS]) -> Self {
        Self(values)
    }

    /// Evaluates `f` at each band's wavelength in nm.
    #[must_use]
    pub fn from_fn(mut f: impl FnMut(f64) -> f64) -> Self {
        Self(std::array::from_fn(|band| f(wavelength_nm(band))))
    }

    /// Brings regularly spaced samples to the grid: linear interpolation inside, end values held
    /// outside.
    ///
    /// `first_nm` is the wavelength of `samples[0]`, `step_nm` the distance between samples.
    ///
    /// # Errors
    /// [`SpectrumError`] when there are fewer than two samples, the step is not positive, or a
    /// sample is not finite.
    pub fn from_regular(
        first_nm: f64,
        step_nm: f64,
        samples: &[f64],
    ) -> Result<Self, SpectrumError> {
        if samples.len() < 2 {
            return Err(SpectrumError::TooFewSamples(samples.len()));
        }
        if !(step_nm > 0.0 && step_nm.is_finite() && first_nm.is_finite()) {
            return Err(SpectrumError::BadStep(step_nm));
        }
        if let Some(index) = samples.iter().position(|v| !v.is_finite()) {
            let wavelength_nm = first_nm + step_nm * index as f64;
            return Err(SpectrumError::NotFinite { index, wavelength_nm });
        }
        let last = samples.len() - 1;
        Ok(Self::from_fn(|nm| {
            let position = ((nm - first_nm) / step_nm).clamp(0.0, last as f64);
            let i = (position.floor() as usize).min(last - 1);
            let t = position - i as f64;
            samples[i] + t * (samples[i + 1] - samples[i])
        }))
    }

    /// The values, band 0 first.
    #[must_use]
    pub const fn bands(&self) -> &[f64; N_BANDS] {
        &self.0
    }

    /// Value at a wavelength in nm: linear between bands, end values held outside 380..780 nm.
    #[must_use]
    pub fn at_nm(&self, nm: f64) -> f64 {
        let position = ((nm - FIRST_NM) / STEP_NM).clamp(0.0, (N_BANDS - 1) as f64);
        let i = (position.floor() as usize).min(N_BANDS - 2);
        let t = position - i as f64;
        self.0[i] + t * (self.0[i + 1] - self.0[i])
    }

    /// Applies `f` to every band's value.
    #[must_use]
    pub fn map(&self, mut f: impl FnMut(f64) -> f64) -> Self {
        Self(std::array::from_fn(|band| f(self.0[band])))
    }

    /// Combines two spectra band by band.
    #[must_use]
    pub fn zip(&self, other: &Self, mut f: impl FnMut(f64, f64) -> f64) -> Self {
        Self(std::array::from_fn(|band| f(self.0[band], other.0[band])))
    }

    /// Smallest value.
    #[must_use]
    pub fn min(&self) -> f64 {
        self.0.iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// Largest value.
    #[must_use]
    pub fn max(&self) -> f64 {
        self.0.iter().copied().fold(f64::NEG_INFINITY, f64::max)
    }
}

impl Index<usize> for Spectrum {
    type Output = f64;
    fn index(&self, band: usize) -> &f64 {
        &self.0[band]
    }
}

impl Add for Spectrum {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        self.zip(&other, |a, b| a + b)
    }
}

impl Sub for Spectrum {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        self.zip(&other, |a, b| a - b)
    }
}

impl Mul for Spectrum {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        self.zip(&other, |a, b| a * b)
    }
}

impl Mul<f64> for Spectrum {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        self.map(|a| a * factor)
    }
}

/// A spectrum as it stands in a file: samples at a regular step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegularSamples {
    /// Wavelength of the first sample, nm.
    pub first_nm: f64,
    /// Distance between samples, nm.
    pub step_nm: f64,
    /// The samples.
    pub values: Vec<f64>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holds_ends_and_interpolates() {
        // Straight line 0..30 over 400..700 nm: analytic, so exact on the grid.
        let samples: Vec<f64> = (0..31).map(f64::from).collect();
        let s = Spectrum::from_regular(400.0, 10.0, &samples).unwrap();
        assert_eq!(s[0], 0.0);
        assert_eq!(s[80], 30.0);
        assert!((s.at_nm(555.0) - 15.5).abs() < 1e-12);
    }

    #[test]
    fn refuses_what_is_not_a_spectrum() {
        assert_eq!(
            Spectrum::from_regular(400.0, 10.0, &[1.0]),
            Err(SpectrumError::TooFewSamples(1))
        );
        assert!(Spectrum::from_regular(400.0, 0.0, &[1.0, 2.0]).is_err());
        assert!(Spectrum::from_regular(400.0, 10.0, &[1.0, f64::NAN]).is_err());
    }
}
