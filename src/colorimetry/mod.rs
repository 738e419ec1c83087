//! From spectra to colour: observers, illuminants, CIELAB, adaptation, differences, display.

mod adaptation;
mod cielab;
mod difference;
mod display;
mod illuminant;
mod observer;
mod tables;
mod translucency;
mod tristimulus;
mod whiteness;

pub use adaptation::{Adaptation, AdaptationMatrix};
pub use cielab::{Lab, Lch};
pub use difference::{
    ACCEPTABILITY_DE00, Ciede2000Weights, Difference, PERCEPTIBILITY_DE00, ciede2000,
    ciede2000_weights, de76,
};
pub use display::{
    display_linear, display_white, from_display, from_display_8bit, is_displayable,
    linear_srgb_to_xyz, to_display, to_display_8bit, to_display_unclamped, xyz_to_linear_srgb,
    xyz_to_linear_srgb_iec_rounded,
};
pub use illuminant::Illuminant;
pub use observer::Observer;
pub use translucency::{Tp, contrast_ratio, translucency_parameter};
pub use tristimulus::{Summation, TristimulusWeights, Xyz, white_point, xyz};
pub use whiteness::wi_d;
