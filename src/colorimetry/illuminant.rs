//! Tabulated CIE illuminants.

use serde::{Deserialize, Serialize};

/// A CIE illuminant.
///
/// # References
/// ISO/CIE 11664-2 (D65, A); CIE 015:2018 (D50, FL11, LED-B3).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Illuminant {
    /// Daylight, 6504 K.
    D65,
    /// Daylight, 5003 K.
    D50,
    /// Incandescent, 2856 K.
    A,
    /// Three-band fluorescent, 4000 K.
    #[serde(rename = "FL11")]
    Fl11,
    /// Phosphor-converted blue LED, 4103 K.
    // Underscore: RON has no hyphen in plain identifiers.
    #[serde(rename = "LED_B3")]
    LedB3,
}

impl Illuminant {
    /// Every illuminant, in table order.
    pub const ALL: [Self; 5] = [Self::D65, Self::D50, Self::A, Self::Fl11, Self::LedB3];

    /// The CIE designation. Files spell it the same, with `LED_B3` for LED-B3.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::D65 => "D65",
            Self::D50 => "D50",
            Self::A => "A",
            Self::Fl11 => "FL11",
            Self::LedB3 => "LED-B3",
        }
    }
}
