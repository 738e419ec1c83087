//! Pictures beside the picture: saving, value only, the mask, outlines.

use super::viewport::Picture;
use crate::random::{Purpose, StreamKey};
use palette::{IntoColor, Lab, Srgb};
use rand::seq::SliceRandom;
use rayon::prelude::*;
use std::path::{Path, PathBuf};
use thiserror::Error;

/// Why a picture could not be saved.
#[derive(Debug, Error)]
#[error("cannot write the picture {path}: {source}", path = crate::printable::path(path))]
pub struct SavePictureError {
    /// Where it was to go.
    pub path: PathBuf,
    /// What went wrong.
    pub source: image::ImageError,
}

/// Saves a picture as PNG.
///
/// # Errors
/// [`SavePictureError`] when the file cannot be written.
pub fn save_png(picture: &Picture, path: &Path) -> Result<(), SavePictureError> {
    image::save_buffer_with_format(
        path,
        &picture.rgba,
        picture.width,
        picture.height,
        image::ExtendedColorType::Rgba8,
        image::ImageFormat::Png,
    )
    .map_err(|source| SavePictureError { path: path.to_owned(), source })
}

/// The picture by value alone: every pixel the neutral grey of the same CIE L*.
#[must_use]
pub fn value_only(picture: &Picture) -> Picture {
    let mut grey = picture.clone();
    grey.rgba.par_chunks_exact_mut(4).for_each(|pixel| {
        let lab: Lab = Srgb::new(pixel[0], pixel[1], pixel[2]).into_linear::<f32>().into_color();
        let neutral: palette::LinSrgb = Lab::new(lab.l, 0.0, 0.0).into_color();
        let encoded: Srgb<u8> = Srgb::from_linear(neutral);
        // Red, green and blue agree up to rounding of the white point; one code for all three.
        pixel[..3].fill(encoded.green);
    });
    grey
}

/// The picture `times` as small each way: every pixel the mean of `times` × `times` pixels, in linear
/// light. Rows and columns that do not fill a pixel are left out.
#[must_use]
pub fn shrunk(picture: &Picture, times: u32) -> Picture {
    let times = times.max(1) as usize;
    let (width, height) = (picture.width as usize / times, picture.height as usize / times);
    let linear: Vec<f32> = (0..=255_u8)
        .map(|code| {
            let linear: palette::LinSrgb<f32> = Srgb::new(code, code, code).into_linear();
            linear.red
        })
        .collect();
    let mut rgba = Vec::with_capacity(4 * width * height);
    for (x, y) in (0..height).flat_map(|y| (0..width).map(move |x| (x, y))) {
        let mut sum = [0.0_f32; 3];
        for row in y * times..(y + 1) * times {
            let start = 4 * (row * picture.width as usize + x * times);
            for pixel in picture.rgba[start..start + 4 * times].chunks_exact(4) {
                for (sum, code) in sum.iter_mut().zip(pixel) {
                    *sum += linear[usize::from(*code)];
                }
            }
        }
        let [r, g, b] = sum.map(|sum| sum / (times * times) as f32);
        let encoded: Srgb<u8> = Srgb::from_linear(palette::LinSrgb::new(r, g, b));
        rgba.extend([encoded.red, encoded.green, encoded.blue, 255]);
    }
    Picture { width: width as u32, height: height as u32, rgba, ..Picture::default() }
}

/// Edge of the mask's tiles, pixels.
const TILE: usize = 16;

/// The mask shown after an exposure: the picture's own tiles in a seeded random order, each turned
/// at random. It has exactly the picture's colours, pixel for pixel, and none of its shapes. Edges
/// that do not fill a tile are shuffled pixel by pixel among themselves.
#[must_use]
pub fn scrambled(picture: &Picture, seed: u64) -> Picture {
    let mut rng =
        StreamKey { form: "mask", seed, purpose: Purpose::Mask, block: 0, trial: 0 }.stream();
    let (width, height) = (picture.width as usize, picture.height as usize);
    let (columns, rows) = (width / TILE, height / TILE);
    let mut tiles: Vec<usize> = (0..columns * rows).collect();
    tiles.shuffle(&mut rng);
    let mut source: Vec<usize> = (0..width * height).collect();
    for (to, &from) in tiles.iter().enumerate() {
        let turn = rand::RngExt::random_range(&mut rng, 0..4);
        for y in 0..TILE {
            for x in 0..TILE {
                let (sx, sy) = match turn {
                    0 => (x, y),
                    1 => (y, TILE - 1 - x),
                    2 => (TILE - 1 - x, TILE - 1 - y),
                    _ => (TILE - 1 - y, x),
                };
                let at = |tile: usize, x: usize, y: usize| {
                    (tile / columns * TILE + y) * width + tile % columns * TILE + x
                };
                source[at(to, x, y)] = at(from, sx, sy);
            }
        }
    }
    let rim: Vec<usize> = (0..width * height)
        .filter(|k| k % width >= columns * TILE || k / width >= rows * TILE)
        .collect();
    let mut shuffled_rim = rim.clone();
    shuffled_rim.shuffle(&mut rng);
    for (to, from) in rim.into_iter().zip(shuffled_rim) {
        source[to] = from;
    }
    let rgba =
        source.iter().flat_map(|&from| &picture.rgba[4 * from..4 * from + 4]).copied().collect();
    Picture { width: picture.width, height: picture.height, rgba, ..Picture::default() }
}

