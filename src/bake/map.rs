//! What a bake yields: one reflectance map per tooth and condition, and the truth.

use crate::colorimetry::Illuminant;
use crate::scene::{Staging, Tooth};
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// Whether the restored tooth is shown restored or as its natural twin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Condition {
    /// As restored.
    Restored,
    /// The counterfactual twin: same shape, texture, light and seed, natural tooth.
    Twin,
}

/// Mean colours of skin and lips, linear sRGB reflectance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Complexion {
    /// Skin.
    pub skin: [f32; 3],
    /// Vermilion of the lips.
    pub lips: [f32; 3],
}

/// Linear sRGB reflectance over the labial face of one tooth.
///
/// Row 0 lies at the gingival margin, the last row at the incisal edge. Column 0 lies on the
/// viewer's left flank, the last column on the viewer's right, whichever side of the mouth the
/// tooth stands on. Samples are texel centres.
#[derive(Debug, Clone, PartialEq)]
pub struct ReflectanceMap {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `height × width` texels, row-major. Linear sRGB relative to the perfect diffuser, not
    /// clamped.
    pub texels: Vec<[f32; 3]>,
}

/// One tooth, baked. Smiles of one mouth share the maps that are the same in all of them.
#[derive(Debug, Clone, PartialEq)]
pub struct BakedTooth {
    /// Which tooth.
    pub tooth: Tooth,
    /// Natural condition.
    pub natural: Arc<ReflectanceMap>,
    /// Restored condition, for the restored tooth only.
    pub restored: Option<Arc<ReflectanceMap>>,
}

/// A colour difference in one zone or over the tooth: restored minus twin.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct ZoneDifference {
    /// CIEDE2000 total.
    pub de00: f64,
    /// Signed lightness part `ΔL′/S_L`; negative when the restoration is darker.
    pub dl00: f64,
    /// Signed chroma part `ΔC′/S_C`.
    pub dc00: f64,
    /// Signed hue part `ΔH′/S_H`.
    pub dh00: f64,
}

/// The difference restored minus twin that two pictures of a case show, thirds weighted as in
/// [`Truth`]. Light, gloss and shade are in it, so it is not quite that of the maps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PictureDifference {
    /// As drawn, before rounding to 8 bit.
    pub drawn: ZoneDifference,
    /// In the 8-bit pixels that were shown.
    pub shown: ZoneDifference,
}

/// The contrast along the margin line of an onlay: just above the line minus just below it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarginContrast {
    /// Between the mean colours along both sides of the line.
    pub mean: ZoneDifference,
    /// ΔE00 where it is largest.
    pub worst_de00: f64,
    /// Where that is: −1 at the distal flank to +1 at the mesial flank.
    pub worst_at: f64,
}

/// The ground truth of a restored case.
#[derive(Debug, Clone, PartialEq)]
pub struct Truth {
    /// The restored tooth.
    pub tooth: Tooth,
    /// Zone-weighted difference to the twin (cervical .3, body .5, incisal .2).
    pub difference: ZoneDifference,
    /// Per third: cervical, body, incisal.
    pub zones: [ZoneDifference; 3],
    /// 5th, 50th and 95th percentile of the texel-wise ΔE00.
    pub percentiles: [f64; 3],
    /// Difference between the restored tooth and the same tooth on the other side (restored minus
    /// contralateral), zone-weighted.
    pub contralateral: ZoneDifference,
}

/// Everything the viewport needs to draw a case in either condition.
#[derive(Debug, Clone, PartialEq)]
pub struct BakedScene {
    /// Seed of shapes and surface texture.
    pub seed: u64,
    /// The light the maps were computed under. Maps are already adapted to the display white.
    pub illuminant: Illuminant,
    /// Teeth in the viewer's order, left to right.
    pub teeth: Vec<BakedTooth>,
    /// Linear sRGB reflectance of the attached gingiva.
    pub gingiva: [f32; 3],
    /// Skin and lips around the mouth.
    pub complexion: Complexion,
    /// Framing and lamp.
    pub staging: Staging,
    /// The truth of the restored tooth that is furthest from its twin, `None` for a smile without
    /// a restoration.
    pub truth: Option<Truth>,
    /// The truth of every restored tooth, in the order of the case.
    pub truths: Vec<Truth>,
}

impl BakedTooth {
    /// The map of a condition; the natural one where the tooth is not restored.
    #[must_use]
    pub fn map(&self, condition: Condition) -> &ReflectanceMap {
        match (condition, &self.restored) {
            (Condition::Restored, Some(map)) => map,
            _ => &self.natural,
        }
    }
}

impl ReflectanceMap {
    /// The texel at column `x`, row `y`.
    ///
    /// # Panics
    /// When out of range.
    #[must_use]
    pub fn texel(&self, x: usize, y: usize) -> [f32; 3] {
        self.texels[y * self.width + x]
    }

    /// The mean over all texels, linear sRGB.
    #[must_use]
    pub fn mean(&self) -> [f64; 3] {
        let mut sum = [0.0; 3];
        for texel in &self.texels {
            for (total, value) in sum.iter_mut().zip(texel) {
                *total += f64::from(*value);
            }
        }
        sum.map(|total| total / self.texels.len() as f64)
    }
}
