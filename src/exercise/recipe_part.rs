//! The parts of a restoration that can be chosen, and thickness at the heights where it is.

use crate::scene::{Thickness, Translucency};
use serde::{Deserialize, Serialize};

/// One thing that can be changed about a recipe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RecipePart {
    /// Ceramic class.
    Class,
    /// Translucency.
    Translucency,
    /// Shade: lightness L*.
    Lightness,
    /// Shade: chroma C*ab.
    Chroma,
    /// Shade: hue angle, degrees.
    Hue,
    /// Uniform or graded block.
    Graded,
    /// Place in a graded block.
    BlockShift,
    /// Thickness at the margin.
    Margin,
    /// Thickness at the neck.
    Neck,
    /// Thickness in the middle.
    Middle,
    /// Thickness at the incisal third (the cusps of a back tooth).
    Incisal,
    /// Cement.
    Cement,
    /// Cement film.
    Film,
}

/// Plain word for a translucency.
#[must_use]
pub const fn translucency_name(translucency: Translucency) -> &'static str {
    match translucency {
        Translucency::Low => "low",
        Translucency::Medium => "medium",
        Translucency::High => "high",
    }
}

/// The four heights at which thickness is chosen.
pub(super) const HEIGHTS: [RecipePart; 4] =
    [RecipePart::Margin, RecipePart::Neck, RecipePart::Middle, RecipePart::Incisal];

/// Thickness at a height, by its part.
pub(super) const fn at(thickness: &Thickness, part: RecipePart) -> f64 {
    match part {
        RecipePart::Margin => thickness.margin_mm,
        RecipePart::Neck => thickness.neck_mm,
        RecipePart::Incisal => thickness.incisal_mm,
        _ => thickness.body_mm,
    }
}

pub(super) fn at_mut(thickness: &mut Thickness, part: RecipePart) -> &mut f64 {
    match part {
        RecipePart::Margin => &mut thickness.margin_mm,
        RecipePart::Neck => &mut thickness.neck_mm,
        RecipePart::Incisal => &mut thickness.incisal_mm,
        _ => &mut thickness.body_mm,
    }
}

/// A thickness map from its values at the four heights.
pub(super) fn map_of(value: impl Fn(RecipePart) -> f64) -> Thickness {
    let [margin_mm, neck_mm, body_mm, incisal_mm] = HEIGHTS.map(value);
    Thickness { margin_mm, neck_mm, body_mm, incisal_mm }
}

/// Rounds to a multiple of a step without leaving its last digits behind.
pub(super) fn rounded(value: f64, step: f64) -> f64 {
    let per_unit = (1.0 / step).round();
    if per_unit >= 1.0 { (value * per_unit).round() / per_unit } else { value }
}

impl RecipePart {
    /// All parts in the order of a form.
    pub const ALL: [Self; 13] = [
        Self::Class,
        Self::Translucency,
        Self::Lightness,
        Self::Chroma,
        Self::Hue,
        Self::Graded,
        Self::BlockShift,
        Self::Margin,
        Self::Neck,
        Self::Middle,
        Self::Incisal,
        Self::Cement,
        Self::Film,
    ];

    /// Plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Class => "ceramic",
            Self::Translucency => "translucency",
            Self::Lightness => "lightness",
            Self::Chroma => "chroma",
            Self::Hue => "hue",
            Self::Graded => "graded block",
            Self::BlockShift => "place in the block",
            Self::Margin => "margin",
            Self::Neck => "neck",
            Self::Middle => "middle",
            Self::Incisal => "incisal third",
            Self::Cement => "cement",
            Self::Film => "cement film",
        }
    }

    /// Unit of a number, empty for names and pure numbers.
    #[must_use]
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Hue => "°",
            Self::Margin | Self::Neck | Self::Middle | Self::Incisal | Self::Film => " mm",
            _ => "",
        }
    }

    /// What one step of the keyboard changes, for numbers: one L*, C* or degree, 0.05 mm of
    /// ceramic, 0.01 mm of cement, a twentieth of the tooth's height.
    #[must_use]
    pub const fn step(self) -> Option<f64> {
        match self {
            Self::Lightness | Self::Chroma | Self::Hue => Some(1.0),
            Self::BlockShift | Self::Margin | Self::Neck | Self::Middle | Self::Incisal => {
                Some(0.05)
            }
            Self::Film => Some(0.01),
            Self::Class | Self::Translucency | Self::Graded | Self::Cement => None,
        }
    }
}

/// The entry `steps` further along a list, its first or last at the ends.
pub(super) fn moved<'a, T: PartialEq>(list: &'a [T], from: &T, steps: i32) -> Option<&'a T> {
    let at = list.iter().position(|entry| entry == from).unwrap_or(0);
    let last = list.len().checked_sub(1)?;
    let to = i64::try_from(at).ok()? + i64::from(steps);
    list.get(usize::try_from(to.max(0)).ok()?.min(last))
}
