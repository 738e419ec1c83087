//! The display: sRGB primaries and white, its encoding, and colours as they are shown on it.

use super::adaptation::{AdaptationMatrix, from_vector, matrix, vector};
use super::tristimulus::{on_samples, weighted_sample_sums, weighted_sums};
use super::{Adaptation, Illuminant, Lab, Observer, Summation, TristimulusWeights, Xyz};
use crate::spectrum::{
    N_BANDS, N_SAMPLES, SAMPLE_VECTORS, SampleVectors, Samples, Spectrum, VectorWeights,
};
use nalgebra::{Matrix3, Vector3};
use palette::encoding::{FromLinear, IntoLinear, Srgb};
use std::sync::LazyLock;

/// Chromaticities (x, y) of the primaries and the white, IEC 61966-2-1:1999.
const PRIMARIES: [[f64; 2]; 3] = [[0.64, 0.33], [0.30, 0.60], [0.15, 0.06]];
const WHITE: [f64; 2] = [0.3127, 0.3290];

/// The matrix printed in IEC 61966-2-1:1999, XYZ (Y = 1) to linear RGB, four decimals.
const IEC_ROUNDED: [[f64; 3]; 3] =
    [[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.2040, 1.0570]];

/// XYZ on the Y = 1 scale of a chromaticity at luminance 1.
fn xyz_of_chromaticity([x, y]: [f64; 2]) -> Vector3<f64> {
    Vector3::new(x / y, 1.0, (1.0 - x - y) / y)
}

/// Conversion between linear RGB (0..1) and XYZ on the Y = 100 scale.
struct DisplayMatrices {
    to_xyz: Matrix3<f64>,
    from_xyz: Matrix3<f64>,
}

static MATRICES: LazyLock<DisplayMatrices> = LazyLock::new(|| {
    // Derived in full precision: the four-decimal matrices of the standard are not inverse to
    // each other, and white would not be (1, 1, 1).
    let unscaled = Matrix3::from_columns(&PRIMARIES.map(xyz_of_chromaticity));
    let scale =
        unscaled.try_inverse().expect("three distinct primaries") * xyz_of_chromaticity(WHITE);
    let to_xyz = unscaled * Matrix3::from_diagonal(&scale) * 100.0;
    let from_xyz = to_xyz.try_inverse().expect("three distinct primaries");
    DisplayMatrices { to_xyz, from_xyz }
});

/// XYZ of the display's white: x = 0.3127, y = 0.3290, Y = 100 (95.046, 100, 108.906).
///
/// This is the D65 of the sRGB standard, rounded to four decimals there. The white that the CIE
/// table of D65 sums to ([`super::white_point`]) is (95.043, 100, 108.880).
#[must_use]
pub fn display_white() -> Xyz {
    linear_srgb_to_xyz([1.0; 3])
}

/// Linear sRGB of XYZ (Y = 100, relative to [`display_white`]); outside 0..1 when out of gamut.
///
/// # References
/// IEC 61966-2-1:1999 primaries and white, matrix derived from them.
#[must_use]
pub fn xyz_to_linear_srgb(xyz: Xyz) -> [f64; 3] {
    (MATRICES.from_xyz * vector(xyz)).into()
}

/// XYZ (Y = 100) of linear sRGB, the inverse of [`xyz_to_linear_srgb`].
#[must_use]
pub fn linear_srgb_to_xyz(linear: [f64; 3]) -> Xyz {
    from_vector(MATRICES.to_xyz * Vector3::from(linear))
}

/// Linear sRGB by the four-decimal matrix printed in the standard, for comparison with programs
/// that use it. Nothing here does: it misses white by up to 1.6e-4.
///
/// # References
/// IEC 61966-2-1:1999.
#[must_use]
pub fn xyz_to_linear_srgb_iec_rounded(xyz: Xyz) -> [f64; 3] {
    (matrix(&IEC_ROUNDED) * (vector(xyz) / 100.0)).into()
}

/// Encodes linear sRGB for the display after clamping to 0..1.
///
/// # References
/// IEC 61966-2-1:1999.
#[must_use]
pub fn to_display(linear: [f64; 3]) -> [f64; 3] {
    to_display_unclamped(linear.map(|v| v.clamp(0.0, 1.0)))
}

/// Encodes linear sRGB without clamping, the curve continued above 1 and mirrored below 0.
#[must_use]
pub fn to_display_unclamped(linear: [f64; 3]) -> [f64; 3] {
    // palette's curve is the standard's from 0 up, but it continues the straight toe below 0.
    linear.map(|v| <Srgb as FromLinear<f64, f64>>::from_linear(v.abs()).copysign(v))
}

/// Encodes linear sRGB as 8-bit codes, clamped and rounded to nearest.
#[must_use]
pub fn to_display_8bit(linear: [f64; 3]) -> [u8; 3] {
    // Not palette's float-to-byte path: that is a table with up to 0.6 of a code of error.
    to_display(linear).map(|v| (255.0 * v + 0.5).floor() as u8)
}

