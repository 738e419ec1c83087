//! Inverse design: a plausible material from a wanted colour and translucency.

use super::design_error::DesignError;
use crate::colorimetry::{Lab, Lch};
use crate::optics::kubelka_munk::k_over_s;
use crate::optics::least_squares::{Minimum, minimise};
use crate::optics::look::Look;
use crate::optics::medium::power_law_scattering;
use crate::optics::sensitivity::{ColourSlopes, SpectrumSlopes, d65};
use crate::optics::shape::{
    NARROWER_NM, STARTS_NM, ShapeUnknowns, TOLERANCE, check_colour, luminance,
};
use crate::optics::translucency::{PRACTICAL_BLACK, PRACTICAL_WHITE};
use crate::optics::{Interface, Medium, ReflectanceShape, TwoFluxMedium};
use crate::spectrum::{N_BANDS, Spectrum};
use nalgebra::{Matrix4, Vector4};

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
#[derive(Debug, Clone, Copy)]
pub struct DesignTarget<'a> {
    /// Measured colour of the piece (specular excluded), CIELAB LCh, D65/2°.
    pub colour: Lch,
    /// Thickness of the piece at which the colour is meant, mm.
    pub thickness_mm: f64,
    /// Internal reflectance of what lies behind it.
    pub backing: &'a Spectrum,
    /// The engine that says what it looks like.
    pub look: Look<'a>,
    /// Wanted translucency.
    pub translucency: TranslucencyTarget,
    /// p in S = S550·(550/λ)^p.
    pub scattering_exponent: f64,
    /// Refractive index of the medium.
    pub refractive_index: f64,
    /// Anisotropy written into the medium.
    pub anisotropy: f64,
}

impl DesignTarget<'_> {
    /// Scattering exponent of the ceramics here.
    pub const SCATTERING_EXPONENT: f64 = 1.2;
}

/// A material that meets a target.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Design {
    /// The material, as the engine of the target sees it.
    pub medium: Medium,
    /// The same for the two-flux model: the solution itself where that was the engine.
    pub two_flux: TwoFluxMedium,
    /// Thick-layer internal reflectance of its two-flux view.
    pub shape: ReflectanceShape,
    /// Scattering at 550 nm, 1/mm.
    pub s550: f64,
    /// Largest part of (ΔL*, Δa*, Δb*, translucency miss) that is left; contrast ratio counts in
    /// hundredths.
    pub residual: f64,
    /// Steps taken.
    pub iterations: usize,
}

/// Finds a material that meets `target`.
///
/// The family, in two-flux terms: S(λ) = S550·(550/λ)^p and K = S(1-R∞)²/(2R∞), R∞ a [`ReflectanceShape`] of fixed
/// width, 55 nm or, for strong greenish yellows out of its reach, narrower; A, l, m and S550 are
/// solved so that colour and translucency, as the engine of the target sees them, are met
/// within 1e-6.
/// Colour and translucency can conflict, for example a light piece cannot be very translucent over
/// a dark backing; also contrast ratio and TP are not independent, so only one is asked for.
///
/// # Errors
/// [`DesignError`] when the target is out of range or out of reach.
pub fn design(target: &DesignTarget) -> Result<Design, DesignError> {
    check(target)?;
    let piece = Piece::new(target);
    let mut nearest: Option<Minimum<4>> = None;
    let mut iterations = 0;
    for (shape, s550) in starts(target) {
        let [a, l, m] = ShapeUnknowns::from_shape(shape);
        let start = Vector4::new(a, l, m, s550.ln());
        let found = minimise(start, 1e-9, MAX_ITERATIONS, |x| piece.equations(x, shape.w));
        iterations += found.iterations;
        if found.residual() < TOLERANCE {
            return piece.design(&found, shape.w, iterations);
        }
        if nearest.as_ref().is_none_or(|n| found.residuals.norm() < n.residuals.norm()) {
            nearest = Some(found);
        }
    }
    let miss = nearest.map_or(Vector4::zeros(), |n| n.residuals);
    Err(DesignError::Unreachable { dl: miss[0], da: miss[1], db: miss[2], dt: miss[3] })
}

