//! From spectra to colour: observers, illuminants, CIELAB, adaptation, differences, display.
//!
//! # Which function when
//! | Wanted | Take |
//! |---|---|
//! | the colour a learner sees, for rendering | [`display_linear`], then [`to_display_8bit`] at the very end |
//! | the colour a learner sees, as numbers (scores, truth) | [`Lab::on_display`], or [`Lab::from_linear_srgb`] of a rendered texel |
//! | what an instrument reports for a specimen | [`Lab::from_reflectance`] |
//! | XYZ, many spectra, one light | [`xyz`]; the weights are stored, nothing is allocated |
//! | another light than the five, or published 10 nm data | [`TristimulusWeights`] with a [`Summation`] |
//! | a surface of which only the colour is known, under another light | [`smoothest_reflectance`] |
//! | a colour difference and which way it goes | [`ciede2000`]`(reference, sample)` |
//! | the same under another white | [`Adaptation::between`] |
//!
//! # Whites
//! Two whites are called D65. The table of D65 sums to [`white_point`]`(D65, 2°)` = (95.043, 100,
//! 108.880), the white of measured reflectances. The sRGB standard rounds D65 to x = 0.3127,
//! y = 0.3290, which is [`display_white`] = (95.046, 100, 108.906), the white of everything shown.
//! Going from one to the other is an adaptation like any other, so that the perfect diffuser is
//! (1, 1, 1) on the display under every light and L* = 100, a* = b* = 0 on either side.
//!
//! # Where palette is used, and where it is not exact
//! Used: CIELAB to and from XYZ (with our white, through its equal-energy type and its unclamped
//! conversions), CIELAB to and from `LCh`, and the sRGB curve for values of 0 and above. These agree
//! with the check tables to rounding. Not used, in palette 0.7.7:
//! - its D65, fixed at (0.95047, 1, 1.08883), is neither of the whites above;
//! - its sRGB matrix is a seven-decimal one for that white: about 0.01 of an 8-bit code off;
//! - its plain conversions (`from_color`) cut XYZ to 0..white and a*, b* to ±128;
//! - its sRGB curve goes on straight below 0 where the odd continuation is wanted;
//! - its conversion of floats to bytes is a table that may be off by 0.6 of a code;
//! - its CIEDE2000 has no parts, and takes the mean hue 360° too high where two hues lie on either
//!   side of 0° and sum to 360° or more (1e-4 at a difference of 40, nothing in tooth colours).

mod adaptation;
mod cielab;
mod difference;
mod display;
mod illuminant;
mod observer;
mod smoothest;
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
    display_linear, display_linear_of_samples, display_linear_of_vectors, display_white,
    from_display, from_display_8bit, is_displayable, linear_srgb_to_xyz, to_display,
    to_display_8bit, to_display_unclamped, xyz_to_linear_srgb, xyz_to_linear_srgb_iec_rounded,
};
pub use illuminant::Illuminant;
pub use observer::Observer;
pub use smoothest::smoothest_reflectance;
pub use translucency::{Tp, contrast_ratio, translucency_parameter};
pub use tristimulus::{
    Summation, TristimulusWeights, Xyz, white_point, xyz, xyz_of_samples, xyz_of_vectors,
};
pub use whiteness::wi_d;
