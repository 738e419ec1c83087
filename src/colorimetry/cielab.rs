//! CIELAB and its polar form.

use serde::{Deserialize, Serialize};

/// CIELAB coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lab {
    /// Lightness L*, 0..100.
    pub l: f64,
    /// Red-green a*.
    pub a: f64,
    /// Yellow-blue b*.
    pub b: f64,
}

/// CIELAB in polar form: lightness, chroma, hue angle in degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lch {
    /// Lightness L*, 0..100.
    #[serde(rename = "L")]
    pub l: f64,
    /// Chroma C*ab.
    #[serde(rename = "C")]
    pub c: f64,
    /// Hue angle hab, degrees 0..360.
    #[serde(rename = "h")]
    pub h: f64,
}