/// Where to start, likeliest first: curves of several heights with scattering to match the
/// translucency roughly, then narrower rises for colours that the usual width cannot reach.
///
/// The first start finds 98 % of the targets that can be met, the first six all of 3000 random
/// ones.
fn starts(target: &DesignTarget) -> impl Iterator<Item = (ReflectanceShape, f64)> {
    let surface = Interface::between_air_and(target.refractive_index);
    let y = surface.internal_from_excluded(luminance(target.colour.l));
    let (thickness_mm, opacity) = match target.translucency {
        TranslucencyTarget::ContrastRatio { value, thickness_mm } => (thickness_mm, value),
        // Contrast ratio against TP of a plain tooth shade, Kubelka-Munk with a surface: about
        // linear through (0.52, 28.8) and (0.75, 16.4).
        TranslucencyTarget::Tp { value, thickness_mm } => {
            (thickness_mm, (1.05 - 0.0186 * value).clamp(0.2, 0.98))
        }
    };
    // S·X = R0/(1-R0) without absorption; the contrast ratio stands in for R0 and the factor for
    // the surface.
    let s550 = 1.5 * opacity / (1.0 - opacity).max(0.01) / thickness_mm;
    let usual = ReflectanceShape::WIDTH_NM;
    let [m0, m1, _] = STARTS_NM;
    let at_usual_width = [
        (y, m0, usual, s550),
        (0.97, m0, usual, s550),
        (y, m0, usual, 3.0 * s550),
        (0.7 * y, m0, usual, 0.4 * s550),
        (y, m1, usual, s550),
        (0.97, m1, usual, s550),
    ];
    let narrower = NARROWER_NM.map(|w| (y, m0, w, s550));
    at_usual_width
        .into_iter()
        .chain(narrower)
        .map(|(height, m, w, s550)| (ReflectanceShape::start(height, m, w), s550))
}

/// A target with what stays the same from step to step.
struct Piece<'a> {
    target: &'a DesignTarget<'a>,
    wanted: Lab,
    /// (550/λ)^p.
    scattering: Spectrum,
}

impl<'a> Piece<'a> {
    fn new(target: &'a DesignTarget<'a>) -> Self {
        Self {
            target,
            wanted: target.colour.into(),
            scattering: power_law_scattering(1.0, target.scattering_exponent),
        }
    }

    /// Misses in L*, a*, b* and translucency, and their slopes along the four unknowns.
    fn equations(&self, x: &Vector4<f64>, w: f64) -> (Vector4<f64>, Matrix4<f64>) {
        let DesignTarget { thickness_mm, backing, look, translucency, .. } = *self.target;
        let shape = ShapeUnknowns::at(x[0], x[1], x[2], w);
        let s550 = x[3].exp();
        let mut spectra = [const { SpectrumSlopes::<4>::zero() }; 3];
        for band in 0..N_BANDS {
            let s = s550 * self.scattering[band];
            let r = shape.at_band(band);
            let k = s * k_over_s(r.value);
            // d(K/S)/dR∞.
            let ratio_slope = -(1.0 - r.value * r.value) / (2.0 * r.value * r.value);
            let piece = look.layer(k, s, thickness_mm);
            let tested = if translucency.thickness_mm() == thickness_mm {
                piece
            } else {
                look.layer(k, s, translucency.thickness_mm())
            };
            let measured = [
                piece.over(backing[band]),
                tested.over(PRACTICAL_WHITE),
                tested.over(PRACTICAL_BLACK),
            ];
            for (spectrum, measured) in spectra.iter_mut().zip(measured) {
                spectrum.value[band] = measured.value;
                for i in 0..3 {
                    spectrum.slopes[i][band] = measured.by_k * s * ratio_slope * r.slopes[i];
                }
                // K and S both grow with S550 at fixed R∞.
                spectrum.slopes[3][band] = measured.by_k * k + measured.by_s * s;
            }
        }
        let [piece, white, black] = spectra.map(|s| ColourSlopes::new(&s, d65()));
        let [l, a, b] = piece.lab;
        let (miss, miss_slopes) = translucency.miss(&white, &black);
        let residuals = Vector4::new(l - self.wanted.l, a - self.wanted.a, b - self.wanted.b, miss);
        let jacobian = Matrix4::from_fn(|row, column| {
            if row < 3 { piece.lab_slopes[row][column] } else { miss_slopes[column] }
        });
        (residuals, jacobian)
    }

