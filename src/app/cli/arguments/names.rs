//! What is chosen by name on the command line, and what it stands for.

use crate::colorimetry::Illuminant;
use crate::scene::{Framing, Lamp};
use clap::ValueEnum;

/// A light, by its CIE designation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Light {
    /// Daylight, 6504 K.
    #[value(name = "D65")]
    D65,
    /// Daylight, 5003 K.
    #[value(name = "D50")]
    D50,
    /// Incandescent lamp, 2856 K.
    #[value(name = "A")]
    A,
    /// Three-band fluorescent lamp, 4000 K.
    #[value(name = "FL11")]
    Fl11,
    /// LED lamp, 4103 K.
    #[value(name = "LED-B3", alias = "LED_B3")]
    LedB3,
}

impl From<Light> for Illuminant {
    fn from(light: Light) -> Self {
        match light {
            Light::D65 => Self::D65,
            Light::D50 => Self::D50,
            Light::A => Self::A,
            Light::Fl11 => Self::Fl11,
            Light::LedB3 => Self::LedB3,
        }
    }
}

/// A framing on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum FramingName {
    /// The mouth among lips and skin.
    Conversation,
    /// Ten teeth, lips held away.
    Retracted,
    /// The six front teeth.
    CloseUp,
    /// Canine to molars of the patient's left.
    Posterior,
}

/// A lamp on the command line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum LampName {
    /// Two tall soft boxes.
    SoftBoxes,
    /// A ring round the lens.
    Ring,
}

impl From<FramingName> for Framing {
    fn from(name: FramingName) -> Self {
        match name {
            FramingName::Conversation => Self::Conversation,
            FramingName::Retracted => Self::Retracted,
            FramingName::CloseUp => Self::CloseUp,
            FramingName::Posterior => Self::Posterior,
        }
    }
}

impl From<LampName> for Lamp {
    fn from(name: LampName) -> Self {
        match name {
            LampName::SoftBoxes => Self::SoftBoxes,
            LampName::Ring => Self::Ring,
        }
    }
}
