//! How a smile is staged: what is in the frame and which lamp makes the highlights.

use serde::{Deserialize, Serialize};

/// What is in the frame.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Framing {
    /// The mouth among lips and skin, as in conversation.
    Conversation,
    /// Ten teeth from the front, lips held out of the way.
    #[default]
    Retracted,
    /// The six front teeth.
    CloseUp,
    /// Canine to molars of the patient's left, seen from the cheek and a little from below.
    Posterior,
}

/// What makes the highlights.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default, Serialize, Deserialize,
)]
#[serde(rename_all = "snake_case")]
pub enum Lamp {
    /// Two tall soft boxes beside the camera.
    #[default]
    SoftBoxes,
    /// A ring around the lens.
    Ring,
}

/// Framing and lamp of one picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Default)]
pub struct Staging {
    /// What is in the frame.
    pub framing: Framing,
    /// What makes the highlights.
    pub lamp: Lamp,
}

impl Framing {
    /// Every framing.
    pub const ALL: [Self; 4] =
        [Self::Conversation, Self::Retracted, Self::CloseUp, Self::Posterior];

    /// Whether the face of an upper tooth can be judged in this framing.
    #[must_use]
    pub const fn shows(self, tooth: super::Tooth) -> bool {
        let position = tooth.position();
        match self {
            Self::Conversation | Self::Retracted => position <= 5,
            Self::CloseUp => position <= 3,
            Self::Posterior => !tooth.is_patients_right() && position >= 3 && position <= 6,
        }
    }

    /// The word that files and the command line use.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Conversation => "conversation",
            Self::Retracted => "retracted",
            Self::CloseUp => "close_up",
            Self::Posterior => "posterior",
        }
    }
}