/// The picture with closed polygons drawn over it, `half_width` pixels to either side of the line,
/// edges smoothed.
#[must_use]
pub fn with_outlines(
    picture: &Picture,
    polygons: &[&[[f32; 2]]],
    color: [u8; 3],
    half_width: f32,
) -> Picture {
    let mut drawn = picture.clone();
    for polygon in polygons {
        let ends = polygon.iter().cycle().skip(1);
        // Strongest cover per pixel first, so that joints are not painted twice.
        let mut cover = std::collections::BTreeMap::new();
        for (&a, &b) in polygon.iter().zip(ends) {
            cover_segment(&mut cover, a, b, half_width, [picture.width, picture.height]);
        }
        for (index, weight) in cover {
            for (value, ink) in drawn.rgba[4 * index..4 * index + 3].iter_mut().zip(color) {
                let mixed = f32::from(*value) + (f32::from(ink) - f32::from(*value)) * weight;
                *value = mixed.round() as u8;
            }
        }
    }
    drawn
}

fn cover_segment(
    cover: &mut std::collections::BTreeMap<usize, f32>,
    a: [f32; 2],
    b: [f32; 2],
    half_width: f32,
    [width, height]: [u32; 2],
) {
    let reach = half_width + 1.0;
    let range = |axis: usize, limit: u32| {
        let low = (a[axis].min(b[axis]) - reach).floor().max(0.0) as u32;
        let high = (a[axis].max(b[axis]) + reach).ceil().clamp(0.0, limit as f32) as u32;
        low..high
    };
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let squared = (dx * dx + dy * dy).max(1e-9);
    for y in range(1, height) {
        for x in range(0, width) {
            let (px, py) = (x as f32 + 0.5 - a[0], y as f32 + 0.5 - a[1]);
            let t = ((px * dx + py * dy) / squared).clamp(0.0, 1.0);
            let distance = (px - t * dx).hypot(py - t * dy);
            let weight = (half_width + 0.5 - distance).clamp(0.0, 1.0);
            if weight > 0.0 {
                let slot = cover.entry((y * width + x) as usize).or_insert(0.0_f32);
                *slot = slot.max(weight);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn speckled(width: u32, height: u32) -> Picture {
        let rgba = (0..width * height)
            .flat_map(|k| [(k * 7 % 256) as u8, (k * 13 % 251) as u8, (k % 97) as u8, 255])
            .collect();
        Picture { width, height, rgba, ..Picture::default() }
    }

    fn sorted(picture: &Picture) -> Vec<[u8; 4]> {
        let mut pixels: Vec<[u8; 4]> =
            picture.rgba.chunks_exact(4).map(|p| [p[0], p[1], p[2], p[3]]).collect();
        pixels.sort_unstable();
        pixels
    }

    #[test]
    fn the_mask_keeps_every_pixel_and_depends_on_its_seed() {
        let picture = speckled(100, 70);
        let mask = scrambled(&picture, 5);
        assert_eq!(sorted(&mask), sorted(&picture));
        assert_eq!(mask, scrambled(&picture, 5));
        assert_ne!(mask.rgba, picture.rgba);
        assert_ne!(mask.rgba, scrambled(&picture, 6).rgba);
    }

    #[test]
    fn a_small_picture_mixes_light_and_not_codes() {
        let (width, height) = (5, 4);
        let rgba = (0..width * height)
            .flat_map(|k| if (k % width) % 2 == 0 { [0, 0, 0, 255] } else { [255; 4] })
            .collect();
        let picture = Picture { width, height, rgba, ..Picture::default() };
        let small = shrunk(&picture, 2);
        assert_eq!((small.width, small.height), (2, 2));
        // Half the light of white is code 188 (IEC 61966-2-1).
        assert_eq!(small.rgba, [188, 188, 188, 255].repeat(4));
        assert_eq!(shrunk(&picture, 1).rgba, picture.rgba);
    }

    #[test]
    fn value_only_keeps_lightness() {
        let grey = value_only(&speckled(64, 64));
        for (before, after) in speckled(64, 64).rgba.chunks_exact(4).zip(grey.rgba.chunks_exact(4))
        {
            assert!(after[0] == after[1] && after[1] == after[2]);
            let lightness = |p: &[u8]| {
                let lab: Lab = Srgb::new(p[0], p[1], p[2]).into_linear::<f32>().into_color();
                lab.l
            };
            // Half a code of grey is at most 0.3 L* (at the dark end).
            let difference = (lightness(before) - lightness(after)).abs();
            assert!(difference < 0.3, "{before:?} {after:?} {difference}");
        }
    }

    #[test]
    fn outlines_colour_the_line_and_nothing_else() {
        let picture = speckled(60, 60);
        let square: &[[f32; 2]] = &[[10.0, 10.0], [40.0, 10.0], [40.0, 40.0], [10.0, 40.0]];
        let drawn = with_outlines(&picture, &[square], [255, 0, 0], 1.0);
        let at = |p: &Picture, x: usize, y: usize| p.rgba[4 * (y * 60 + x)..][..3].to_vec();
        assert_eq!(at(&drawn, 25, 10), [255, 0, 0]);
        assert_eq!(at(&drawn, 25, 25), at(&picture, 25, 25));
        assert_eq!(at(&drawn, 50, 50), at(&picture, 50, 50));
    }
}
