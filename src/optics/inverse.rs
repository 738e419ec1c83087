//! K and S of a layer from its reflectance over two backings.
//!
//! With t = tanh(qX)/q the reflectance over a backing satisfies
//! St·(1-R)(1-Rg) - Kt·(R+Rg) = R - Rg, which is linear in u = Kt and v = St. Two backings give u
//! and v; qt = √(u(u+2v)) then gives qX = artanh(qt), and K = u·q/(qt). Unlike the coth form this
//! has no case of its own for S = 0 or K = 0.

use crate::spectrum::{N_BANDS, Spectrum, wavelength_nm};
use thiserror::Error;

/// Reflectance of one layer over two backings, one band. Internal reflectances, 0..1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TwoBackings {
    /// Over the lighter backing.
    pub over_white: f64,
    /// Over the darker backing.
    pub over_black: f64,
    /// The lighter backing itself.
    pub white: f64,
    /// The darker backing itself.
    pub black: f64,
}

/// K and S of one band with their sensitivity to measurement error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recovered {
    /// Absorption, 1/mm.
    pub k: f64,
    /// Scattering, 1/mm.
    pub s: f64,
    /// How well the two are determined.
    pub conditioning: Conditioning,
}

/// Largest first-order change of K and S when each of the two measured reflectances is off by up
/// to 1, in 1/mm per unit of reflectance. Multiply by the error of a reflectance to get that of a
/// coefficient.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditioning {
    /// |∂K/∂Rw| + |∂K/∂Rb|.
    pub k_per_reflectance: f64,
    /// |∂S/∂Rw| + |∂S/∂Rb|.
    pub s_per_reflectance: f64,
}

/// Why two reflectances give no K and S.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum InverseError {
    /// A thickness must be positive.
    #[error("thickness must be positive and finite, got {0} mm")]
    BadThickness(f64),
    /// A reflectance lies outside 0..1.
    #[error("reflectances must lie in 0..1, got {0:?}")]
    BadReflectance(TwoBackings),
    /// The lighter backing must be lighter.
    #[error("the white backing must reflect more than the black one, got {white} and {black}")]
    BackingsAlike {
        /// The lighter backing.
        white: f64,
        /// The darker backing.
        black: f64,
    },
    /// The layer hides its backing: only K/S is determined, not K and S.
    #[error(
        "the layer hides its backing: reflectances {over_white} and {over_black} do not differ enough"
    )]
    Opaque {
        /// Over the lighter backing.
        over_white: f64,
        /// Over the darker backing.
        over_black: f64,
    },
    /// No layer with K ≥ 0 and S ≥ 0 has these reflectances.
    #[error(
        "no absorbing and scattering layer gives these reflectances: they need K = {k}, S = {s} per mm"
    )]
    Unphysical {
        /// The absorption they would need, 1/mm.
        k: f64,
        /// The scattering they would need, 1/mm.
        s: f64,
    },
}

/// Why spectra over two backings give no K and S: the first band that fails, and how.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
#[error("at {wavelength_nm} nm: {reason}")]
pub struct SpectrumInverseError {
    /// Wavelength, nm.
    pub wavelength_nm: f64,
    /// What went wrong there.
    pub reason: InverseError,
}

/// K and S at every band with their sensitivity to measurement error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecoveredSpectra {
    /// Absorption, 1/mm.
    pub k: Spectrum,
    /// Scattering, 1/mm.
    pub s: Spectrum,
    /// |∂K/∂Rw| + |∂K/∂Rb| per band, 1/mm.
    pub k_per_reflectance: Spectrum,
    /// |∂S/∂Rw| + |∂S/∂Rb| per band, 1/mm.
    pub s_per_reflectance: Spectrum,
}

