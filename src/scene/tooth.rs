//! Teeth: numbering, kind, position and standard crown dimensions.

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// A number that names no upper tooth in view.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("tooth {0} is not one of the upper teeth 11-18 or 21-28 (ISO 3950)")]
pub struct ToothNumberError(pub u8);

/// An upper tooth by its ISO 3950 (FDI) number, 11-18 or 21-28.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "u8", into = "u8")]
pub struct Tooth(u8);

/// The anatomical kind of a tooth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum ToothKind {
    /// Central incisor.
    Central,
    /// Lateral incisor.
    Lateral,
    /// Canine.
    Canine,
    /// First premolar.
    FirstPremolar,
    /// Second premolar.
    SecondPremolar,
    /// Molar.
    Molar,
}

/// Standard crown dimensions, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrownDimensions {
    /// Incisal or cuspal edge to the cement-enamel junction, mm.
    pub length_mm: f64,
    /// Largest mesiodistal width, mm.
    pub width_mm: f64,
    /// Mesiodistal width at the neck, mm.
    pub neck_width_mm: f64,
    /// Labiolingual (buccolingual) depth, mm.
    pub depth_mm: f64,
}

impl Tooth {
    /// The tooth with ISO 3950 number `number`.
    ///
    /// # Errors
    /// [`ToothNumberError`] unless 11-18 or 21-28.
    pub const fn new(number: u8) -> Result<Self, ToothNumberError> {
        let (quadrant, position) = (number / 10, number % 10);
        if (quadrant == 1 || quadrant == 2) && position >= 1 && position <= 8 {
            Ok(Self(number))
        } else {
            Err(ToothNumberError(number))
        }
    }

    /// The ISO 3950 number.
    #[must_use]
    pub const fn number(self) -> u8 {
        self.0
    }

    /// The Universal number, 1-16 for upper teeth.
    #[must_use]
    pub const fn universal(self) -> u8 {
        // ISO 3950 to Universal (from memory; derived): quadrant 1 → 9 − t; quadrant 2 → 8 + t.
        let position = self.0 % 10;
        if self.0 / 10 == 1 { 9 - position } else { 8 + position }
    }

    /// Steps from the midline: 1 for a central incisor, 8 for a third molar.
    #[must_use]
    pub const fn position(self) -> u8 {
        self.0 % 10
    }

    /// Whether the tooth stands on the patient's right, which is the viewer's left.
    #[must_use]
    pub const fn is_patients_right(self) -> bool {
        self.0 / 10 == 1
    }

    /// The same tooth on the other side.
    #[must_use]
    pub const fn contralateral(self) -> Self {
        Self(if self.0 / 10 == 1 { self.0 + 10 } else { self.0 - 10 })
    }

    /// The anatomical kind.
    #[must_use]
    pub const fn kind(self) -> ToothKind {
        match self.0 % 10 {
            1 => ToothKind::Central,
            2 => ToothKind::Lateral,
            3 => ToothKind::Canine,
            4 => ToothKind::FirstPremolar,
            5 => ToothKind::SecondPremolar,
            _ => ToothKind::Molar,
        }
    }

    /// Plain words, from the patient's side: `upper right central incisor`.
    #[must_use]
    pub fn name(self) -> String {
        let side = if self.is_patients_right() { "right" } else { "left" };
        format!("upper {side} {}", self.kind().name())
    }

    /// `count` teeth centred on the midline in the viewer's order, left to right: for 4 it is
    /// 12, 11, 21, 22. `count` is rounded down to an even number and clamped to 2..=16.
    #[must_use]
    pub fn arch(count: usize) -> Vec<Self> {
        let per_side = (count / 2).clamp(1, 8) as u8;
        let right = (1..=per_side).rev().map(|t| Self(10 + t));
        right.chain((1..=per_side).map(|t| Self(20 + t))).collect()
    }
}

impl TryFrom<u8> for Tooth {
    type Error = ToothNumberError;
    fn try_from(number: u8) -> Result<Self, ToothNumberError> {
        Self::new(number)
    }
}

impl From<Tooth> for u8 {
    fn from(tooth: Tooth) -> Self {
        tooth.0
    }
}

impl std::fmt::Display for Tooth {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl ToothKind {
    /// Plain words, singular.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Central => "central incisor",
            Self::Lateral => "lateral incisor",
            Self::Canine => "canine",
            Self::FirstPremolar => "first premolar",
            Self::SecondPremolar => "second premolar",
            Self::Molar => "molar",
        }
    }

    /// Standard crown dimensions of the upper tooth.
    ///
    /// # References
    /// Incisors: dental-anatomy appendix table of permanent dentition traits. Canine, premolars
    /// and first molar: from memory, Ash & Nelson, Dental Anatomy, carving table.
    #[must_use]
    pub const fn crown_dimensions(self) -> CrownDimensions {
        let (length_mm, width_mm, neck_width_mm, depth_mm) = match self {
            Self::Central => (10.5, 8.5, 7.0, 7.0),
            Self::Lateral => (9.0, 6.5, 5.0, 6.0),
            Self::Canine => (10.0, 7.5, 5.5, 8.0),
            Self::FirstPremolar | Self::SecondPremolar => (8.5, 7.0, 5.0, 9.0),
            Self::Molar => (7.5, 10.0, 8.0, 11.0),
        };
        CrownDimensions { length_mm, width_mm, neck_width_mm, depth_mm }
    }
}

impl ToothKind {
    /// Standard crown dimensions of the lower tooth of this kind.
    ///
    /// # References
    /// From memory, Ash & Nelson, Dental Anatomy, carving table.
    #[must_use]
    pub const fn lower_crown_dimensions(self) -> CrownDimensions {
        let (length_mm, width_mm, neck_width_mm, depth_mm) = match self {
            Self::Central => (9.0, 5.0, 3.5, 6.0),
            Self::Lateral => (9.5, 5.5, 4.0, 6.5),
            Self::Canine => (11.0, 7.0, 5.5, 7.5),
            Self::FirstPremolar => (8.5, 7.0, 5.0, 7.5),
            Self::SecondPremolar => (8.0, 7.0, 5.0, 8.0),
            Self::Molar => (7.5, 11.0, 9.0, 10.5),
        };
        CrownDimensions { length_mm, width_mm, neck_width_mm, depth_mm }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn universal_numbers() {
        // From memory: ISO 3950 and the Universal system.
        for (fdi, universal) in [(11, 8), (21, 9), (13, 6), (23, 11)] {
            assert_eq!(Tooth::new(fdi).unwrap().universal(), universal);
        }
        assert_eq!(Tooth::new(31), Err(ToothNumberError(31)));
        assert_eq!(Tooth::new(19), Err(ToothNumberError(19)));
    }

    #[test]
    fn arch_runs_from_the_viewers_left() {
        let numbers: Vec<u8> = Tooth::arch(10).into_iter().map(u8::from).collect();
        assert_eq!(numbers, [15, 14, 13, 12, 11, 21, 22, 23, 24, 25]);
    }
}
