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
use nalgebra::{Matrix2, SMatrix, SVector, Vector2};

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
    let start = start_from_two_flux(refractive_index, r, thickness_mm)?;
    let at = |x: &Vector2<f64>| misses(table, x, r, thickness_mm);
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

/// Coefficients to start from, (σa, σs′): those of the two-flux solution where it has one.
fn start_from_two_flux(
    refractive_index: f64,
    r: TwoBackings,
    thickness_mm: f64,
) -> Result<(f64, f64), InverseError> {
    let surface = Interface::between_air_and(refractive_index);
    let internal = TwoBackings {
        over_white: surface.internal_from_excluded(r.over_white).clamp(0.0, 1.0),
        over_black: surface.internal_from_excluded(r.over_black).clamp(0.0, 1.0),
        ..r
    };
    match from_two_backings(internal, thickness_mm) {
        Ok(found) => Ok((0.5 * found.k, transport_scattering(found.s, found.k))),
        // The two-flux model has no answer near its limits where this one may have one.
        Err(InverseError::Unphysical { .. } | InverseError::Opaque { .. }) => {
            Ok((0.05 / thickness_mm, 2.0 / thickness_mm))
        }
        Err(other) => Err(other),
    }
}

/// Computed less measured reflectances, and their slopes by ln σa and ln σs′.
fn misses(
    table: &Table<TOP>,
    x: &Vector2<f64>,
    r: TwoBackings,
    thickness_mm: f64,
) -> (Vector2<f64>, Matrix2<f64>) {
    let [a, s] = [x[0].exp(), x[1].exp()];
    let (value, by_p, by_q) = table.at_with_slopes(&Depth::new(s * thickness_mm, a * thickness_mm));
    let slopes = [by_q.map(|v| v * a * thickness_mm), by_p.map(|v| v * s * thickness_mm)];
    let layer = TopLayer(value);
    let (white, dw) = layer.over_lambertian(r.white, &slopes);
    let (black, db) = layer.over_lambertian(r.black, &slopes);
    (
        Vector2::new(white - r.over_white, black - r.over_black),
        Matrix2::new(dw[0], dw[1], db[0], db[1]),
    )
}

/// Most pieces that one fit takes.
pub const MAX_PIECES: usize = 8;
const EQUATIONS: usize = 2 * MAX_PIECES;

/// The coefficients, one band, that come nearest to what several pieces of one material measure.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FittedTransport {
    /// σa, 1/mm.
    pub absorption: f64,
    /// σs′ = σs(1-g), 1/mm.
    pub reduced_scattering: f64,
    /// Computed less measured reflectance over the white and the black backing, by piece; 0 beyond
    /// the last.
    pub misses: [[f64; 2]; MAX_PIECES],
    /// Relative standard error of σa when every reflectance has an independent standard error of 1.
    pub absorption_spread: f64,
    /// The same of σs′.
    pub scattering_spread: f64,
}

/// σa and σs′ of a material from pieces of known thickness in mm, one band: least squares, where
/// [`transport_from_two_backings`] wants the reflectances met. Pieces beyond [`MAX_PIECES`] are not
/// looked at. Reflectances as there, but those over the backings may be anything: what no layer
/// can give is a miss that is left.
///
/// # Errors
/// [`InverseError`] when a thickness is not positive, a backing lies outside 0..1 or the white one is
/// not the lighter.
pub fn fit_transport(
    table: &Table<TOP>,
    refractive_index: f64,
    pieces: &[(TwoBackings, f64)],
) -> Result<FittedTransport, InverseError> {
    let pieces = &pieces[..pieces.len().min(MAX_PIECES)];
    let mut start = Vector2::zeros();
    let mut mean_mm = 0.0;
    for &(r, thickness_mm) in pieces {
        mean_mm += thickness_mm / pieces.len() as f64;
        let held = TwoBackings {
            over_white: r.over_white.clamp(0.0, 1.0),
            over_black: r.over_black.clamp(0.0, 1.0),
            ..r
        };
        let (a, s) = start_from_two_flux(refractive_index, held, thickness_mm)?;
        let floor = 1e-6 / thickness_mm;
        start += Vector2::new(a.max(floor).ln(), s.max(floor).ln()) / pieces.len() as f64;
    }
    let at = |x: &Vector2<f64>| {
        let mut residuals = SVector::<f64, EQUATIONS>::zeros();
        let mut jacobian = SMatrix::<f64, EQUATIONS, 2>::zeros();
        // Held where a coefficient can no longer be told from 0.
        let x = x.map(|v| v.max(-30.0));
        for (i, &(r, thickness_mm)) in pieces.iter().enumerate() {
            let (miss, slopes) = misses(table, &x, r, thickness_mm);
            residuals.fixed_rows_mut::<2>(2 * i).copy_from(&miss);
            jacobian.fixed_view_mut::<2, 2>(2 * i, 0).copy_from(&slopes);
        }
        (residuals, jacobian)
    };
    // A coefficient that has become next to nothing has no slope left to come back by, so other
    // beginnings are tried where the first one has not led to the reflectances themselves.
    let others = [(0.05, 2.0), (0.3, 6.0), (0.005, 12.0)]
        .map(|(a, s)| Vector2::new(f64::ln(a / mean_mm), f64::ln(s / mean_mm)));
    let mut found = minimise(start, 1e-9, 300, at);
    for other in others {
        if found.residual() < TOLERANCE {
            break;
        }
        let next = minimise(other, 1e-9, 300, at);
        if next.residuals.norm_squared() < found.residuals.norm_squared() {
            found = next;
        }
    }
    let (residuals, jacobian) = at(&found.x);
    let normal = jacobian.transpose() * jacobian;
    let covariance = normal.try_inverse().unwrap_or(Matrix2::repeat(f64::INFINITY));
    let spread = |i: usize| covariance[(i, i)].max(0.0).sqrt();
    Ok(FittedTransport {
        absorption: found.x[0].max(-30.0).exp(),
        reduced_scattering: found.x[1].max(-30.0).exp(),
        misses: std::array::from_fn(|i| [residuals[2 * i], residuals[2 * i + 1]]),
        absorption_spread: spread(0),
        scattering_spread: spread(1),
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
