//! The one family of reflectance curves for tooth-coloured, opaque things.

use crate::colorimetry::{Lab, Lch};
use crate::optics::DesignError;
use crate::optics::least_squares::minimise;
use crate::optics::sensitivity::{ColourSlopes, SpectrumSlopes, d65};
use crate::spectrum::{N_BANDS, Spectrum, wavelength_nm};
use nalgebra::{SMatrix, SVector, Vector3};

/// A reflectance curve that rises from blue to red as teeth do:
/// R(λ) = A·(l + (1-l)/(1 + e^(-(λ-m)/w))).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReflectanceShape {
    /// A, reflectance far into the red, 0..1.
    pub a: f64,
    /// l, the blue end as a fraction of the red end, 0..1.
    pub l: f64,
    /// m, wavelength of the middle of the rise, nm.
    pub m: f64,
    /// w, width of the rise, nm.
    pub w: f64,
}

impl ReflectanceShape {
    /// Width of the rise wherever it reaches the wanted colour, nm.
    pub const WIDTH_NM: f64 = 55.0;

    /// Reflectance at one wavelength in nm.
    #[must_use]
    pub fn at_nm(&self, nm: f64) -> f64 {
        self.a * (self.l + (1.0 - self.l) * logistic((nm - self.m) / self.w))
    }

    /// Reflectance at every band.
    #[must_use]
    pub fn spectrum(&self) -> Spectrum {
        Spectrum::from_fn(|nm| self.at_nm(nm))
    }

    /// The opaque curve of this family with colour `colour` (CIELAB LCh, D65/2°).
    ///
    /// The colour is that of the curve itself, no surface involved. The width is
    /// [`Self::WIDTH_NM`] wherever that reaches the colour, else narrower: strong greenish yellows
    /// need a steeper rise.
    ///
    /// # Errors
    /// [`DesignError`] when the colour is no colour, or no curve of the family has it.
    pub fn fit(colour: Lch) -> Result<Self, DesignError> {
        check_colour(colour)?;
        let wanted = Lab::from(colour);
        let equations = |x: &SVector<f64, 3>, w: f64| {
            let unknowns = ShapeUnknowns::at(x[0], x[1], x[2], w);
            let mut spectrum = SpectrumSlopes::<3>::zero();
            for band in 0..N_BANDS {
                let r = unknowns.at_band(band);
                spectrum.value[band] = r.value;
                for (slopes, slope) in spectrum.slopes.iter_mut().zip(r.slopes) {
                    slopes[band] = slope;
                }
            }
            let colour = ColourSlopes::new(&spectrum, d65());
            let [l, a, b] = colour.lab;
            (
                Vector3::new(l - wanted.l, a - wanted.a, b - wanted.b),
                SMatrix::from_fn(|row, column| colour.lab_slopes[row][column]),
            )
        };
        let height = 1.1 * luminance(colour.l);
        let at_usual_width = STARTS_NM.map(|m| (m, Self::WIDTH_NM));
        let narrower = NARROWER_NM.map(|w| (STARTS_NM[0], w));
        let mut nearest: Option<Vector3<f64>> = None;
        for (m, w) in at_usual_width.into_iter().chain(narrower) {
            let start = ShapeUnknowns::from_shape(Self::start(height, m, w));
            let found = minimise(SVector::from(start), 1e-10, MAX_ITERATIONS, |x| equations(x, w));
            if found.residual() < TOLERANCE {
                return Ok(ShapeUnknowns::at(found.x[0], found.x[1], found.x[2], w).shape);
            }
            if nearest.is_none_or(|n| found.residuals.norm() < n.norm()) {
                nearest = Some(found.residuals);
            }
        }
        let miss = nearest.unwrap_or_default();
        Err(DesignError::Unreachable { dl: miss[0], da: miss[1], db: miss[2], dt: 0.0 })
    }

    /// A plain tooth-coloured curve of about the given height, to start from.
    pub(super) fn start(height: f64, m: f64, w: f64) -> Self {
        Self { a: height.clamp(0.02, 0.97), l: 0.45, m, w }
    }
}

/// Largest miss in CIELAB units (contrast ratio: hundredths) that counts as a hit.
pub(super) const TOLERANCE: f64 = 1e-6;

/// Middles of the rise to start from, nm.
pub(super) const STARTS_NM: [f64; 3] = [500.0, 450.0, 560.0];

/// Widths to fall back on, nm.
pub(super) const NARROWER_NM: [f64; 3] = [40.0, 28.0, 20.0];

/// Steps per start; hits take about ten.
const MAX_ITERATIONS: usize = 100;

/// m is kept to 350..750 nm: a rise outside the visible would not be seen.
const MIDDLE_NM: f64 = 550.0;
const REACH_NM: f64 = 200.0;

/// A shape by three unbounded unknowns: logit A, logit l, and m on a tanh scale.
pub(super) struct ShapeUnknowns {
    pub shape: ReflectanceShape,
    m_slope: f64,
}

/// A reflectance and its slopes by the three unknowns.
pub(super) struct ShapeSlopes {
    pub value: f64,
    pub slopes: [f64; 3],
}

impl ShapeUnknowns {
    pub fn at(logit_a: f64, logit_l: f64, m: f64, w: f64) -> Self {
        let shape = ReflectanceShape {
            a: logistic(logit_a),
            l: logistic(logit_l),
            m: MIDDLE_NM + REACH_NM * m.tanh(),
            w,
        };
        Self { shape, m_slope: REACH_NM * (1.0 - m.tanh().powi(2)) }
    }

    pub fn from_shape(shape: ReflectanceShape) -> [f64; 3] {
        let logit = |p: f64| (p / (1.0 - p)).ln();
        [logit(shape.a), logit(shape.l), ((shape.m - MIDDLE_NM) / REACH_NM).atanh()]
    }

    pub fn at_band(&self, band: usize) -> ShapeSlopes {
        let ReflectanceShape { a, l, m, w } = self.shape;
        let rise = logistic((wavelength_nm(band) - m) / w);
        let fraction = l + (1.0 - l) * rise;
        let value = a * fraction;
        ShapeSlopes {
            value,
            slopes: [
                value * (1.0 - a),
                a * (1.0 - rise) * l * (1.0 - l),
                -a * (1.0 - l) * rise * (1.0 - rise) / w * self.m_slope,
            ],
        }
    }
}

/// 1/(1 + e^-x).
fn logistic(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

/// Luminance factor 0..1 of a lightness L*.
pub(super) fn luminance(lightness: f64) -> f64 {
    let white = d65().white();
    Lab { l: lightness, a: 0.0, b: 0.0 }.to_xyz(white).y / white.y
}

pub(super) fn check_colour(colour: Lch) -> Result<(), DesignError> {
    let rule = |valid: bool, what, rule, value| {
        if valid { Ok(()) } else { Err(DesignError::BadTarget { what, rule, value }) }
    };
    rule(colour.l > 0.0 && colour.l < 100.0, "lightness L*", "above 0 and below 100", colour.l)?;
    rule(colour.c >= 0.0 && colour.c.is_finite(), "chroma C*", "finite and at least 0", colour.c)?;
    rule(colour.h.is_finite(), "hue angle", "finite", colour.h)
}
