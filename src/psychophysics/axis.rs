//! The directions in which a restoration can differ from its twin, and the axes that have a
//! threshold each.

use serde::{Deserialize, Serialize};

/// An axis with a threshold of its own.
///
/// Value errors of the two signs are two axes, because seeing one and not the other is what a
/// course most wants to know. The signs of chroma and of hue share an axis each.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Axis {
    /// Lower in value than the twin.
    Darker,
    /// Higher in value than the twin.
    Lighter,
    /// More or less chroma than the twin.
    Chroma,
    /// Redder or yellower than the twin.
    Hue,
}

/// A signed direction of difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Direction {
    /// Lower in value: ΔL00 below 0.
    Darker,
    /// Higher in value: ΔL00 above 0.
    Lighter,
    /// Higher in chroma: ΔC00 above 0.
    MoreChroma,
    /// Lower in chroma: ΔC00 below 0.
    LessChroma,
    /// Smaller hue angle: ΔH00 below 0.
    Redder,
    /// Larger hue angle: ΔH00 above 0.
    Yellower,
}

impl Axis {
    /// Every axis, value first.
    pub const ALL: [Self; 4] = [Self::Darker, Self::Lighter, Self::Chroma, Self::Hue];

    /// The name stored with results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Darker => "darker",
            Self::Lighter => "lighter",
            Self::Chroma => "chroma",
            Self::Hue => "hue",
        }
    }

    /// Its directions; the two are equal where the axis has one sign only.
    #[must_use]
    pub const fn directions(self) -> [Direction; 2] {
        match self {
            Self::Darker => [Direction::Darker; 2],
            Self::Lighter => [Direction::Lighter; 2],
            Self::Chroma => [Direction::MoreChroma, Direction::LessChroma],
            Self::Hue => [Direction::Redder, Direction::Yellower],
        }
    }
}

impl Direction {
    /// Every direction.
    pub const ALL: [Self; 6] = [
        Self::Darker,
        Self::Lighter,
        Self::MoreChroma,
        Self::LessChroma,
        Self::Redder,
        Self::Yellower,
    ];

    /// The axis it lies on.
    #[must_use]
    pub const fn axis(self) -> Axis {
        match self {
            Self::Darker => Axis::Darker,
            Self::Lighter => Axis::Lighter,
            Self::MoreChroma | Self::LessChroma => Axis::Chroma,
            Self::Redder | Self::Yellower => Axis::Hue,
        }
    }

    /// The name stored with results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Darker => "darker",
            Self::Lighter => "lighter",
            Self::MoreChroma => "more chroma",
            Self::LessChroma => "less chroma",
            Self::Redder => "redder",
            Self::Yellower => "yellower",
        }
    }

    /// The sign of its part of the difference, +1 or −1: ΔL00, ΔC00 or ΔH00.
    #[must_use]
    pub const fn sign(self) -> f64 {
        match self {
            Self::Lighter | Self::MoreChroma | Self::Yellower => 1.0,
            Self::Darker | Self::LessChroma | Self::Redder => -1.0,
        }
    }
}
