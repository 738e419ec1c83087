//! CIE standard observers.

use serde::{Deserialize, Serialize};

/// A CIE standard colorimetric observer.
///
/// # References
/// ISO/CIE 11664-1; CIE 015:2018.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Observer {
    /// CIE 1931, 2°: fields of 1° to 4°. A tooth at arm's length is about 1°.
    #[serde(rename = "CIE1931")]
    Cie1931,
    /// CIE 1964, 10°: fields larger than 4°.
    #[serde(rename = "CIE1964")]
    Cie1964,
}

impl Observer {
    /// Both observers.
    pub const ALL: [Self; 2] = [Self::Cie1931, Self::Cie1964];

    /// Short name for reports: `2°` or `10°`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cie1931 => "2°",
            Self::Cie1964 => "10°",
        }
    }
}
