//! What a restoration is to be made of, as it is composed.

use super::recipe_part::{RecipePart, at};
use crate::scene::{Ceramic, Preparation, Restoration, Thickness, Tooth};
use serde::{Deserialize, Serialize};

/// Everything that is chosen about a restoration; the prepared tooth is not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Recipe {
    /// Class, translucency, shade, graded or not, and where the tooth stands in its block.
    pub ceramic: Ceramic,
    /// Thickness of the ceramic at four heights, mm.
    pub thickness: Thickness,
    /// Cement id.
    pub cement: String,
    /// Cement film, mm.
    pub cement_film_mm: f64,
}

impl Recipe {
    /// The recipe of a restoration.
    #[must_use]
    pub fn of(restoration: &Restoration) -> Self {
        Self {
            ceramic: restoration.ceramic.clone(),
            thickness: restoration.thickness,
            cement: restoration.cement.clone(),
            cement_film_mm: restoration.cement_film_mm,
        }
    }

    /// The restoration that this recipe makes on a prepared tooth, just seated.
    #[must_use]
    pub fn restoration(
        &self,
        tooth: Tooth,
        preparation: Preparation,
        prepared_tooth: &str,
    ) -> Restoration {
        Restoration {
            tooth,
            preparation,
            ceramic: self.ceramic.clone(),
            thickness: self.thickness,
            cement: self.cement.clone(),
            cement_film_mm: self.cement_film_mm,
            prepared_tooth: prepared_tooth.to_owned(),
            drift: None,
        }
    }

    /// A part that is a number; `None` for names.
    #[must_use]
    pub const fn number(&self, part: RecipePart) -> Option<f64> {
        Some(match part {
            RecipePart::Lightness => self.ceramic.shade.l,
            RecipePart::Chroma => self.ceramic.shade.c,
            RecipePart::Hue => self.ceramic.shade.h,
            RecipePart::BlockShift => self.ceramic.block_shift,
            RecipePart::Film => self.cement_film_mm,
            RecipePart::Margin | RecipePart::Neck | RecipePart::Middle | RecipePart::Incisal => {
                at(&self.thickness, part)
            }
            _ => return None,
        })
    }
}
