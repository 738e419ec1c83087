//! How translucent a piece measures over the two practical backings.

use crate::colorimetry::{
    Illuminant, Lab, Observer, contrast_ratio, translucency_parameter, white_point, xyz,
};
use crate::optics::{Interface, Layer, TwoFluxMedium, measured_reflectance};
use crate::spectrum::Spectrum;

/// Reflectance of the practical white backing, in optical contact.
pub const PRACTICAL_WHITE: f64 = 0.88;
/// Reflectance of the practical black backing, in optical contact.
pub const PRACTICAL_BLACK: f64 = 0.03;

/// Translucency of a piece, D65/2°.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeasuredTranslucency {
    /// Translucency parameter: CIELAB distance between over white and over black.
    pub tp: f64,
    /// The same as a CIEDE2000 difference.
    pub tp00: f64,
    /// Contrast ratio: luminance factor over black by that over white, 0..1.
    pub contrast_ratio: f64,
}

/// Measures a piece made of `layers` over the practical white and black backing through
/// `interface`, specular excluded.
#[must_use]
pub fn measured_translucency(
    layers: &[Layer<TwoFluxMedium>],
    interface: Interface,
) -> MeasuredTranslucency {
    translucency_by(|backing| measured_reflectance(layers, &Spectrum::constant(backing), interface))
}

/// Translucency of a piece whose measured reflectance over a backing is known.
#[must_use]
pub fn translucency_by(over: impl Fn(f64) -> Spectrum) -> MeasuredTranslucency {
    let white = white_point(Illuminant::D65, Observer::Cie1931);
    let [over_white, over_black] = [PRACTICAL_WHITE, PRACTICAL_BLACK]
        .map(|backing| xyz(&over(backing), Illuminant::D65, Observer::Cie1931));
    let tp =
        translucency_parameter(Lab::from_xyz(over_white, white), Lab::from_xyz(over_black, white));
    MeasuredTranslucency {
        tp: tp.tp,
        tp00: tp.tp00,
        contrast_ratio: contrast_ratio(over_black.y, over_white.y),
    }
}
