//! Mean colours of the thirds of every tooth in a picture, before and after rounding to 8 bit.

use crate::colorimetry::{Lab, from_display_8bit};
use crate::play::picture::ToothColour;
use crate::scene::Tooth;
use half::f16;
use rayon::prelude::*;

#[derive(Default, Clone, Copy)]
struct Sum {
    drawn: [f64; 3],
    shown: [f64; 3],
    pixels: u32,
}

/// Colours of the teeth that `numbers` (an ISO 3950 number per pixel, 0 elsewhere) shows, by
/// rising number. The pixels are linear sRGB with white at 1, as drawn, and 8-bit sRGB, as shown;
/// `width` is that of the picture, pixels.
pub fn tooth_colours(
    numbers: &[u8],
    linear: &[[f16; 4]],
    rgba: &[u8],
    width: usize,
) -> Vec<ToothColour> {
    // The same for every pixel of a number, so that pixels cost an index and no search.
    let mut rows: Vec<Option<(usize, usize)>> = vec![None; 256];
    for (y, line) in numbers.chunks(width.max(1)).enumerate() {
        for &number in line.iter().filter(|number| **number > 0) {
            let (top, _) = rows[usize::from(number)].unwrap_or((y, y));
            rows[usize::from(number)] = Some((top, y));
        }
    }
    let linear_of: Vec<f64> = (0..=255).map(|code| from_display_8bit([code; 3])[0]).collect();
    let seen: Vec<u8> = (1..=255).filter(|number| rows[usize::from(*number)].is_some()).collect();
    // A tooth's pixels are summed in one order, however many threads there are.
    seen.into_par_iter()
        .filter_map(|number| {
            let tooth = Tooth::new(number).ok()?;
            let (top, bottom) = rows[usize::from(number)]?;
            let mut thirds = [Sum::default(); 3];
            for y in top..=bottom {
                let sum = &mut thirds[3 * (y - top) / (bottom - top + 1)];
                let line = y * width..((y + 1) * width).min(numbers.len());
                for index in line.filter(|index| numbers[*index] == number) {
                    for channel in 0..3 {
                        // What is brighter than white is shown as white.
                        sum.drawn[channel] += f64::from(linear[index][channel]).clamp(0.0, 1.0);
                        sum.shown[channel] += linear_of[usize::from(rgba[4 * index + channel])];
                    }
                    sum.pixels += 1;
                }
            }
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