/// K and S of a layer of known thickness from its reflectance over two backings, one band.
///
/// `thickness_mm` > 0; reflectances internal, 0..1, backings in optical contact. Accuracy is that
/// of the reflectances times [`Conditioning`]: thin or clear layers and layers that hide their
/// backing are poorly determined.
///
/// # Errors
/// [`InverseError`] when an input is out of range or no layer fits.
pub fn from_two_backings(r: TwoBackings, thickness_mm: f64) -> Result<Recovered, InverseError> {
    check(r, thickness_mm)?;
    let TwoBackings { over_white, over_black, white, black } = r;
    // v·p - u·m = d for each backing.
    let (pw, mw, dw) = ((1.0 - over_white) * (1.0 - white), over_white + white, over_white - white);
    let (pb, mb, db) = ((1.0 - over_black) * (1.0 - black), over_black + black, over_black - black);
    let determinant = pb * mw - pw * mb;
    let opaque = InverseError::Opaque { over_white, over_black };
    if !(determinant > 0.0) {
        return Err(opaque);
    }
    let u = (pw * db - pb * dw) / determinant;
    let v = (mw * db - mb * dw) / determinant;
    let z = u * (u + 2.0 * v);
    if !(z < 1.0) {
        return Err(opaque);
    }
    let (g, dg) = artanh_ratio(z);
    let k = u * g / thickness_mm;
    let s = v * g / thickness_mm;

    // Derivatives for an error in one measured reflectance: the row of that backing changes by
    // `shift`, (u, v) by the matching column of the inverse matrix.
    let derivatives = |shift: f64, du: f64, dv: f64| {
        let (du, dv) = (du * shift / determinant, dv * shift / determinant);
        let dz = 2.0 * (u + v) * du + 2.0 * u * dv;
        ((du * g + u * dg * dz).abs(), (dv * g + v * dg * dz).abs())
    };
    let from_white = derivatives(1.0 + u + v * (1.0 - white), -pb, -mb);
    let from_black = derivatives(1.0 + u + v * (1.0 - black), pw, mw);
    let conditioning = Conditioning {
        k_per_reflectance: (from_white.0 + from_black.0) / thickness_mm,
        s_per_reflectance: (from_white.1 + from_black.1) / thickness_mm,
    };

    // A value below zero by no more than the rounding of the inputs explains is zero.
    let rounding = 4.0 * f64::EPSILON;
    if k < -rounding * conditioning.k_per_reflectance
        || s < -rounding * conditioning.s_per_reflectance
        || !k.is_finite()
        || !s.is_finite()
    {
        return Err(InverseError::Unphysical { k, s });
    }
    Ok(Recovered { k: k.max(0.0), s: s.max(0.0), conditioning })
}

/// K and S at every band from spectra over two backings.
///
/// As [`from_two_backings`], band by band.
///
/// # Errors
/// [`SpectrumInverseError`] names the first band that fails.
pub fn spectra_from_two_backings(
    over_white: &Spectrum,
    over_black: &Spectrum,
    white: &Spectrum,
    black: &Spectrum,
    thickness_mm: f64,
) -> Result<RecoveredSpectra, SpectrumInverseError> {
    let mut bands = [[0.0; N_BANDS]; 4];
    for band in 0..N_BANDS {
        let r = TwoBackings {
            over_white: over_white[band],
            over_black: over_black[band],
            white: white[band],
            black: black[band],
        };
        let found = from_two_backings(r, thickness_mm).map_err(|reason| SpectrumInverseError {
            wavelength_nm: wavelength_nm(band),
            reason,
        })?;
        bands[0][band] = found.k;
        bands[1][band] = found.s;
        bands[2][band] = found.conditioning.k_per_reflectance;
        bands[3][band] = found.conditioning.s_per_reflectance;
    }
    let [k, s, k_per_reflectance, s_per_reflectance] = bands.map(Spectrum::from_bands);
    Ok(RecoveredSpectra { k, s, k_per_reflectance, s_per_reflectance })
}

