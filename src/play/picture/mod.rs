//! Pictures of smiles as plain data: pixels, outlines, and which tooth each pixel shows.

pub mod aids;
pub mod edit;
mod thirds;

pub use thirds::tooth_colours;

use crate::bake::{BakedScene, PictureDifference, ZoneDifference};
use crate::colorimetry::Lab;
use crate::scene::Tooth;
use std::sync::Arc;

/// A drawn picture.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Picture {
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
    /// sRGB, 8 bit, four bytes per pixel from the top left; the fourth is always 255.
    pub rgba: Vec<u8>,
    /// Outlines of the scene's teeth, in the scene's order.
    pub outlines: Vec<ToothOutline>,
    /// Which of the scene's teeth each pixel's centre shows: its ISO 3950 number, 0 elsewhere.
    pub teeth: Vec<u8>,
    /// Colours of the scene's teeth that are seen, by rising number.
    pub colours: Vec<ToothColour>,
}

/// The colour of one tooth in a picture: means over the thirds of its visible height, cervical,
/// middle, incisal, CIELAB as displayed. Light, gloss and shade count, as they do for the eye.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToothColour {
    /// Which tooth.
    pub tooth: Tooth,
    /// As the adapter drew it, before rounding.
    pub drawn: [Lab; 3],
    /// In the 8-bit pixels shown.
    pub shown: [Lab; 3],
}

/// The silhouette of the visible crown of one tooth.
#[derive(Debug, Clone, PartialEq)]
pub struct ToothOutline {
    /// Which tooth.
    pub tooth: Tooth,
    /// Closed polygon in picture pixels, x right, y down, the last point joined to the first.
    pub polygon: Vec<[f32; 2]>,
}

/// A smile ready to be shown in both conditions.
#[derive(Debug, Clone)]
pub struct PreparedScene {
    /// The baked scene, with its truth.
    pub scene: Arc<BakedScene>,
    /// As restored (or simply natural).
    pub restored: Arc<Picture>,
    /// The twin. The same picture as [`Self::restored`] where nothing is restored.
    pub twin: Arc<Picture>,
}

impl PreparedScene {
    /// The size of its pictures, pixels.
    #[must_use]
    pub fn size(&self) -> [u32; 2] {
        [self.restored.width, self.restored.height]
    }
}

impl Picture {
    /// The row halfway between the highest and the lowest point of its outlines.
    #[must_use]
    pub fn middle_row(&self) -> f32 {
        let rows = self.outlines.iter().flat_map(|outline| &outline.polygon).map(|point| point[1]);
        let (low, high) = rows
            .fold((f32::INFINITY, f32::NEG_INFINITY), |(low, high), y| (low.min(y), high.max(y)));
        if low <= high { f32::midpoint(low, high) } else { self.height as f32 / 2.0 }
    }

    /// The colour of a tooth, where the picture shows it.
    #[must_use]
    pub fn colour_of(&self, tooth: Tooth) -> Option<&ToothColour> {
        self.colours.iter().find(|colour| colour.tooth == tooth)
    }

    /// The difference of a tooth in this picture, restored, from `twin`, the same smile with that
    /// tooth natural; `None` where either picture does not show the tooth.
    #[must_use]
    pub fn difference_to(&self, twin: &Self, tooth: Tooth) -> Option<PictureDifference> {
        let (restored, natural) = (self.colour_of(tooth)?, twin.colour_of(tooth)?);
        Some(PictureDifference {
            drawn: ZoneDifference::of_thirds(&natural.drawn, &restored.drawn),
            shown: ZoneDifference::of_thirds(&natural.shown, &restored.shown),
        })
    }
}
