//! Pictures that help to see a difference: its map, and the restored tooth beside its twin.

use crate::colorimetry::{Lab, ciede2000, from_display_8bit, linear_srgb_to_xyz, to_display_8bit};
use crate::play::picture::Picture;
use crate::scene::Tooth;
use colorgrad::Gradient;
use std::sync::LazyLock;

/// Pixels to each side over which colours are averaged before they are compared: single pixels
/// carry the dither.
const REACH: i32 = 2;
/// Upper ends of the scale, ΔE00. A map takes the first that nearly all of it fits.
const SCALES_DE00: [f64; 4] = [4.0, 8.0, 16.0, 32.0];
/// Share of the tooth that must fit the scale.
const FITTING_SHARE: f64 = 0.99;
/// What is no tooth is drawn by value, this much darker.
const DIMMED: f64 = 0.15;
/// Room around the tooth in a crop, share of its size.
const CROP_MARGIN: f32 = 0.2;
/// Gap between the two crops, pixels, and its grey: that of the screens.
const CROP_GAP: usize = 8;
const GREY: u8 = 119;

/// The colour of the scale at 0..1: dark blue to yellow, rising evenly in lightness, alike for
/// every kind of colour vision.
///
/// # References
/// Nuñez, Anderton, Renslow, `PLoS` ONE 2018;13:e0199239 (cividis).
#[must_use]
pub fn scale_colour(share: f64) -> [u8; 3] {
    let [r, g, b, _] = colorgrad::preset::cividis().at(share.clamp(0.0, 1.0) as f32).to_rgba8();
    [r, g, b]
}

/// Differences below this are left uncoloured on a map, ΔE00: less than half of what half of all
/// observers notice, and more than rounding to 8 bit leaves of an averaged pixel.
pub const COLOURED_FROM_DE00: f64 = 0.3;

/// A map of the difference between two pictures.
#[derive(Debug, Clone, PartialEq)]
pub struct DifferenceMap {
    /// What differs in the colours of the scale; teeth and parts of teeth that do not as they are,
    /// everything that is no tooth dark.
    pub picture: Picture,
    /// What the end of the scale stands for, ΔE00. It starts at 0.
    pub scale_end_de00: f64,
}

/// The ΔE00 of every tooth's pixel between the two pictures of one smile, colours averaged over 5
/// × 5 pixels of the same tooth in linear light.
#[must_use]
pub fn difference_map(restored: &Picture, twin: &Picture) -> DifferenceMap {
    let differences = differences(restored, twin);
    let mut found: Vec<f64> = differences.iter().copied().filter(|d| *d > 0.0).collect();
    found.sort_by(f64::total_cmp);
    let nearly_all = match found.len() {
        0 => 0.0,
        count => found[(FITTING_SHARE * (count - 1) as f64).round() as usize],
    };
    let [.., largest] = SCALES_DE00;
    let end = SCALES_DE00.into_iter().find(|end| nearly_all <= *end).unwrap_or(largest);
    let colours: Vec<[u8; 3]> = (0..=255).map(|k| scale_colour(f64::from(k) / 255.0)).collect();
    let dimmed: Vec<[u8; 3]> =
        (0..=255).map(|k| to_display_8bit([DIMMED * f64::from(k) / 255.0; 3])).collect();
    let mut rgba = Vec::with_capacity(restored.rgba.len());
    for (index, pixel) in restored.rgba.chunks_exact(4).enumerate() {
        let own = [pixel[0], pixel[1], pixel[2]];
        let colour = if restored.teeth.get(index).is_some_and(|number| *number > 0) {
            match differences[index] {
                de00 if de00 < COLOURED_FROM_DE00 => own,
                de00 => colours[(255.0 * (de00 / end).min(1.0)).round() as usize],
            }
        } else {
            let luminance = linear_srgb_to_xyz(linear(own)).y / 100.0;
            dimmed[(255.0 * luminance).round() as usize]
        };
        rgba.extend([colour[0], colour[1], colour[2], 255]);
    }
    let picture = Picture { rgba, ..restored.clone() };
    DifferenceMap { picture, scale_end_de00: end }
}

/// Linear light of codes, from a table: a map asks for millions.
fn linear(codes: [u8; 3]) -> [f64; 3] {
    static TABLE: LazyLock<Vec<f64>> =
        LazyLock::new(|| (0..=255).map(|code| from_display_8bit([code; 3])[0]).collect());
    codes.map(|code| TABLE[usize::from(code)])
}