fn check(r: TwoBackings, thickness_mm: f64) -> Result<(), InverseError> {
    if !(thickness_mm > 0.0 && thickness_mm.is_finite()) {
        return Err(InverseError::BadThickness(thickness_mm));
    }
    let in_range = |v: f64| (0.0..=1.0).contains(&v);
    if ![r.over_white, r.over_black, r.white, r.black].into_iter().all(in_range) {
        return Err(InverseError::BadReflectance(r));
    }
    if r.white <= r.black {
        return Err(InverseError::BackingsAlike { white: r.white, black: r.black });
    }
    Ok(())
}

/// artanh(√z)/√z and its derivative by z, for z < 1; continued to z < 0 as arctan.
fn artanh_ratio(z: f64) -> (f64, f64) {
    if z.abs() < 1e-3 {
        // Σ zⁿ/(2n+1) and Σ n·zⁿ⁻¹/(2n+1); the first term left out is below 1e-18.
        let mut value = 0.0;
        let mut slope = 0.0;
        for n in (0..6_u32).rev() {
            value = value * z + 1.0 / f64::from(2 * n + 1);
            slope = slope * z + f64::from(n + 1) / f64::from(2 * n + 3);
        }
        return (value, slope);
    }
    let root = z.abs().sqrt();
    let value = if z > 0.0 { root.atanh() / root } else { root.atan() / root };
    (value, (1.0 / (1.0 - z) - value) / (2.0 * z))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::optics::kubelka_munk::layer_over;

    fn look(k: f64, s: f64, x: f64) -> TwoBackings {
        let (white, black) = (0.88, 0.03);
        TwoBackings {
            over_white: layer_over(k, s, x, white),
            over_black: layer_over(k, s, x, black),
            white,
            black,
        }
    }

    #[test]
    fn sensitivity_is_that_of_finite_differences() {
        let r = look(0.2, 2.0, 0.8);
        let here = from_two_backings(r, 0.8).unwrap();
        // computed: central difference of the same function, step 1e-5.
        let h = 1e-5;
        let at = |dw: f64, db: f64| {
            let moved =
                TwoBackings { over_white: r.over_white + dw, over_black: r.over_black + db, ..r };
            from_two_backings(moved, 0.8).unwrap()
        };
        let (wp, wm, bp, bm) = (at(h, 0.0), at(-h, 0.0), at(0.0, h), at(0.0, -h));
        let k = ((wp.k - wm.k).abs() + (bp.k - bm.k).abs()) / (2.0 * h);
        let s = ((wp.s - wm.s).abs() + (bp.s - bm.s).abs()) / (2.0 * h);
        assert!((here.conditioning.k_per_reflectance / k - 1.0).abs() < 1e-6);
        assert!((here.conditioning.s_per_reflectance / s - 1.0).abs() < 1e-6);
    }

    #[test]
    fn clear_and_loss_free_layers_are_no_special_case() {
        for (k, s, x) in [(0.0, 1.5, 1.0), (0.4, 0.0, 1.0), (0.0, 0.0, 1.0)] {
            let found = from_two_backings(look(k, s, x), x).unwrap();
            assert!((found.k - k).abs() < 1e-13 && (found.s - s).abs() < 1e-13, "{found:?}");
        }
    }

    #[test]
    fn says_why_it_fails() {
        let r = look(0.2, 2.0, 0.8);
        assert!(matches!(from_two_backings(r, 0.0), Err(InverseError::BadThickness(_))));
        let hidden = TwoBackings { over_white: 0.5, over_black: 0.5, ..r };
        assert!(matches!(from_two_backings(hidden, 0.8), Err(InverseError::Opaque { .. })));
        let alike = TwoBackings { white: 0.03, ..r };
        assert!(matches!(from_two_backings(alike, 0.8), Err(InverseError::BackingsAlike { .. })));
        let bright = TwoBackings { over_white: 1.2, ..r };
        assert!(matches!(from_two_backings(bright, 0.8), Err(InverseError::BadReflectance(_))));
        // More light over white than the white itself sends back and none over black.
        let gain = TwoBackings { over_white: 0.95, over_black: 0.03, ..r };
        assert!(matches!(from_two_backings(gain, 0.8), Err(InverseError::Unphysical { .. })));
    }
}
