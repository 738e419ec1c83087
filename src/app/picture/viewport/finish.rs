//! Pixels that came back become a picture, if everything was drawn.

use crate::anatomy::{Covered, Smile};
use crate::app::picture::viewport::encode::to_8bit;
use crate::app::picture::viewport::prepared::Framing;
use crate::play::picture::tooth_colours;
use crate::play::picture::{Picture, ToothOutline};
use crate::scene::Tooth;
use half::f16;
use rayon::prelude::*;
use std::sync::Arc;
use std::time::Duration;

/// Share of the expected pixels that must have been drawn. The processor's and the adapter's
/// rasters may differ along silhouettes.
const COMPLETE_SHARE: f32 = 0.99;
/// What a finished picture must look like.
pub(crate) enum Expected {
    Smile { smile: Arc<Smile>, framing: Arc<Framing>, teeth: Vec<Tooth> },
    Patches(usize),
}

/// What became of pixels that came back: a picture if everything was drawn.
pub(crate) struct Finished {
    pub(crate) picture: Option<Picture>,
    pub(crate) took: Duration,
}

/// Four half floats a pixel, from rows of `stride` bytes.
fn pixels_of(data: &[u8], stride: usize, width: u32, height: u32) -> Vec<[f16; 4]> {
    let width = width as usize;
    let mut linear = vec![[f16::ZERO; 4]; width * height as usize];
    linear.par_chunks_mut(width).zip(data.par_chunks_exact(stride)).for_each(|(row, line)| {
        for (pixel, bytes) in row.iter_mut().zip(line.chunks_exact(8)) {
            *pixel = std::array::from_fn(|k| f16::from_le_bytes([bytes[2 * k], bytes[2 * k + 1]]));
        }
    });
    linear
}

impl Expected {
    /// The picture that these pixels are, if everything was drawn.
    pub(crate) fn finish(
        &self,
        data: &[u8],
        stride: usize,
        width: u32,
        height: u32,
    ) -> Option<Picture> {
        let linear = pixels_of(data, stride, width, height);
        let rgba = to_8bit(&linear, width as usize);
        let whole = rgba.len() == 4 * (width * height) as usize;
        (whole && self.is_complete(&rgba)).then(|| self.picture(&linear, rgba, width, height))
    }

    /// Whether everything that should be drawn was, and lit.
    fn is_complete(&self, rgba: &[u8]) -> bool {
        let drawn = |pixel: &[u8]| pixel[3] == 255;
        match self {
            Self::Patches(count) => {
                // A patch is several pixels even in the smallest frame.
                rgba.chunks_exact(4).filter(|pixel| drawn(pixel)).count() >= *count
            }
            Self::Smile { framing, .. } => {
                let covered = &framing.coverage.covered;
                let (expected, seen, brightest) = rgba
                    .par_chunks_exact(4)
                    .zip(covered)
                    .filter(|(_, covered)| **covered != Covered::Nothing)
                    .map(
                        |(pixel, _)| {
                            if drawn(pixel) { (1_usize, 1_usize, pixel[0]) } else { (1, 0, 0) }
                        },
                    )
                    .reduce(|| (0, 0, 0), |a, b| (a.0 + b.0, a.1 + b.1, a.2.max(b.2)));
                // Black surfaces would mean that the environment map is not there yet. A real
                // smile's gum alone is brighter than this.
                seen as f32 >= COMPLETE_SHARE * expected as f32 && brightest > 16
            }
        }
    }

    fn picture(&self, linear: &[[f16; 4]], mut rgba: Vec<u8>, width: u32, height: u32) -> Picture {
        rgba.par_chunks_exact_mut(4).for_each(|pixel| pixel[3] = 255);
        let (mut outlines, mut numbers) = (Vec::new(), Vec::new());
        if let Self::Smile { smile, framing, teeth } = self {
            let listed: Vec<u8> = smile
                .crowns
                .iter()
                .map(|crown| crown.individual.tooth)
                .map(|tooth| if teeth.contains(&tooth) { tooth.number() } else { 0 })
                .collect();
            numbers = framing
                .coverage
                .covered
                .par_iter()
                .map(|covered| match covered {
                    Covered::Crown(index) => listed[usize::from(*index)],
                    _ => 0,
                })
                .collect();
            outlines = teeth
                .iter()
                .filter_map(|&tooth| {
                    let polygon = framing.outlines[smile.crown_index(tooth)?].clone();
                    Some(ToothOutline { tooth, polygon })
                })
                .collect();
        }
        let colours = tooth_colours(&numbers, linear, &rgba, width as usize);
        Picture { width, height, rgba, outlines, teeth: numbers, colours }
    }
}
