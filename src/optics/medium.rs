//! What a layer is made of.

use crate::optics::kubelka_munk::{k_over_s, r_infinity};
use crate::spectrum::{Spectrum, wavelength_nm};
use thiserror::Error;

/// Wavelengths of the absorption anchors, nm.
pub const ANCHORS_NM: [f64; 3] = [450.0, 550.0, 650.0];

/// Why numbers describe no medium.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum MediumError {
    /// Absorption is negative or not finite.
    #[error("absorption must be finite and at least 0 per mm, got {value} at {wavelength_nm} nm")]
    BadAbsorption {
        /// Wavelength, nm.
        wavelength_nm: f64,
        /// The value, 1/mm.
        value: f64,
    },
    /// Scattering is negative or not finite.
    #[error("scattering must be finite and at least 0 per mm, got {value} at {wavelength_nm} nm")]
    BadScattering {
        /// Wavelength, nm.
        wavelength_nm: f64,
        /// The value, 1/mm.
        value: f64,
    },
    /// Scattering cannot be so one-sided.
    #[error("anisotropy must lie above -1 and below 1, got {0}")]
    BadAnisotropy(f64),
    /// The refractive index is below that of air or not finite.
    #[error("refractive index must be finite and at least 1, got {0}")]
    BadRefractiveIndex(f64),
    /// A thick layer cannot have this reflectance.
    #[error(
        "reflectance of a thick layer must lie above 0 and at most 1, got {value} at {wavelength_nm} nm"
    )]
    BadReflectance {
        /// Wavelength, nm.
        wavelength_nm: f64,
        /// The value.
        value: f64,
    },
    /// An anchor of a log-linear curve has no logarithm.
    #[error(
        "absorption anchors must be positive and finite, got {value} per mm at {wavelength_nm} nm"
    )]
    BadAnchor {
        /// Wavelength, nm.
        wavelength_nm: f64,
        /// The value, 1/mm.
        value: f64,
    },
}

/// A homogeneous scattering and absorbing material, by what light meets in it.
///
/// Radiative transfer works on it as it is; [`Self::two_flux`] is how the two-flux model sees it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Medium {
    /// Absorption coefficient σa, 1/mm.
    pub absorption: Spectrum,
    /// Reduced scattering coefficient σs′ = σs(1-g), 1/mm.
    pub reduced_scattering: Spectrum,
    /// Mean cosine of the scattering angle g (Henyey-Greenstein), above −1 and below 1.
    pub anisotropy: f64,
    /// Refractive index at the sodium line, taken as constant over the visible.
    pub refractive_index: f64,
}

impl Medium {
    /// A medium from its coefficients.
    ///
    /// # Errors
    /// [`MediumError`] unless both spectra are finite and not negative, the anisotropy lies
    /// between −1 and 1 and the index is at least 1.
    pub fn new(
        absorption: Spectrum,
        reduced_scattering: Spectrum,
        anisotropy: f64,
        refractive_index: f64,
    ) -> Result<Self, MediumError> {
        // The same rules hold for both pairs of coefficients.
        TwoFluxMedium::new(absorption, reduced_scattering, refractive_index)?;
        if !(anisotropy > -1.0 && anisotropy < 1.0) {
            return Err(MediumError::BadAnisotropy(anisotropy));
        }
        Ok(Self { absorption, reduced_scattering, anisotropy, refractive_index })
    }

    /// Two-flux coefficients: K = 2σa, S = ¾σs′ - ¼σa, at least 0.
    ///
    /// # References
    /// Star, Marijnissen, van Gemert, Phys Med Biol 1988;33:437-454 (from memory).
    #[must_use]
    pub fn two_flux(&self) -> TwoFluxMedium {
        TwoFluxMedium {
            k: self.absorption * 2.0,
            s: self.reduced_scattering.zip(&self.absorption, |s, a| (0.75 * s - 0.25 * a).max(0.0)),
            refractive_index: self.refractive_index,
        }
    }

    /// The medium that the two-flux model sees as `two_flux`: inverse of [`Self::two_flux`].
    #[must_use]
    pub fn from_two_flux(two_flux: &TwoFluxMedium, anisotropy: f64) -> Self {
        Self {
            absorption: two_flux.k * 0.5,
            reduced_scattering: two_flux.s.zip(&two_flux.k, transport_scattering),
            anisotropy,
            refractive_index: two_flux.refractive_index,
        }
    }
}

/// σs′ that goes with two-flux `s` and `k`: 4/3·(S + K/8).
#[must_use]
pub(crate) fn transport_scattering(s: f64, k: f64) -> f64 {
    4.0 / 3.0 * (s + 0.125 * k)
}

/// A homogeneous material as the two-flux (Kubelka-Munk) model describes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoFluxMedium {
    /// Kubelka-Munk absorption, 1/mm.
    pub k: Spectrum,
    /// Kubelka-Munk scattering, 1/mm.
    pub s: Spectrum,
    /// Refractive index at the sodium line, taken as constant over the visible.
    pub refractive_index: f64,
}

impl TwoFluxMedium {
    /// A medium from its spectra.
    ///
    /// # Errors
    /// [`MediumError`] unless `k` and `s` are finite and not negative and the index at least 1.
    pub fn new(k: Spectrum, s: Spectrum, refractive_index: f64) -> Result<Self, MediumError> {
        if let Some((wavelength_nm, value)) = first_outside(&k, is_coefficient) {
            return Err(MediumError::BadAbsorption { wavelength_nm, value });
        }
        if let Some((wavelength_nm, value)) = first_outside(&s, is_coefficient) {
            return Err(MediumError::BadScattering { wavelength_nm, value });
        }
        if !(refractive_index >= 1.0 && refractive_index.is_finite()) {
            return Err(MediumError::BadRefractiveIndex(refractive_index));
        }
        Ok(Self { k, s, refractive_index })
    }

