//! Spectra, XYZ and CIELAB together with their slopes along the unknowns of a design.

use crate::colorimetry::{Illuminant, Lab, Observer, TristimulusWeights, Xyz};
use crate::optics::kubelka_munk::{attenuation, reduced_thickness};
use crate::spectrum::{N_BANDS, Spectrum};

/// A layer's internal reflectance over one backing and its slopes by K and S.
#[derive(Clone, Copy)]
pub(super) struct Slope {
    pub value: f64,
    pub by_k: f64,
    pub by_s: f64,
}

/// t = tanh(qX)/q of a layer and its slopes by K and S, shared by all backings.
#[derive(Clone, Copy)]
pub(super) struct LayerSlopes {
    k: f64,
    s: f64,
    t: Slope,
}

impl LayerSlopes {
    pub fn new(k: f64, s: f64, thickness_mm: f64) -> Self {
        let q = attenuation(k, s);
        let z = q * q;
        let t = reduced_thickness(q, thickness_mm);
        let y2 = z * thickness_mm * thickness_mm;
        let by_z = if y2 < 1e-3 {
            // tanh(y)/y = 1 - y²/3 + 2y⁴/15 - 17y⁶/315; 1e-8 of the slope is plenty for steps.
            thickness_mm.powi(3) * (-1.0 / 3.0 + y2 * (4.0 / 15.0 - y2 * 17.0 / 105.0))
        } else {
            (thickness_mm * (1.0 - z * t * t) - t) / (2.0 * z)
        };
        let t = Slope { value: t, by_k: by_z * 2.0 * (k + s), by_s: by_z * 2.0 * k };
        Self { k, s, t }
    }

    /// As [`crate::optics::kubelka_munk::layer_over`], with slopes.
    pub fn over(&self, backing: f64) -> Slope {
        let Self { k, s, t } = *self;
        let open = 1.0 - backing;
        let up = s * open - k * backing;
        let down = k + s * open;
        let denominator = 1.0 + down * t.value;
        let value = (backing + up * t.value) / denominator;
        let slope = |t_slope: f64, up_slope: f64, down_slope: f64| {
            let numerator = up_slope * t.value + up * t_slope;
            (numerator - value * (down_slope * t.value + down * t_slope)) / denominator
        };
        Slope { value, by_k: slope(t.by_k, -backing, 1.0), by_s: slope(t.by_s, open, open) }
    }
}

/// A reflectance spectrum and its slopes along `N` unknowns.
pub(super) struct SpectrumSlopes<const N: usize> {
    pub value: [f64; N_BANDS],
    pub slopes: [[f64; N_BANDS]; N],
}

impl<const N: usize> SpectrumSlopes<N> {
    pub const fn zero() -> Self {
        Self { value: [0.0; N_BANDS], slopes: [[0.0; N_BANDS]; N] }
    }
}

/// A colour under D65/2° and its slopes along `N` unknowns.
pub(super) struct ColourSlopes<const N: usize> {
    pub y: f64,
    pub y_slopes: [f64; N],
    pub lab: [f64; 3],
    pub lab_slopes: [[f64; N]; 3],
}

impl<const N: usize> ColourSlopes<N> {
    pub fn new(spectrum: &SpectrumSlopes<N>, weights: &TristimulusWeights) -> Self {
        let sum = |bands: &[f64; N_BANDS]| weights.xyz(&Spectrum::from_bands(*bands));
        let white = weights.white();
        let value = sum(&spectrum.value);
        let lab = Lab::from_xyz(value, white);
        let gain = [
            knee_slope(value.x / white.x) / white.x,
            knee_slope(value.y / white.y) / white.y,
            knee_slope(value.z / white.z) / white.z,
        ];
        let mut lab_slopes = [[0.0; N]; 3];
        let mut y_slopes = [0.0; N];
        for (i, bands) in spectrum.slopes.iter().enumerate() {
            let Xyz { x, y, z } = sum(bands);
            let f = [x * gain[0], y * gain[1], z * gain[2]];
            y_slopes[i] = y;
            lab_slopes[0][i] = 116.0 * f[1];
            lab_slopes[1][i] = 500.0 * (f[0] - f[1]);
            lab_slopes[2][i] = 200.0 * (f[1] - f[2]);
        }
        Self { y: value.y, y_slopes, lab: [lab.l, lab.a, lab.b], lab_slopes }
    }
}

/// The weights of D65 and the 2° observer.
pub(super) fn d65() -> &'static TristimulusWeights {
    TristimulusWeights::of(Illuminant::D65, Observer::Cie1931, crate::colorimetry::Summation::Full5)
}

/// Slope of CIELAB's compressive function (ISO/CIE 11664-4).
fn knee_slope(ratio: f64) -> f64 {
    const KNEE: f64 = 6.0 / 29.0;
    if ratio > KNEE * KNEE * KNEE {
        1.0 / (3.0 * ratio.cbrt().powi(2))
    } else {
        1.0 / (3.0 * KNEE * KNEE)
    }
}
