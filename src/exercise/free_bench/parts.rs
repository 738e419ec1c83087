//! What can be changed about a bench to be set up: names, units, steps and ranges.

use crate::exercise::recipe_part::RecipePart;

/// One thing that can be changed about a bench to be set up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SetupPart {
    /// The tooth.
    Tooth,
    /// Veneer, crown or onlay.
    Preparation,
    /// Height of an onlay's margin line.
    MarginHeight,
    /// The prepared tooth, by name or as a colour of one's own.
    Prepared,
    /// Lightness of the prepared tooth.
    PreparedLightness,
    /// Its chroma.
    PreparedChroma,
    /// Its hue.
    PreparedHue,
    /// Reduction at the margin.
    Margin,
    /// Reduction at the neck.
    Neck,
    /// Reduction in the middle.
    Middle,
    /// Reduction at the incisal third.
    Incisal,
    /// Lightness of the natural central incisors.
    CentralLightness,
    /// Their chroma.
    CentralChroma,
    /// Their hue.
    CentralHue,
    /// The light.
    Light,
    /// The framing.
    Framing,
    /// The lamp.
    Lamp,
    /// The mouth.
    Mouth,
}

impl SetupPart {
    /// All parts in the order of a form.
    pub const ALL: [Self; 18] = [
        Self::Tooth,
        Self::Preparation,
        Self::MarginHeight,
        Self::Prepared,
        Self::PreparedLightness,
        Self::PreparedChroma,
        Self::PreparedHue,
        Self::Margin,
        Self::Neck,
        Self::Middle,
        Self::Incisal,
        Self::CentralLightness,
        Self::CentralChroma,
        Self::CentralHue,
        Self::Light,
        Self::Framing,
        Self::Lamp,
        Self::Mouth,
    ];

    /// Plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tooth => "tooth",
            Self::Preparation => "restoration",
            Self::MarginHeight => "margin line",
            Self::Prepared => "prepared tooth",
            Self::PreparedLightness | Self::CentralLightness => "lightness",
            Self::PreparedChroma | Self::CentralChroma => "chroma",
            Self::PreparedHue | Self::CentralHue => "hue",
            Self::Margin => "margin",
            Self::Neck => "neck",
            Self::Middle => "middle",
            Self::Incisal => "incisal third",
            Self::Light => "light",
            Self::Framing => "framing",
            Self::Lamp => "lamp",
            Self::Mouth => "mouth",
        }
    }

    /// Unit of a number, empty for names and pure numbers.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::PreparedHue | Self::CentralHue => "°",
            Self::MarginHeight => " of the height",
            Self::Margin | Self::Neck | Self::Middle | Self::Incisal => " mm",
            _ => "",
        }
    }

    /// What one step of the keyboard changes, for numbers.
    #[must_use]
    pub const fn step(self) -> Option<f64> {
        Some(match self {
            Self::PreparedLightness
            | Self::PreparedChroma
            | Self::PreparedHue
            | Self::CentralLightness
            | Self::CentralChroma
            | Self::CentralHue
            | Self::Mouth => 1.0,
            Self::Margin | Self::Neck | Self::Middle | Self::Incisal | Self::MarginHeight => 0.05,
            _ => return None,
        })
    }

    /// Least and most of a number. Prepared and natural teeth: as far as the layered model's
    /// tissues reach, give or take; reduction: as in cases from the clinic.
    #[must_use]
    pub const fn range(self) -> Option<(f64, f64)> {
        Some(match self {
            // As in levels.
            Self::MarginHeight => (0.15, 0.7),
            Self::PreparedLightness => (35.0, 85.0),
            Self::PreparedChroma => (4.0, 36.0),
            Self::PreparedHue => (60.0, 100.0),
            Self::CentralLightness => (60.0, 84.0),
            Self::CentralChroma => (6.0, 30.0),
            Self::CentralHue => (72.0, 98.0),
            Self::Margin => (0.05, 1.2),
            Self::Neck | Self::Middle | Self::Incisal => (0.15, 2.5),
            Self::Mouth => (1.0, 999.0),
            _ => return None,
        })
    }

    pub(super) const fn height(self) -> Option<RecipePart> {
        match self {
            Self::Margin => Some(RecipePart::Margin),
            Self::Neck => Some(RecipePart::Neck),
            Self::Middle => Some(RecipePart::Middle),
            Self::Incisal => Some(RecipePart::Incisal),
            _ => None,
        }
    }
}
