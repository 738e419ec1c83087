//! Mean colours of the thirds of every tooth in a picture, before and after rounding to 8 bit.

use super::Picture;
use crate::bake::{PictureDifference, ZoneDifference};
use crate::colorimetry::{Lab, from_display_8bit};
use crate::scene::Tooth;
use half::f16;
use std::collections::BTreeMap;

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

#[derive(Default, Clone, Copy)]
struct Sum {
    drawn: [f64; 3],
    shown: [f64; 3],
    pixels: u32,
}

/// Colours of the teeth that `numbers` (an ISO 3950 number per pixel, 0 elsewhere) shows, by
/// rising number.
pub(super) fn tooth_colours(
    numbers: &[u8],
    linear: &[[f16; 4]],
    rgba: &[u8],
    width: usize,
) -> Vec<ToothColour> {
    let mut rows: BTreeMap<u8, (usize, usize)> = BTreeMap::new();
    for (index, &number) in numbers.iter().enumerate().filter(|(_, number)| **number > 0) {
        let y = index / width;
        let ends = rows.entry(number).or_insert((y, y));
        *ends = (ends.0.min(y), ends.1.max(y));
    }
    let mut sums: BTreeMap<u8, [Sum; 3]> = BTreeMap::new();
    for (index, &number) in numbers.iter().enumerate().filter(|(_, number)| **number > 0) {
        let (top, bottom) = rows[&number];
        let third = 3 * (index / width - top) / (bottom - top + 1);
        let sum = &mut sums.entry(number).or_default()[third];
        // What is brighter than white is shown as white.
        let drawn = linear[index].map(|value| f64::from(value).clamp(0.0, 1.0));
        let shown = from_display_8bit([0, 1, 2].map(|channel| rgba[4 * index + channel]));
        for channel in 0..3 {
            sum.drawn[channel] += drawn[channel];
            sum.shown[channel] += shown[channel];
        }
        sum.pixels += 1;
    }
    sums.into_iter()
        .filter_map(|(number, thirds)| {
            let tooth = Tooth::new(number).ok()?;
            let lab = |sum: [f64; 3], pixels: u32| {
                Lab::from_linear_srgb(sum.map(|total| total / f64::from(pixels.max(1))))
            };
            Some(ToothColour {
                tooth,
                drawn: thirds.map(|sum| lab(sum.drawn, sum.pixels)),
                shown: thirds.map(|sum| lab(sum.shown, sum.pixels)),
            })
        })
        .collect()
}

impl Picture {
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