    fn design(&self, found: &Minimum<4>, w: f64, iterations: usize) -> Result<Design, DesignError> {
        let x = &found.x;
        let shape = ShapeUnknowns::at(x[0], x[1], x[2], w).shape;
        let s550 = x[3].exp();
        let s = self.scattering * s550;
        let n = self.target.refractive_index;
        let two_flux = TwoFluxMedium::from_r_infinity(&shape.spectrum(), s, n)?;
        let medium = Medium::from_two_flux(&two_flux, self.target.anisotropy);
        Ok(Design { medium, two_flux, shape, s550, residual: found.residual(), iterations })
    }
}

impl TranslucencyTarget {
    /// Thickness at which the translucency is meant, mm.
    #[must_use]
    pub const fn thickness_mm(&self) -> f64 {
        match *self {
            Self::ContrastRatio { thickness_mm, .. } | Self::Tp { thickness_mm, .. } => {
                thickness_mm
            }
        }
    }

    /// How far off a piece is, in TP or hundredths of contrast ratio, and the slopes of that.
    fn miss<const N: usize>(
        &self,
        white: &ColourSlopes<N>,
        black: &ColourSlopes<N>,
    ) -> (f64, [f64; N]) {
        match *self {
            Self::ContrastRatio { value, .. } => {
                let ratio = black.y / white.y;
                let slope =
                    |i: usize| 100.0 * (black.y_slopes[i] - ratio * white.y_slopes[i]) / white.y;
                (100.0 * (ratio - value), std::array::from_fn(slope))
            }
            Self::Tp { value, .. } => {
                let apart: [f64; 3] = std::array::from_fn(|j| white.lab[j] - black.lab[j]);
                let tp = apart.iter().map(|d| d * d).sum::<f64>().sqrt();
                let slope = |i: usize| {
                    let along =
                        |j: usize| apart[j] * (white.lab_slopes[j][i] - black.lab_slopes[j][i]);
                    // An opaque piece has TP 0, where the distance has no slope.
                    (along(0) + along(1) + along(2)) / tp.max(1e-12)
                };
                (tp - value, std::array::from_fn(slope))
            }
        }
    }
}

/// Steps per start; hits take about ten.
const MAX_ITERATIONS: usize = 60;

fn check(target: &DesignTarget) -> Result<(), DesignError> {
    check_colour(target.colour)?;
    let rule = |valid: bool, what, rule, value| {
        if valid { Ok(()) } else { Err(DesignError::BadTarget { what, rule, value }) }
    };
    let thickness = |value: f64| {
        rule(value > 0.0 && value.is_finite(), "thickness in mm", "positive and finite", value)
    };
    thickness(target.thickness_mm)?;
    thickness(target.translucency.thickness_mm())?;
    for &r in target.backing.bands() {
        rule((0.0..=1.0).contains(&r), "backing reflectance", "in 0..1", r)?;
    }
    if let Look::TwoFlux(Interface { k1, k2 }) = target.look {
        for k in [k1, k2] {
            rule((0.0..1.0).contains(&k), "surface reflectance", "at least 0 and below 1", k)?;
        }
    }
    let n = target.refractive_index;
    rule(n >= 1.0 && n.is_finite(), "refractive index", "finite and at least 1", n)?;
    let p = target.scattering_exponent;
    rule(p.is_finite(), "scattering exponent", "finite", p)?;
    match target.translucency {
        TranslucencyTarget::ContrastRatio { value, .. } => {
            rule(value > 0.0 && value < 1.0, "contrast ratio", "above 0 and below 1", value)
        }
        TranslucencyTarget::Tp { value, .. } => {
            rule(value > 0.0 && value < 100.0, "TP", "above 0 and below 100", value)
        }
    }
}
