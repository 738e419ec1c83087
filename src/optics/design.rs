//! Inverse design: a plausible material from a wanted colour and translucency.

use crate::colorimetry::Lch;
use crate::optics::{Interface, Medium, ReflectanceShape};
use crate::spectrum::Spectrum;
use thiserror::Error;

/// How translucent a piece shall be, over practical backings: white 0.88, black 0.03, measured
/// with specular excluded under D65/2°.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TranslucencyTarget {
    /// Contrast ratio, luminance factor over black by that over white, 0..1.
    ContrastRatio {
        /// The ratio.
        value: f64,
        /// Thickness of the piece, mm.
        thickness_mm: f64,
    },
    /// Translucency parameter: CIELAB distance between over white and over black.
    Tp {
        /// The distance.
        value: f64,
        /// Thickness of the piece, mm.
        thickness_mm: f64,
    },
}

/// What a material shall look like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DesignTarget<'a> {
    /// Measured colour of the piece (specular excluded), CIELAB LCh, D65/2°.
    pub colour: Lch,
    /// Thickness of the piece at which the colour is meant, mm.
    pub thickness_mm: f64,
    /// Internal reflectance of what lies behind it.
    pub backing: &'a Spectrum,
    /// The surface it is seen through.
    pub interface: Interface,
    /// Wanted translucency.
    pub translucency: TranslucencyTarget,
    /// p in S = S550·(550/λ)^p.
    pub scattering_exponent: f64,
    /// Refractive index written into the medium.
    pub refractive_index: f64,
}

impl<'a> DesignTarget<'a> {
    /// Scattering exponent of the ceramics here.
    pub const SCATTERING_EXPONENT: f64 = 1.2;
}

/// A material that meets a target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Design {
    /// The material.
    pub medium: Medium,
    /// Its thick-layer internal reflectance.
    pub shape: ReflectanceShape,
    /// Scattering at 550 nm, 1/mm.
    pub s550: f64,
    /// Largest part of (ΔL*, Δa*, Δb*, translucency miss) that is left; contrast ratio counts in
    /// hundredths.
    pub residual: f64,
    /// Steps taken.
    pub iterations: usize,
}

/// Why no material was found.
#[derive(Debug, Clone, Copy, PartialEq, Error)]
pub enum DesignError {
    /// A number of the target is out of range.
    #[error("{what} must be {rule}, got {value}")]
    BadTarget {
        /// Which number.
        what: &'static str,
        /// What it must be.
        rule: &'static str,
        /// What it is.
        value: f64,
    },
    /// No material of this family meets the target; how near the best one comes.
    #[error(
        "no material of this family looks like that: the nearest is off by ΔL {dl:.2}, Δa {da:.2}, Δb {db:.2}, translucency {dt:.2}"
    )]
    Unreachable {
        /// L* of the nearest less that wanted.
        dl: f64,
        /// a* of the nearest less that wanted.
        da: f64,
        /// b* of the nearest less that wanted.
        db: f64,
        /// Translucency of the nearest less that wanted: TP, or contrast ratio in hundredths.
        dt: f64,
    },
}

/// Finds a material that meets `target`.
///
/// # Errors
/// [`DesignError`] when the target is out of range or out of reach.
pub fn design(target: &DesignTarget) -> Result<Design, DesignError> {
    // Filled in once the colour functions are in.
    Err(DesignError::BadTarget {
        what: "thickness",
        rule: "positive and finite",
        value: target.thickness_mm,
    })
}

pub(crate) fn fit_shape(colour: Lch) -> Result<ReflectanceShape, DesignError> {
    Err(DesignError::BadTarget {
        what: "lightness",
        rule: "above 0 and below 100",
        value: colour.l,
    })
}