fn differences(restored: &Picture, twin: &Picture) -> Vec<f64> {
    let (width, height) = (restored.width as i32, restored.height as i32);
    let code = |picture: &Picture, i: usize| [0, 1, 2].map(|c| picture.rgba[4 * i + c]);
    let changed: Vec<u8> = {
        let mut numbers: Vec<u8> = (0..restored.teeth.len())
            .filter(|&i| code(restored, i) != code(twin, i))
            .map(|i| restored.teeth[i])
            .collect();
        numbers.sort_unstable();
        numbers.dedup();
        numbers
    };
    (0..restored.teeth.len())
        .map(|i| {
            let number = restored.teeth[i];
            if number == 0 || !changed.contains(&number) {
                return 0.0;
            }
            let (x, y) = (i as i32 % width, i as i32 / width);
            let (mut ours, mut theirs, mut count) = ([0.0; 3], [0.0; 3], 0.0);
            for j in (-REACH..=REACH)
                .flat_map(|dy| (-REACH..=REACH).map(move |dx| (x + dx, y + dy)))
                .filter(|&(x, y)| (0..width).contains(&x) && (0..height).contains(&y))
                .map(|(x, y)| (y * width + x) as usize)
                .filter(|&j| restored.teeth[j] == number)
            {
                let (a, b) = (linear(code(restored, j)), linear(code(twin, j)));
                for channel in 0..3 {
                    ours[channel] += a[channel];
                    theirs[channel] += b[channel];
                }
                count += 1.0;
            }
            let lab = |sum: [f64; 3]| Lab::from_linear_srgb(sum.map(|total| total / count));
            ciede2000(lab(theirs), lab(ours)).de00
        })
        .collect()
}

