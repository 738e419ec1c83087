//! Linear light → the 8-bit picture, dithered, and what rounding does to the colour of a tooth.
//!
//! The adapter draws half floats. Rounding them to the nearest code would move the difference
//! between a restored tooth and its twin by up to half a code in each channel, a few tenths of a
//! ΔE00, and always by the same amount over a patch of one colour. Ordered dithering spreads the
//! rounding error over neighbouring pixels so that it averages out. The pattern depends on the
//! pixel's place alone: every tooth, gum and lip goes through it, and restored and twin alike.

use crate::colorimetry::from_display_8bit;
use half::f16;
use rayon::prelude::*;
use std::sync::LazyLock;

/// Edge of the pattern, pixels. Every threshold occurs once in 16 × 16 pixels.
const PATTERN: usize = 16;
/// Shifts of the pattern for red, green and blue, so that the three do not step together.
const SHIFTS: [[usize; 2]; 3] = [[0, 0], [5, 3], [11, 6]];
/// Bits of the half float 1.0. Below it lie all positive half floats less than 1, in order.
const ONE_BITS: u16 = 0x3C00;

/// The code below a value and how far the value lies towards the next, 0..1, both in linear light.
#[derive(Clone, Copy)]
struct Step {
    below: u8,
    share: f32,
}

/// A step for every half float from 0 up to 1.
static STEPS: LazyLock<Vec<Step>> = LazyLock::new(|| {
    let linear: Vec<f64> = (0..=255).map(|code| from_display_8bit([code; 3])[0]).collect();
    (0..ONE_BITS)
        .map(|bits| {
            let value = f64::from(f16::from_bits(bits));
            let above = linear.partition_point(|level| *level <= value).min(255);
            let below = above.saturating_sub(1);
            let share = (value - linear[below]) / (linear[above] - linear[below]);
            Step { below: below as u8, share: share.clamp(0.0, 1.0) as f32 }
        })
        .collect()
});

/// The threshold 0..1 at a pixel: recursive tessellation of the square.
///
/// # References
/// Bayer, An optimum method for two-level rendition of continuous-tone pictures, IEEE Int. Conf.
/// Communications 1973.
fn threshold(x: usize, y: usize) -> f32 {
    let (x, y) = (x % PATTERN, y % PATTERN);
    let mut rank = 0;
    // The lowest bit of place carries the most weight: neighbours differ most.
    for bit in 0..4 {
        let (a, b) = ((x >> bit) & 1, (y >> bit) & 1);
        rank = rank * 4 + 2 * (a ^ b) + b;
    }
    (rank as f32 + 0.5) / (PATTERN * PATTERN) as f32
}

/// The code of one channel of a pixel: the code below or above, so that the mean over the pattern
/// is the value itself in linear light. Values outside 0..1 become 0 and 255.
fn code(value: f16, x: usize, y: usize, channel: usize) -> u8 {
    if !(value > f16::ZERO) {
        return 0;
    }
    let Some(step) = STEPS.get(usize::from(value.to_bits())) else { return 255 };
    let [dx, dy] = SHIFTS[channel];
    step.below + u8::from(step.share > threshold(x + dx, y + dy))
}

/// Pixels in linear light, four half floats each, as 8-bit sRGB. Alpha becomes 255 where it is
/// fully drawn and less elsewhere.
pub(crate) fn to_8bit(linear: &[[f16; 4]], width: usize) -> Vec<u8> {
    let width = width.max(1);
    let mut codes = vec![0; 4 * linear.len()];
    codes.par_chunks_mut(4 * width).zip(linear.par_chunks(width)).enumerate().for_each(
        |(y, (line, pixels))| {
            for (x, (pixel, &[r, g, b, alpha])) in line.chunks_exact_mut(4).zip(pixels).enumerate()
            {
                let alpha = (255.0 * alpha.to_f32()).round().clamp(0.0, 255.0) as u8;
                let coded = [code(r, x, y, 0), code(g, x, y, 1), code(b, x, y, 2), alpha];
                pixel.copy_from_slice(&coded);
            }
        },
    );
    codes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_threshold_occurs_once() {
        let mut ranks: Vec<u32> = (0..PATTERN * PATTERN)
            .map(|i| (256.0 * threshold(i % PATTERN, i / PATTERN) - 0.5) as u32)
            .collect();
        ranks.sort_unstable();
        assert_eq!(ranks, (0..256).collect::<Vec<_>>());
        // Two pixels on a diagonal lie close, two side by side lie half the range apart.
        assert!((threshold(0, 0) - threshold(1, 0)).abs() >= 0.5);
    }

    #[test]
    fn the_mean_of_a_patch_is_its_colour() {
        for value in [0.0002, 0.01, 0.2, 0.4663, 0.5, 0.713, 0.99] {
            let half = f16::from_f32(value);
            let patch = vec![[half, half, half, f16::ONE]; 32 * 32];
            let coded = to_8bit(&patch, 32);
            for channel in 0..3 {
                let codes: Vec<u8> = coded.chunks_exact(4).map(|pixel| pixel[channel]).collect();
                let (low, high) = (codes.iter().min().unwrap(), codes.iter().max().unwrap());
                assert!(high - low <= 1, "{value}: {low} to {high}");
                let linear = |code: u8| from_display_8bit([code; 3])[0];
                let mean = codes.iter().map(|&c| linear(c)).sum::<f64>() / codes.len() as f64;
                let code_step = linear(low + 1) - linear(*low);
                let off = (mean - f64::from(half)).abs() / code_step;
                // One rank of 256 is 1/512 of a code at most.
                assert!(off < 1.0 / 500.0, "{value}: {off} of a code");
            }
        }
    }

    #[test]
    fn values_out_of_range_are_black_and_white() {
        let pixel = |value: f32| to_8bit(&[[f16::from_f32(value); 4]], 1)[0];
        assert_eq!(pixel(-0.5), 0);
        assert_eq!(pixel(f32::NAN), 0);
        assert_eq!(pixel(1.0), 255);
        assert_eq!(pixel(f32::INFINITY), 255);
        assert_eq!(pixel(7.0), 255);
    }
}
