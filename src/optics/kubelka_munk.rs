//! One Kubelka-Munk layer, one band, in a form that neither overflows nor loses digits.
//!
//! With q = √(K(K+2S)) and t = tanh(qX)/q, everything follows from the one bounded number t; the
//! textbook form in sinh and cosh overflows for thick layers and divides 0 by 0 at K = 0.

/// Below this value of qX a power series replaces the exponential: there e^(-qX) is so near 1
/// that 1 - e^(-2qX) would lose digits, and the first term left out is below 1e-16.
const SERIES_LIMIT: f64 = 0.35;

/// What a free layer does with diffuse light falling on it, 0..1 each.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LayerOptics {
    /// Internal reflectance R0, with nothing behind.
    pub reflectance: f64,
    /// Internal transmittance T.
    pub transmittance: f64,
}

/// A free slab that need not look alike from both sides. Transmittance is the same both ways.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slab {
    /// Internal reflectance seen from above, the viewer's side.
    pub r_top: f64,
    /// Internal reflectance seen from below.
    pub r_bottom: f64,
    /// Internal transmittance.
    pub t: f64,
}

impl From<LayerOptics> for Slab {
    fn from(layer: LayerOptics) -> Self {
        Self { r_top: layer.reflectance, r_bottom: layer.reflectance, t: layer.transmittance }
    }
}

impl Slab {
    /// A slab of no thickness: everything passes.
    pub const CLEAR: Self = Self { r_top: 0.0, r_bottom: 0.0, t: 1.0 };

    /// This slab lying on `below`, as one slab.
    ///
    /// # References
    /// Kubelka, J Opt Soc Am 1954;44:330-335: light between the slabs is a geometric series.
    #[must_use]
    pub fn on(self, below: Self) -> Self {
        let open = gap(self.r_bottom * below.r_top, self.t.max(below.t));
        Self {
            r_top: self.r_top + self.t * (self.t * below.r_top / open),
            r_bottom: below.r_bottom + below.t * (below.t * self.r_bottom / open),
            t: self.t * (below.t / open),
        }
    }

    /// Internal reflectance of this slab on an opaque backing of reflectance `backing`, 0..1.
    #[must_use]
    pub fn over(self, backing: f64) -> f64 {
        self.r_top + self.t * (self.t * backing / gap(self.r_bottom * backing, self.t))
    }
}

/// 1 - `product` of two facing reflectances, kept off zero.
///
/// A slab that reflects all but a rounding error would make the interreflection series divide by
/// zero. Energy conservation bounds the true value from below by either transmittance.
fn gap(product: f64, transmittance: f64) -> f64 {
    (1.0 - product).max(transmittance).max(f64::MIN_POSITIVE)
}

/// q = √(K(K+2S)), 1/mm. The two roots are taken apart so that large K does not overflow.
#[inline]
pub(crate) fn attenuation(k: f64, s: f64) -> f64 {
    k.sqrt() * (k + 2.0 * s).sqrt()
}

/// (sinh y / y, cosh y) by power series, for y ≤ [`SERIES_LIMIT`].
#[inline]
fn small_hyperbolics(y: f64) -> (f64, f64) {
    let z = y * y;
    let sinhc =
        1.0 + z / 6.0 * (1.0 + z / 20.0 * (1.0 + z / 42.0 * (1.0 + z / 72.0 * (1.0 + z / 110.0))));
    let cosh = 1.0
        + z / 2.0
            * (1.0
                + z / 12.0
                    * (1.0 + z / 30.0 * (1.0 + z / 56.0 * (1.0 + z / 90.0 * (1.0 + z / 132.0)))));
    (sinhc, cosh)
}

/// t = tanh(qX)/q in mm, which tends to X as q tends to 0.
#[inline]
pub(crate) fn reduced_thickness(q: f64, thickness_mm: f64) -> f64 {
    let y = q * thickness_mm;
    if y < SERIES_LIMIT {
        let (sinhc, cosh) = small_hyperbolics(y);
        thickness_mm * sinhc / cosh
    } else {
        let e = (-2.0 * y).exp();
        (1.0 - e) / ((1.0 + e) * q)
    }
}

/// Reflectance and transmittance of a free layer.
///
/// R0 = S·t/((K+S)t + 1), T = sech(qX)/((K+S)t + 1), with q = √(K(K+2S)), t = tanh(qX)/q.
/// `k` ≥ 0 and `s` ≥ 0 in 1/mm, `thickness_mm` ≥ 0 and finite. All limits (K = 0, S = 0, X = 0,
/// thick) are taken exactly.
///
/// # References
/// Kubelka, J Opt Soc Am 1948;38:448-457.
#[must_use]
#[inline]
pub fn layer(k: f64, s: f64, thickness_mm: f64) -> LayerOptics {
    let q = attenuation(k, s);
    let y = q * thickness_mm;
    if y < SERIES_LIMIT {
        let (sinhc, cosh) = small_hyperbolics(y);
        let sx = s * thickness_mm * sinhc;
        let denominator = k * thickness_mm * sinhc + sx + cosh;
        LayerOptics { reflectance: sx / denominator, transmittance: 1.0 / denominator }
    } else {
        let e = (-y).exp();
        let e2 = e * e;
        let t = (1.0 - e2) / ((1.0 + e2) * q);
        let denominator = (k + s) * t + 1.0;
        LayerOptics {
            reflectance: s * t / denominator,
            transmittance: 2.0 * e / ((1.0 + e2) * denominator),
        }
    }
}

/// Internal reflectance of a layer on an opaque backing of reflectance `backing`, 0..1.
#[must_use]
#[inline]
pub fn over(layer: LayerOptics, backing: f64) -> f64 {
    Slab::from(layer).over(backing)
}

/// Internal reflectance of a layer on a backing, straight from K and S.
///
/// R = (Rg + (S(1-Rg) - K·Rg)t) / (1 + (K + S(1-Rg))t). The same quantity as [`over`] of
/// [`layer`], but with one exponential, a denominator never below 1 and no digits lost anywhere.
/// Ranges as for [`layer`].
///
/// # References
/// Rearranged from Kubelka, J Opt Soc Am 1948;38:448-457.
#[must_use]
#[inline]
pub fn layer_over(k: f64, s: f64, thickness_mm: f64, backing: f64) -> f64 {
    let t = reduced_thickness(attenuation(k, s), thickness_mm);
    let gain = s * (1.0 - backing);
    // A pure absorber leaves a difference of nearly equal numbers, which may round below 0.
    ((backing + (gain - k * backing) * t) / (1.0 + (k + gain) * t)).max(0.0)
}

/// Internal reflectance of an infinitely thick layer, R∞ = S/(K + S + q).
///
/// `k` ≥ 0 and `s` ≥ 0 in 1/mm. With `s` = 0 nothing returns: 0, also where both vanish and the
/// ratio has no value.
#[must_use]
#[inline]
pub fn r_infinity(k: f64, s: f64) -> f64 {
    if s > 0.0 { s / (k + s + attenuation(k, s)) } else { 0.0 }
}

/// K/S of a material whose thick layer has internal reflectance `r_infinity`, 0 < R∞ ≤ 1.
///
/// K/S = (1-R∞)²/(2R∞).
///
/// # References
/// Kubelka and Munk, Z Tech Phys 1931;12:593-601.
#[must_use]
#[inline]
pub fn k_over_s(r_infinity: f64) -> f64 {
    (1.0 - r_infinity).powi(2) / (2.0 * r_infinity)
}
