//! Colour differences, total and in signed parts, and the thresholds they are read against.

use super::Lab;
use std::sync::LazyLock;

/// 50:50 perceptibility threshold, CIEDE2000 (1:1:1).
///
/// # References
/// Paravina et al. 2015, J Esthet Restor Dent 27 Suppl 1:S1–S9.
pub const PERCEPTIBILITY_DE00: f64 = 0.8;

/// 50:50 acceptability threshold, CIEDE2000 (1:1:1).
///
/// # References
/// Paravina et al. 2015, J Esthet Restor Dent 27 Suppl 1:S1–S9.
pub const ACCEPTABILITY_DE00: f64 = 1.8;

/// A CIEDE2000 difference with its signed parts, sample minus reference.
///
/// `de00² = dl00² + dc00² + dh00² + rotation·dc00·dh00`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Total difference ΔE00, 0 or more.
    pub de00: f64,
    /// Lightness part `ΔL′/S_L`; positive when the sample is lighter.
    pub dl00: f64,
    /// Chroma part `ΔC′/S_C`; positive when the sample is more chromatic.
    pub dc00: f64,
    /// Hue part `ΔH′/S_H`; positive when the sample's hue angle is larger (for tooth colours: from
    /// red towards yellow).
    pub dh00: f64,
    /// Rotation term `R_T`, −2..0; only strong near blue.
    pub rotation: f64,
}

/// Weighting functions of CIEDE2000 at the mean of two colours.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ciede2000Weights {
    /// Lightness weight `S_L`.
    pub s_l: f64,
    /// Chroma weight `S_C`.
    pub s_c: f64,
    /// Hue weight `S_H`.
    pub s_h: f64,
    /// Rotation term `R_T`.
    pub rotation: f64,
}

/// Both colours in the CIEDE2000 primed space, and what follows from them.
struct Primed {
    dl: f64,
    dc: f64,
    dh: f64,
    weights: Ciede2000Weights,
}

/// Sines and cosines of the fixed angles of eq. 15: 30°, 6°, 63°.
static TURNS: LazyLock<[(f64, f64); 3]> =
    LazyLock::new(|| [30.0_f64, 6.0, 63.0].map(|degrees| degrees.to_radians().sin_cos()));

/// c⁷ / (c⁷ + 25⁷), the switch between near-neutral and chromatic.
fn chroma_switch(c: f64) -> f64 {
    let c7 = c.powi(7);
    c7 / (c7 + 25_f64.powi(7))
}

/// √(a² + b²). Not `hypot`: its care for overflow costs more than the rest of a difference.
fn chroma(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
}

/// Chroma C′ and hue h′ in degrees 0..360, 0 for a neutral.
fn polar(a: f64, b: f64) -> (f64, f64) {
    let degrees = b.atan2(a).to_degrees();
    (chroma(a, b), if degrees < 0.0 { degrees + 360.0 } else { degrees })
}

fn primed(reference: Lab, sample: Lab) -> Primed {
    // Sharma et al. 2005, eqs 2-7.
    let c_mean = f64::midpoint(chroma(reference.a, reference.b), chroma(sample.a, sample.b));
    let g = 0.5 * (1.0 - chroma_switch(c_mean).sqrt());
    let (c1, h1) = polar((1.0 + g) * reference.a, reference.b);
    let (c2, h2) = polar((1.0 + g) * sample.a, sample.b);
    let neutral = c1 == 0.0 || c2 == 0.0;

    // Eqs 8-11. The hue difference is the short way round; of two opposite hues neither is
    // shorter, and the paper's rule takes them as they come.
    let far = (h2 - h1).abs() > 180.0;
    let dh_degrees = if neutral {
        0.0
    } else if !far {
        h2 - h1
    } else if h2 > h1 {
        h2 - h1 - 360.0
    } else {
        h2 - h1 + 360.0
    };
    let dh = 2.0 * (c1 * c2).sqrt() * (dh_degrees / 2.0).to_radians().sin();

    // Eqs 12-14.
    let l_mean = f64::midpoint(reference.l, sample.l);
    let c_mean = f64::midpoint(c1, c2);
    let h_sum = h1 + h2;
    let h_mean = if neutral {
        h_sum
    } else if !far {
        h_sum / 2.0
    } else if h_sum < 360.0 {
        (h_sum + 360.0) / 2.0
    } else {
        (h_sum - 360.0) / 2.0
    };

    // Eqs 15-21.
    // Cosines of h, 2h, 3h, 4h from one sine and cosine.
    let (sin1, cos1) = h_mean.to_radians().sin_cos();
    let (sin2, cos2) = (2.0 * sin1 * cos1, cos1 * cos1 - sin1 * sin1);
    let (sin3, cos3) = (sin2 * cos1 + cos2 * sin1, cos2 * cos1 - sin2 * sin1);
    let (sin4, cos4) = (2.0 * sin2 * cos2, cos2 * cos2 - sin2 * sin2);
    let [(sin30, cos30), (sin6, cos6), (sin63, cos63)] = *TURNS;
    let t = 1.0 - 0.17 * (cos1 * cos30 + sin1 * sin30)
        + 0.24 * cos2
        + 0.32 * (cos3 * cos6 - sin3 * sin6)
        - 0.20 * (cos4 * cos63 + sin4 * sin63);
    let theta_degrees = 30.0 * (-((h_mean - 275.0) / 25.0).powi(2)).exp();
    let l_offset2 = (l_mean - 50.0).powi(2);
    let weights = Ciede2000Weights {
        s_l: 1.0 + 0.015 * l_offset2 / (20.0 + l_offset2).sqrt(),
        s_c: 1.0 + 0.045 * c_mean,
        s_h: 1.0 + 0.015 * c_mean * t,
        rotation: -2.0 * chroma_switch(c_mean).sqrt() * (2.0 * theta_degrees).to_radians().sin(),
    };
    Primed { dl: sample.l - reference.l, dc: c2 - c1, dh, weights }
}

/// CIEDE2000 (kL = kC = kH = 1) of a sample against a reference.
///
/// The total is symmetric; the parts change sign when the two are swapped. Developed for
/// differences below about 5 units: larger ones are ranks rather than distances.
///
/// # References
/// Sharma, Wu, Dalal 2005, Color Res Appl 30:21-30, eqs 2-22; ISO/CIE 11664-6.
#[must_use]
pub fn ciede2000(reference: Lab, sample: Lab) -> Difference {
    let Primed { dl, dc, dh, weights } = primed(reference, sample);
    let (dl00, dc00, dh00) = (dl / weights.s_l, dc / weights.s_c, dh / weights.s_h);
    let rotation = weights.rotation;
    // |R_T| < 2 keeps the form positive; only rounding can take it a hair below 0.
    let squared = dl00 * dl00 + dc00 * dc00 + dh00 * dh00 + rotation * dc00 * dh00;
    Difference { de00: squared.max(0.0).sqrt(), dl00, dc00, dh00, rotation }
}

/// The weighting functions between two colours; for one colour give it twice.
///
/// # References
/// Sharma, Wu, Dalal 2005, eqs 15-21.
#[must_use]
pub fn ciede2000_weights(reference: Lab, sample: Lab) -> Ciede2000Weights {
    primed(reference, sample).weights
}

/// CIE 1976 difference ΔE*ab, the Euclidean distance.
///
/// # References
/// ISO/CIE 11664-4.
#[must_use]
pub fn de76(reference: Lab, sample: Lab) -> f64 {
    (sample.l - reference.l).hypot(sample.a - reference.a).hypot(sample.b - reference.b)
}
