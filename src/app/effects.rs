//! Pictures made from pictures: the mask and the value-only view.

use crate::app::pictures::Picture;
use crate::random::{Purpose, StreamKey};
use rand::seq::SliceRandom;
use std::collections::BTreeMap;

/// Edge of a mask tile, pixels: some ten tiles across a front tooth in a full-width picture.
const TILE_PX: u32 = 12;

/// The mask of a picture: its tiles in random order, so that mean and histogram stay exactly
/// those of the picture. The same key gives the same mask.
#[must_use]
pub fn scramble(picture: &Picture, form: &str, seed: u64, trial: u32) -> Picture {
    let key = StreamKey { form, seed, purpose: Purpose::Mask, block: 0, trial };
    let mut stream = key.stream();
    // Tiles at the right and lower edge are smaller; only tiles of one size may change places.
    let mut places: BTreeMap<(u32, u32), Vec<(u32, u32)>> = BTreeMap::new();
    for y in (0..picture.height).step_by(TILE_PX as usize) {
        for x in (0..picture.width).step_by(TILE_PX as usize) {
            let size = (TILE_PX.min(picture.width - x), TILE_PX.min(picture.height - y));
            places.entry(size).or_default().push((x, y));
        }
    }
    let mut mask = Picture { outlines: Vec::new(), ..picture.clone() };
    for ((width, height), origins) in places {
        let mut sources = origins.clone();
        sources.shuffle(&mut stream);
        for (to, from) in origins.iter().zip(&sources) {
            copy_tile(picture, *from, &mut mask, *to, (width, height));
        }
    }
    mask
}

fn copy_tile(
    source: &Picture,
    from: (u32, u32),
    target: &mut Picture,
    to: (u32, u32),
    size: (u32, u32),
) {
    let row_bytes = size.0 as usize * 4;
    let start = |x: u32, y: u32| (y as usize * source.width as usize + x as usize) * 4;
    for row in 0..size.1 {
        let (read, write) = (start(from.0, from.1 + row), start(to.0, to.1 + row));
        target.rgba[write..write + row_bytes].copy_from_slice(&source.rgba[read..read + row_bytes]);
    }
}

/// The picture in greys of the same luminance: value without chroma and hue.
///
/// # References
/// IEC 61966-2-1 (transfer function and luminance weights of sRGB).
#[must_use]
pub fn value_only(picture: &Picture) -> Picture {
    let linear: Vec<f64> = (0..=255_u8).map(|code| to_linear(f64::from(code) / 255.0)).collect();
    let mut grey = picture.clone();
    for pixel in grey.rgba.chunks_exact_mut(4) {
        let [r, g, b] = [pixel[0], pixel[1], pixel[2]].map(|code| linear[usize::from(code)]);
        let luminance = 0.2126 * r + 0.7152 * g + 0.0722 * b;
        let code = (to_encoded(luminance) * 255.0).round() as u8;
        pixel[..3].fill(code);
    }
    grey
}

fn to_linear(encoded: f64) -> f64 {
    if encoded <= 0.04045 { encoded / 12.92 } else { ((encoded + 0.055) / 1.055).powf(2.4) }
}

fn to_encoded(linear: f64) -> f64 {
    if linear <= 0.003_130_8 { linear * 12.92 } else { 1.055 * linear.powf(1.0 / 2.4) - 0.055 }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp() -> Picture {
        let (width, height) = (61, 40);
        let rgba = (0..width * height)
            .flat_map(|i| [(i % 251) as u8, (i % 83) as u8, (i / 61) as u8, 255])
            .collect();
        Picture { width, height, rgba, outlines: Vec::new() }
    }

    fn sorted_pixels(picture: &Picture) -> Vec<[u8; 4]> {
        let mut pixels: Vec<[u8; 4]> =
            picture.rgba.chunks_exact(4).map(|p| [p[0], p[1], p[2], p[3]]).collect();
        pixels.sort_unstable();
        pixels
    }

    #[test]
    fn a_mask_moves_every_pixel_and_changes_none() {
        let picture = ramp();
        let mask = scramble(&picture, "level", 7, 3);
        assert_ne!(mask.rgba, picture.rgba);
        assert_eq!(sorted_pixels(&mask), sorted_pixels(&picture));
        assert_eq!(mask, scramble(&picture, "level", 7, 3));
        assert_ne!(mask, scramble(&picture, "level", 7, 4));
    }

    #[test]
    fn greys_keep_their_code_and_green_weighs_most() {
        for code in 0..=255_u8 {
            let picture = Picture {
                width: 1,
                height: 1,
                rgba: vec![code, code, code, 255],
                outlines: vec![],
            };
            assert_eq!(value_only(&picture).rgba, [code, code, code, 255]);
        }
        let pure = |rgb: [u8; 3]| {
            let rgba = vec![rgb[0], rgb[1], rgb[2], 255];
            value_only(&Picture { width: 1, height: 1, rgba, outlines: vec![] }).rgba[0]
        };
        // Computed with the IEC 61966-2-1 transfer function: Y .2126, .7152, .0722.
        assert_eq!([pure([255, 0, 0]), pure([0, 255, 0]), pure([0, 0, 255])], [127, 220, 76]);
    }
}
