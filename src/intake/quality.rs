//! What to think of a fit.

use super::fit::{Band, Fit};
use crate::colorimetry::PERCEPTIBILITY_DE00;
use crate::optics::transport::inverse::FittedTransport;
use std::fmt;

/// Error of a measured reflectance that is counted on, one standard deviation. Common practice, no
/// source: repeatability and placing of a piece together.
const REFLECTANCE_ERROR: f64 = 0.002;
/// Contrast between backings below which coefficients are doubtful.
const LOW_CONTRAST: f64 = 0.02;
/// Relative standard error from which a coefficient is doubtful.
const DOUBTFUL: f64 = 0.25;
/// Scatter of a coefficient around its neighbours, relative to its mean, from which it is noisy.
const NOISY: f64 = 0.03;
/// Reflectance beyond what energy allows that is more than an error.
const EXCESS: f64 = 2.0 * REFLECTANCE_ERROR;
/// Root mean square miss from which pieces of several thicknesses are no one material.
const MISFIT: f64 = 0.01;

/// Something to know about a fit before it is used.
#[derive(Debug, Clone, PartialEq)]
pub enum Concern {
    /// The piece gives off more light than it gets.
    EnergyAboveOne {
        /// From and to, nm.
        range_nm: (f64, f64),
        /// Largest excess, as a reflectance.
        excess: f64,
    },
    /// The backings are hard to tell apart through the piece.
    LowContrast {
        /// From and to, nm.
        range_nm: (f64, f64),
        /// Smallest difference between over white and over black.
        contrast: f64,
    },
    /// A usual error of the reflectances would change a coefficient by much.
    Undetermined {
        /// `absorption` or `scattering`.
        what: &'static str,
        /// From and to, nm.
        range_nm: (f64, f64),
        /// Largest relative standard error.
        relative_error: f64,
    },
    /// A coefficient jumps from band to band.
    Noisy {
        /// `absorption` or `scattering`.
        what: &'static str,
        /// Scatter around a smooth curve relative to the mean.
        scatter: f64,
    },
    /// A piece is not met.
    Misfit {
        /// Its file.
        file: String,
        /// Root mean square miss.
        rms: f64,
        /// Larger ΔE00 of the recomputed colours.
        de00: f64,
    },
    /// One thickness alone says nothing about the model.
    OneThickness,
}

impl fmt::Display for Concern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::EnergyAboveOne { range_nm: (from, to), excess } => write!(
                f,
                "energy above 1 from {from} to {to} nm: the piece returns up to {excess:.3} more \
                 than a clear one could; check the white of the instrument, and that the piece \
                 does not fluoresce"
            ),
            Self::LowContrast { range_nm: (from, to), contrast } => write!(
                f,
                "too little contrast between the backings from {from} to {to} nm (least \
                 {contrast:.3}) to tell absorption from scattering; measure a thinner piece"
            ),
            Self::Undetermined { what, range_nm: (from, to), relative_error } => write!(
                f,
                "{what} is poorly determined from {from} to {to} nm: an error of \
                 {REFLECTANCE_ERROR} in reflectance changes it by up to {:.0} %",
                100.0 * relative_error.min(9.99)
            ),
            Self::Noisy { what, scatter } => write!(
                f,
                "{what} jumps from band to band by {:.0} % of its mean; average several readings",
                100.0 * scatter
            ),
            Self::Misfit { file, rms, de00 } => write!(
                f,
                "{file} is missed by {rms:.3} in reflectance (ΔE00 {de00:.1}); check its \
                 thickness, and that all pieces are one material"
            ),
            Self::OneThickness => f.write_str(
                "one thickness is always met: measure a second one to see whether the model fits",
            ),
        }
    }
}

/// What a user should know about a fit; empty for a sound one.
#[must_use]
pub fn concerns(fit: &Fit) -> Vec<Concern> {
    let mut found = Vec::new();
    let bands = &fit.bands;
    if let Some((range_nm, excess)) = largest(bands, |band| band.excess, EXCESS) {
        found.push(Concern::EnergyAboveOne { range_nm, excess });
    }
    if let Some((range_nm, worst)) = largest(bands, |band| -band.contrast, -LOW_CONTRAST) {
        found.push(Concern::LowContrast { range_nm, contrast: -worst });
    }
    type Of = fn(&FittedTransport) -> f64;
    let spreads: [(&'static str, Of, Of); 2] = [
        ("scattering", |f| f.scattering_spread, |f| f.reduced_scattering),
        ("absorption", |f| f.absorption_spread, |f| f.absorption),
    ];
    for (what, spread, value) in spreads {
        let mean = bands.iter().map(|band| value(&band.fitted)).sum::<f64>() / bands.len() as f64;
        // Relative to the mean: where a clear ceramic absorbs next to nothing, its error means
        // nothing either.
        let relative = |band: &Band| {
            let here = value(&band.fitted);
            REFLECTANCE_ERROR * spread(&band.fitted) * here / mean.max(here)
        };
        if let Some((range_nm, relative_error)) = largest(bands, relative, DOUBTFUL) {
            found.push(Concern::Undetermined { what, range_nm, relative_error });
        }
        let values: Vec<f64> = bands.iter().map(|band| value(&band.fitted)).collect();
        let scatter = scatter(&values) / mean;
        if scatter > NOISY {
            found.push(Concern::Noisy { what, scatter });
        }
    }
    for piece in &fit.pieces {
        let de00 = piece.de00[0].max(piece.de00[1]);
        if piece.rms > MISFIT || de00 > PERCEPTIBILITY_DE00 {
            found.push(Concern::Misfit { file: piece.file.clone(), rms: piece.rms, de00 });
        }
    }
    if fit.pieces.len() == 1 {
        found.push(Concern::OneThickness);
    }
    found
}

/// The stretch of bands where a quantity exceeds a limit, and its largest value.
fn largest(bands: &[Band], of: impl Fn(&Band) -> f64, limit: f64) -> Option<((f64, f64), f64)> {
    let over = || bands.iter().filter(|band| of(band) > limit);
    let (first, last) = (over().next()?, over().last()?);
    let most = over().map(&of).fold(f64::NEG_INFINITY, f64::max);
    Some(((first.wavelength_nm, last.wavelength_nm), most))
}

/// Standard deviation of values around a smooth curve, from their third differences: a parabola
/// has none, and independent errors of 1 give them a variance of 1 + 9 + 9 + 1.
///
/// # References
/// Differences instead of a fitted curve: von Neumann et al., Ann Math Stat 1941;12:153-162 (from
/// memory; there with first differences).
fn scatter(values: &[f64]) -> f64 {
    let third = values.windows(4).map(|v| v[3] - 3.0 * v[2] + 3.0 * v[1] - v[0]);
    let (sum, count) = third.fold((0.0, 0_u32), |(sum, n), d| (sum + d * d, n + 1));
    (sum / f64::from(count.max(1)) / 20.0).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scatter_sees_errors_and_not_curves() {
        // A parabola has no third difference; errors of ±1 in turn have one of 8: analytic.
        let parabola: Vec<f64> = (0..40).map(|i| f64::from(i * i)).collect();
        assert!(scatter(&parabola) < 1e-9);
        let zigzag: Vec<f64> = (0..40).map(|i| if i % 2 == 0 { 1.0 } else { -1.0 }).collect();
        assert!((scatter(&zigzag) - 8.0 / 20_f64.sqrt()).abs() < 1e-12);
    }
}