/// The tooth cut out of both pictures, as restored on the left and natural on the right; `None`
/// where the picture does not show it.
#[must_use]
pub fn side_by_side(restored: &Picture, twin: &Picture, tooth: Tooth) -> Option<Picture> {
    let outline = restored.outlines.iter().find(|outline| outline.tooth == tooth)?;
    let range = |axis: usize, limit: u32| {
        let along = || outline.polygon.iter().map(|point| point[axis]);
        let (low, high) =
            (along().fold(f32::INFINITY, f32::min), along().fold(f32::NEG_INFINITY, f32::max));
        let margin = CROP_MARGIN * (high - low);
        let from = (low - margin).floor().max(0.0) as usize;
        let to = (high + margin).ceil().min(limit as f32).max(0.0) as usize;
        from..to.max(from)
    };
    let (columns, rows) = (range(0, restored.width), range(1, restored.height));
    if columns.is_empty() || rows.is_empty() {
        return None;
    }
    let width = 2 * columns.len() + CROP_GAP;
    let mut rgba = Vec::with_capacity(4 * width * rows.len());
    for row in rows.clone() {
        let start = row * restored.width as usize;
        let bytes = 4 * (start + columns.start)..4 * (start + columns.end);
        rgba.extend_from_slice(&restored.rgba[bytes.clone()]);
        rgba.extend([GREY, GREY, GREY, 255].repeat(CROP_GAP));
        rgba.extend_from_slice(&twin.rgba[bytes]);
    }
    Some(Picture { width: width as u32, height: rows.len() as u32, rgba, ..Picture::default() })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colorimetry::Lch;
    use crate::play::picture::ToothOutline;

    fn tooth(number: u8) -> Tooth {
        Tooth::new(number).unwrap()
    }

    /// Two teeth of one colour each on black.
    fn two_teeth(left: Lch, right: Lch) -> Picture {
        let (width, height) = (60_usize, 40_usize);
        let mut picture = Picture {
            width: width as u32,
            height: height as u32,
            rgba: [9, 5, 5, 255].repeat(width * height),
            teeth: vec![0; width * height],
            ..Picture::default()
        };
        for (number, from, colour) in [(11, 5, left), (21, 32, right)] {
            let codes = to_display_8bit(Lab::from(colour).to_linear_srgb());
            for (x, y) in (8..32).flat_map(|y| (from..from + 22).map(move |x| (x, y))) {
                let i: usize = y * width + x;
                picture.teeth[i] = number;
                picture.rgba[4 * i..4 * i + 3].copy_from_slice(&codes);
            }
            let (a, b) = (from as f32, from as f32 + 22.0);
            let polygon = vec![[a, 8.0], [b, 8.0], [b, 32.0], [a, 32.0]];
            picture.outlines.push(ToothOutline { tooth: tooth(number), polygon });
        }
        picture
    }

    #[test]
    fn the_map_shows_the_difference_where_it_is() {
        let natural = Lch { l: 75.0, c: 17.0, h: 88.0 };
        let darker = Lch { l: 71.0, c: 17.0, h: 88.0 };
        let twin = two_teeth(natural, natural);
        let restored = two_teeth(natural, darker);
        let map = difference_map(&restored, &twin);
        assert_eq!(map.scale_end_de00, 4.0);
        let at = |x: usize, y: usize| {
            let i = 4 * (y * 60 + x);
            [map.picture.rgba[i], map.picture.rgba[i + 1], map.picture.rgba[i + 2]]
        };
        let expected = ciede2000(
            Lab::from_srgb8(to_display_8bit(Lab::from(natural).to_linear_srgb())),
            Lab::from_srgb8(to_display_8bit(Lab::from(darker).to_linear_srgb())),
        )
        .de00;
        assert!((2.0..4.0).contains(&expected), "{expected}");
        let colour = scale_colour((255.0 * expected / 4.0).round() / 255.0);
        // In the middle and at the rim alike: the dark around the tooth does not count.
        for (x, y) in [(43, 20), (32, 8), (53, 31)] {
            assert_eq!(at(x, y), colour, "{x}, {y}");
        }
        // A tooth that is equal stays as it is.
        let as_it_is = |x: usize, y: usize| restored.rgba[4 * (y * 60 + x)..][..3].to_vec();
        assert_eq!(at(15, 20).to_vec(), as_it_is(15, 20));
        assert!(at(1, 1).iter().all(|v| *v <= 9));
    }

    #[test]
    fn equal_teeth_are_not_painted() {
        let natural = Lch { l: 75.0, c: 17.0, h: 88.0 };
        let darker = Lch { l: 71.0, ..natural };
        let twin = two_teeth(natural, natural);
        for (restored, changed) in [(twin.clone(), 0), (two_teeth(natural, darker), 21)] {
            let map = difference_map(&restored, &twin).picture;
            for (i, number) in restored.teeth.iter().enumerate().filter(|(_, n)| **n > 0) {
                let [own, seen] = [&restored, &map].map(|picture| &picture.rgba[4 * i..4 * i + 3]);
                assert_eq!(own == seen, *number != changed, "{i} of tooth {number}");
            }
        }
    }

    #[test]
    fn the_scale_ends_where_the_map_fits() {
        let natural = Lch { l: 75.0, c: 17.0, h: 88.0 };
        let end = |l| {
            let other = two_teeth(natural, Lch { l, ..natural });
            difference_map(&other, &two_teeth(natural, natural)).scale_end_de00
        };
        assert_eq!([end(75.0), end(74.0), end(66.0), end(30.0)], [4.0, 4.0, 8.0, 32.0]);
    }

    #[test]
    fn the_scale_rises_evenly_in_lightness() {
        let lightness: Vec<f64> =
            (0..=10).map(|k| Lab::from_srgb8(scale_colour(f64::from(k) / 10.0)).l).collect();
        let mean_step = (lightness[10] - lightness[0]) / 10.0;
        for step in lightness.windows(2) {
            let ratio = (step[1] - step[0]) / mean_step;
            // Even in a colour space of its own (CAM02-UCS); nearly so in L*.
            assert!((0.7..1.3).contains(&ratio), "{lightness:?}");
        }
        assert!(mean_step > 7.0, "{lightness:?}");
    }

    #[test]
    fn crops_lie_side_by_side_and_unscaled() {
        let natural = Lch { l: 75.0, c: 17.0, h: 88.0 };
        let twin = two_teeth(natural, natural);
        let restored = two_teeth(natural, Lch { l: 71.0, ..natural });
        let pair = side_by_side(&restored, &twin, tooth(21)).unwrap();
        // 22 × 24 pixels and a fifth of it on each side, cut at the edge of the picture.
        assert_eq!((pair.width, pair.height), (2 * 32 + 8, 24 + 2 * 5));
        let at = |x: usize, y: usize| pair.rgba[4 * (y * 72 + x)..][..3].to_vec();
        let from =
            |picture: &Picture, x: usize, y: usize| picture.rgba[4 * (y * 60 + x)..][..3].to_vec();
        assert_eq!(at(14, 17), from(&restored, 27 + 14, 3 + 17));
        assert_eq!(at(40 + 14, 17), from(&twin, 27 + 14, 3 + 17));
        assert_eq!(at(35, 17), [119; 3]);
        assert_eq!(side_by_side(&restored, &twin, tooth(13)), None);
    }
}