/// Linear sRGB of encoded values, the inverse of [`to_display_unclamped`].
///
/// The standard rounds the joint of its two branches, so that linear values at 0.00313 come back up
/// to 2.4e-9 off.
#[must_use]
pub fn from_display(encoded: [f64; 3]) -> [f64; 3] {
    encoded.map(|v| <Srgb as IntoLinear<f64, f64>>::into_linear(v.abs()).copysign(v))
}

/// Linear sRGB of 8-bit codes.
#[must_use]
pub fn from_display_8bit(codes: [u8; 3]) -> [f64; 3] {
    from_display(codes.map(|code| f64::from(code) / 255.0))
}

/// Whether linear sRGB lies inside the display's gamut, 1e-12 allowed for rounding.
#[must_use]
pub fn is_displayable(linear: [f64; 3]) -> bool {
    linear.iter().all(|v| (-1e-12..=1.0 + 1e-12).contains(v))
}

/// Weights by light and observer that lead from bands straight to the display.
static WEIGHTS: LazyLock<[[[[f64; 3]; N_BANDS]; 2]; 5]> = LazyLock::new(|| {
    Illuminant::ALL.map(|illuminant| {
        Observer::ALL.map(|observer| {
            let weights = TristimulusWeights::of(illuminant, observer, Summation::Full5);
            let AdaptationMatrix(adapt) =
                Adaptation::Cat16.between(weights.white(), display_white());
            let to_linear = MATRICES.from_xyz * adapt;
            weights.bands().map(|w| (to_linear * Vector3::from(w)).into())
        })
    })
});

/// Linear sRGB with which the display shows a reflectance under a light, to an eye adapted to
/// each: CAT16 from the white of the light to [`display_white`].
///
/// The perfect diffuser is [1, 1, 1] within 1e-12 under every light. Allocates nothing. May leave
/// 0..1 for colours outside the gamut.
#[must_use]
pub fn display_linear(
    reflectance: &Spectrum,
    illuminant: Illuminant,
    observer: Observer,
) -> [f64; 3] {
    weighted_sums(&WEIGHTS[illuminant as usize][observer as usize], reflectance)
}

/// [`display_linear`] of a smooth reflectance given by its samples.
#[must_use]
#[inline]
pub fn display_linear_of_samples(
    reflectance: &Samples,
    illuminant: Illuminant,
    observer: Observer,
) -> [f64; 3] {
    static SAMPLED: LazyLock<[[[[f64; 3]; N_SAMPLES]; 2]; 5]> =
        LazyLock::new(|| WEIGHTS.map(|observers| observers.map(|weights| on_samples(&weights))));
    weighted_sample_sums(&SAMPLED[illuminant as usize][observer as usize], reflectance)
}

/// [`display_linear`] of a smooth reflectance given by its samples in vectors, to about 1e-6.
#[must_use]
#[inline]
pub fn display_linear_of_vectors(
    reflectance: &SampleVectors,
    illuminant: Illuminant,
    observer: Observer,
) -> [f64; 3] {
    static VECTORS: LazyLock<[[VectorWeights<SAMPLE_VECTORS>; 2]; 5]> = LazyLock::new(|| {
        WEIGHTS.map(|observers| observers.map(|weights| VectorWeights::new(&on_samples(&weights))))
    });
    VECTORS[illuminant as usize][observer as usize].sums(reflectance)
}

impl Lab {
    /// CIELAB of linear sRGB as shown, relative to [`display_white`]: [1, 1, 1] is exactly
    /// (100, 0, 0).
    ///
    /// Exact for values rendered by [`display_linear`], and for pixels after
    /// [`from_display`].
    #[must_use]
    pub fn from_linear_srgb(linear: [f64; 3]) -> Self {
        Self::from_xyz(linear_srgb_to_xyz(linear), display_white())
    }

    /// Linear sRGB that shows this colour, relative to [`display_white`]; not clamped.
    #[must_use]
    pub fn to_linear_srgb(self) -> [f64; 3] {
        xyz_to_linear_srgb(self.to_xyz(display_white()))
    }

    /// CIELAB of an 8-bit pixel as shown, relative to [`display_white`].
    #[must_use]
    pub fn from_srgb8(codes: [u8; 3]) -> Self {
        Self::from_linear_srgb(from_display_8bit(codes))
    }

    /// CIELAB of a reflectance under a light as seen on the display: [`display_linear`] read back.
    ///
    /// This is the colour that cases are scored in. Under D65 it differs from
    /// [`Lab::from_reflectance`] only through the rounded white of the display; under other lights
    /// also through CAT16.
    #[must_use]
    pub fn on_display(reflectance: &Spectrum, illuminant: Illuminant, observer: Observer) -> Self {
        Self::from_linear_srgb(display_linear(reflectance, illuminant, observer))
    }
}
