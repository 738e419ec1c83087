//! Transport coefficients of a layer from its reflectance over two backings.

use super::modes::TOP;
use super::reduced::TopLayer;
use super::table::{Depth, Table};
use crate::optics::Interface;
use crate::optics::inverse::{
    Conditioning, InverseError, SpectrumInverseError, TwoBackings, from_two_backings,
};
use crate::optics::least_squares::minimise;
use crate::optics::medium::transport_scattering;
use crate::spectrum::{N_BANDS, Spectrum, wavelength_nm};
use nalgebra::{Matrix2, Vector2};

/// Coefficients of one band, 1/mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecoveredTransport {
    /// σa.
    pub absorption: f64,
    /// σs′ = σs(1-g).
    pub reduced_scattering: f64,
    /// Largest miss of the two measured reflectances that is left.
    pub residual: f64,
    /// How strongly σa (`k_…`) and σs′ (`s_…`) follow errors of the reflectances.
    pub conditioning: Conditioning,
}

/// Coefficients at every band, with what is left of the measurement.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RecoveredTransportSpectra {
    /// σa, 1/mm.
    pub absorption: Spectrum,
    /// σs′, 1/mm.
    pub reduced_scattering: Spectrum,
    /// Largest miss of the measured reflectances over all bands.
    pub residual: f64,
    /// |∂σa/∂Rw| + |∂σa/∂Rb| per band, 1/mm.
    pub absorption_per_reflectance: Spectrum,
    /// |∂σs′/∂Rw| + |∂σs′/∂Rb| per band, 1/mm.
    pub scattering_per_reflectance: Spectrum,
}

/// What is left of a reflectance when coefficients count as found.
const TOLERANCE: f64 = 1e-6;

/// σa and σs′ of a layer of known thickness, one band.
///
/// `r` holds *measured* reflectances over the two backings (light along the normal, everything
/// collected, specular excluded) and the internal reflectances of the backings, in contact through
/// the joint of `table`. The table fixes index and anisotropy: g must be assumed, and what is found
/// is σs′ for that g. Two unknowns, damped Newton steps in ln σ from the two-flux solution.
///
/// # Errors
/// [`InverseError`] when an input is out of range or no layer fits within 1e-6.
pub fn transport_from_two_backings(
    table: &Table<TOP>,
    refractive_index: f64,
    r: TwoBackings,
    thickness_mm: f64,
) -> Result<RecoveredTransport, InverseError> {
    let surface = Interface::between_air_and(refractive_index);
    let internal = TwoBackings {
        over_white: surface.internal_from_excluded(r.over_white).clamp(0.0, 1.0),
        over_black: surface.internal_from_excluded(r.over_black).clamp(0.0, 1.0),
        ..r
    };
    let start = match from_two_backings(internal, thickness_mm) {
        Ok(found) => (0.5 * found.k, transport_scattering(found.s, found.k)),
        // The two-flux model has no answer near its limits where this one may have one.
        Err(InverseError::Unphysical { .. } | InverseError::Opaque { .. }) => {
            (0.05 / thickness_mm, 2.0 / thickness_mm)
        }
        Err(other) => return Err(other),
    };
    let at = |x: &Vector2<f64>| {
        let [a, s] = [x[0].exp(), x[1].exp()];
        let (value, by_p, by_q) =
            table.at_with_slopes(&Depth::new(s * thickness_mm, a * thickness_mm));
        let slopes = [by_q.map(|v| v * a * thickness_mm), by_p.map(|v| v * s * thickness_mm)];
        let layer = TopLayer(value);
        let (white, dw) = layer.over_lambertian(r.white, &slopes);
        let (black, db) = layer.over_lambertian(r.black, &slopes);
        (
            Vector2::new(white - r.over_white, black - r.over_black),
            Matrix2::new(dw[0], dw[1], db[0], db[1]),
        )
    };
    let floor = 1e-9 / thickness_mm;
    let x = Vector2::new(start.0.max(floor).ln(), start.1.max(floor).ln());
    let found = minimise(x, 1e-10, 200, at);
    let [absorption, reduced_scattering] = [found.x[0].exp(), found.x[1].exp()];
    if !(found.residual() < TOLERANCE) {
        return Err(InverseError::Unphysical { k: absorption, s: reduced_scattering });
    }
    let (_, jacobian) = at(&found.x);
    let slopes = jacobian.try_inverse().unwrap_or(Matrix2::repeat(f64::INFINITY));
    let row = |i: usize, scale: f64| scale * (slopes[(i, 0)].abs() + slopes[(i, 1)].abs());
    Ok(RecoveredTransport {
        absorption,
        reduced_scattering,
        residual: found.residual(),
        conditioning: Conditioning {
            k_per_reflectance: row(0, absorption),
            s_per_reflectance: row(1, reduced_scattering),
        },
    })
}

/// σa and σs′ at every band from measured spectra over two backings.
///
/// As [`transport_from_two_backings`], band by band.
///
/// # Errors
/// [`SpectrumInverseError`] names the first band that fails.
pub fn transport_spectra_from_two_backings(
    table: &Table<TOP>,
    refractive_index: f64,
    over: [&Spectrum; 2],
    backings: [&Spectrum; 2],
    thickness_mm: f64,
) -> Result<RecoveredTransportSpectra, SpectrumInverseError> {
    let mut bands = [[0.0; N_BANDS]; 4];
    let mut residual = 0.0_f64;
    for band in 0..N_BANDS {
        let r = TwoBackings {
            over_white: over[0][band],
            over_black: over[1][band],
            white: backings[0][band],
            black: backings[1][band],
        };
        let found = transport_from_two_backings(table, refractive_index, r, thickness_mm).map_err(
            |reason| SpectrumInverseError { wavelength_nm: wavelength_nm(band), reason },
        )?;
        residual = residual.max(found.residual);
        bands[0][band] = found.absorption;
        bands[1][band] = found.reduced_scattering;
        bands[2][band] = found.conditioning.k_per_reflectance;
        bands[3][band] = found.conditioning.s_per_reflectance;
    }
    let [absorption, reduced_scattering, by_absorption, by_scattering] =
        bands.map(Spectrum::from_bands);
    Ok(RecoveredTransportSpectra {
        absorption,
        reduced_scattering,
        residual,
        absorption_per_reflectance: by_absorption,
        scattering_per_reflectance: by_scattering,
    })
}