    /// A medium whose thick layer has the internal reflectance `r_infinity`, in (0, 1].
    ///
    /// # Errors
    /// [`MediumError`] when a reflectance, a scattering value or the index is out of range.
    pub fn from_r_infinity(
        r_infinity: &Spectrum,
        s: Spectrum,
        refractive_index: f64,
    ) -> Result<Self, MediumError> {
        Self::new(absorption_for(r_infinity, &s)?, s, refractive_index)
    }

    /// Internal reflectance of a thick layer.
    #[must_use]
    pub fn r_infinity(&self) -> Spectrum {
        self.k.zip(&self.s, r_infinity)
    }
}

/// Scattering that falls with wavelength as a power: S = S550·(550/λ)^p, 1/mm.
///
/// `s550` in 1/mm; `exponent` 0 is grey, 4 is the limit of very small particles.
#[must_use]
pub fn power_law_scattering(s550: f64, exponent: f64) -> Spectrum {
    Spectrum::from_fn(|nm| s550 * (550.0 / nm).powf(exponent))
}

/// Absorption that gives a thick layer the internal reflectance `r_infinity`: S(1-R∞)²/(2R∞).
///
/// # Errors
/// [`MediumError::BadReflectance`] unless every band lies in (0, 1].
pub fn absorption_for(r_infinity: &Spectrum, s: &Spectrum) -> Result<Spectrum, MediumError> {
    if let Some((wavelength_nm, value)) = first_outside(r_infinity, |r| r > 0.0 && r <= 1.0) {
        return Err(MediumError::BadReflectance { wavelength_nm, value });
    }
    Ok(r_infinity.zip(s, |r, s| s * k_over_s(r)))
}

/// Absorption through three anchors at 450, 550 and 650 nm, 1/mm, straight in log K between them
/// and continued at the same slopes outside.
///
/// # Errors
/// [`MediumError::BadAnchor`] unless all three are positive and finite.
pub fn log_linear_absorption(anchors: [f64; 3]) -> Result<Spectrum, MediumError> {
    for (wavelength_nm, value) in ANCHORS_NM.into_iter().zip(anchors) {
        if !(value > 0.0 && value.is_finite()) {
            return Err(MediumError::BadAnchor { wavelength_nm, value });
        }
    }
    let log = anchors.map(f64::ln);
    Ok(Spectrum::from_fn(|nm| {
        let i = usize::from(nm > ANCHORS_NM[1]);
        let x = (nm - ANCHORS_NM[i]) / (ANCHORS_NM[i + 1] - ANCHORS_NM[i]);
        (log[i] + x * (log[i + 1] - log[i])).exp()
    }))
}

fn is_coefficient(value: f64) -> bool {
    value >= 0.0 && value.is_finite()
}

/// Wavelength and value of the first band that `valid` refuses.
fn first_outside(spectrum: &Spectrum, valid: impl Fn(f64) -> bool) -> Option<(f64, f64)> {
    let band = spectrum.bands().iter().position(|&v| !valid(v))?;
    Some((wavelength_nm(band), spectrum[band]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn log_linear_absorption_meets_its_anchors() {
        // Halving per 100 nm is one straight line in log K: analytic at any wavelength.
        let k = log_linear_absorption([0.4, 0.2, 0.1]).unwrap();
        for (nm, expected) in [(450.0, 0.4), (550.0, 0.2), (650.0, 0.1), (750.0, 0.05)] {
            assert!((k.at_nm(nm) - expected).abs() < 1e-15, "{nm} nm: {}", k.at_nm(nm));
        }
        assert!((k.at_nm(400.0) - 0.4 * 2f64.sqrt()).abs() < 1e-15);
        assert!(log_linear_absorption([0.4, 0.0, 0.1]).is_err());
    }

    #[test]
    fn thick_layer_returns_the_wanted_reflectance() {
        // (1-R)²/(2R) and S/(K+S+q) are inverse to one another: analytic.
        let wanted = Spectrum::from_fn(|nm| nm / 800.0);
        let s = power_law_scattering(1.5, 1.2);
        let medium = TwoFluxMedium::from_r_infinity(&wanted, s, 1.5).unwrap();
        assert!((medium.r_infinity() - wanted).map(f64::abs).max() < 1e-14);
        assert!((s.at_nm(550.0) - 1.5).abs() < 1e-15);
    }

    #[test]
    fn the_two_views_of_a_medium_agree() {
        let two_flux = TwoFluxMedium::new(
            Spectrum::from_fn(|nm| 40.0 / nm),
            power_law_scattering(1.5, 1.2),
            1.5,
        )
        .unwrap();
        let back = Medium::from_two_flux(&two_flux, 0.7).two_flux();
        assert!((back.s - two_flux.s).map(f64::abs).max() < 1e-14);
        assert!((back.k - two_flux.k).map(f64::abs).max() < 1e-14);
    }

    #[test]
    fn refuses_what_is_no_medium() {
        let ok = Spectrum::constant(0.5);
        assert!(TwoFluxMedium::new(Spectrum::constant(-0.1), ok, 1.5).is_err());
        assert!(TwoFluxMedium::new(ok, Spectrum::constant(f64::NAN), 1.5).is_err());
        assert_eq!(TwoFluxMedium::new(ok, ok, 0.9), Err(MediumError::BadRefractiveIndex(0.9)));
        assert!(absorption_for(&Spectrum::constant(0.0), &ok).is_err());
    }
}
