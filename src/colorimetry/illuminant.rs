//! Tabulated CIE illuminants.

use serde::{Deserialize, Serialize};

/// A CIE illuminant.
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
    #[serde(rename = "LED-B3")]
    LedB3,
}
