//! How much of its backing a specimen lets through to the eye.

use super::{Lab, ciede2000, de76};

/// Translucency parameter: the colour difference of one specimen over white and over black.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tp {
    /// TP, the CIE 1976 difference.
    pub tp: f64,
    /// TP00, the CIEDE2000 difference.
    pub tp00: f64,
}

/// Translucency parameter from the colours over a white and over a black backing.
///
/// Both grow with translucency; an opaque specimen has 0. The backings' reflectances belong to the
/// result: values over different backings do not compare.
///
/// # References
/// Johnston, Ma, Kienle 1995, Int J Prosthodont 8:79-86 (TP); TP00 is the same with CIEDE2000.
#[must_use]
pub fn translucency_parameter(over_white: Lab, over_black: Lab) -> Tp {
    Tp { tp: de76(over_black, over_white), tp00: ciede2000(over_black, over_white).de00 }
}

/// Contrast ratio CR = Y over black / Y over white, 0 (clear) to 1 (opaque).
///
/// Not a number or infinite when `y_white` is 0.
#[must_use]
pub fn contrast_ratio(y_black: f64, y_white: f64) -> f64 {
    y_black / y_white
}
