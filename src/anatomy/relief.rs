//! Fine relief of the enamel: normal maps and gloss, free of tooth colour.

use super::crown::Crown;
use super::kind::Jaw;
use super::noise::{Noise, smooth_step};
use super::surface::Surface;
use rayon::prelude::*;
use std::f32::consts::TAU;

/// Four bytes per texel, row-major from the top.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ByteMap {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `height × width × 4` bytes.
    pub bytes: Vec<u8>,
}

/// Tangent-space normals as bytes: 0..255 stands for −1..1, third value outward.
pub type NormalMap = ByteMap;

/// CIELAB offsets from a mean colour, or from a mixture of two.
#[derive(Debug, Clone, PartialEq)]
pub struct TintMap {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `height × width` offsets ΔL*, Δa*, Δb*, and the share of the surface's second mean colour.
    pub offsets: Vec<[f32; 4]>,
}

const CROWN_RELIEF: [usize; 2] = [192, 256];
const CROWN_GLOSS: [usize; 2] = [64, 96];

/// The enamel's relief over the labial face.
pub(super) fn crown_normals(seed: u64, crown: &Crown) -> NormalMap {
    let [width, height] = CROWN_RELIEF;
    let individual = &crown.individual;
    let noise = Noise::new(seed, individual.channel(200));
    let band_noise = Noise::new(seed, individual.channel(300));
    let (width_mm, length_mm) = (individual.width_mm, individual.length_mm);
    let youth = 1.0 - individual.wear;
    // On narrow lower crowns the same undulation would tear highlights into streaks.
    let calm = if individual.jaw == Jaw::Lower { 0.55 } else { 1.0 };
    let heights = grid(width, height, |tx, ty| {
        let (x, y) = (tx * width_mm, ty * length_mm);
        // Broad undulation tears the highlights; without it they are airbrush strokes.
        let undulation = 0.028 * noise.at(0.55 * x, 0.42 * y)
            + 0.0125 * noise.at(1.2 * x + 9.0, 0.85 * y)
            + 0.0042 * noise.at(2.7 * x + 31.0, 2.1 * y)
            + 0.0010 * noise.at(6.0 * x + 70.0, 1.1 * y);
        let wave = 1.5 * band_noise.at(0.35 * x, 0.6 * y);
        // Perikymata: closer toward the neck, worn off in patches and with age.
        let crowd = 1.0 + 0.35 * (1.0 - smooth_step(0.0, 0.5, ty));
        let kept = smooth_step(-0.25, 0.45, band_noise.fbm(0.45 * x + 20.0, 0.35 * y));
        let perikymata = (0.0005 + 0.0009 * youth)
            * (TAU * crowd * y / 0.30 + 5.0 * wave + 0.8 * band_noise.at(1.5 * x, 2.0 * y)).sin()
            * kept
            * (1.0 - smooth_step(0.40, 0.80, ty));
        let bands = 0.0024
            * (TAU * y / 0.95 + 2.0 * wave).sin()
            * (0.5 + 0.5 * band_noise.at(0.5 * x + 40.0, 0.8 * y));
        let grain = 0.0008 * noise.at(9.0 * x, 9.0 * y);
        calm * (undulation + bands) + perikymata + grain
    });
    normals_of(&heights, width, |_| width_mm / width as f32, |_| length_mm / height as f32)
}

/// Roughness over the labial face (second byte; the third, metallic, is 0), duller where little
/// light comes in: an enclosed surface mirrors the dark enclosure.
pub(super) fn crown_gloss(seed: u64, crown: &Crown) -> ByteMap {
    let [width, height] = CROWN_GLOSS;
    let noise = Noise::new(seed, crown.individual.channel(400));
    let surface = &crown.surface;
    let worn = crown.individual.wear;
    let lower = if crown.individual.jaw == Jaw::Lower { 0.07 } else { 0.0 };
    roughness_bytes(width, height, |tx, ty| {
        let [column, row] = crown.grid_position([tx, ty]);
        let visible = bilinear(surface.columns, surface.rows, column, row, |k| {
            luminance(surface.visibility[k])
        });
        let open = smooth_step(0.22, 0.66, visible);
        // Saliva lies in patches, smoothest near the gum; bare enamel between is duller.
        let film = smooth_step(-0.30, 0.40, noise.fbm(2.2 * tx, 2.8 * ty));
        let fine = 0.035 * noise.fbm(9.0 * tx, 11.0 * ty);
        let wet = film.max(1.0 - smooth_step(0.02, 0.12, ty));
        let dull = 0.10 + 0.05 * worn * smooth_step(0.75, 1.0, ty);
        let clear = crown.individual.roughness + lower + dull * (1.0 - wet) - 0.03 * wet + fine;
        0.85 + (clear.max(0.12) - 0.85) * open
    })
}

/// Bytes of a roughness map: roughness in the second, 0 for metallic in the third.
pub(super) fn roughness_bytes(
    width: usize,
    height: usize,
    value: impl Fn(f32, f32) -> f32 + Sync,
) -> ByteMap {
    let bytes = grid(width, height, value)
        .iter()
        .flat_map(|&value| [0, (value.clamp(0.0, 1.0) * 255.0).round() as u8, 0, 255])
        .collect();
    ByteMap { width, height, bytes }
}

/// Makes a soft surface duller where little light comes in. The grid's second texture coordinate
/// must grow along its columns.
pub(super) fn dull_in_the_shade(surface: &Surface, gloss: &mut ByteMap) {
    let (width, height) = (gloss.width, gloss.height);
    for x in 0..width {
        let across = (x as f32 + 0.5) / width as f32 * (surface.columns - 1) as f32;
        let column = (across as usize).min(surface.columns - 1);
        let mut row = 0;
        for y in 0..height {
            let v = (y as f32 + 0.5) / height as f32;
            let v_at = |row: usize| surface.uvs[row * surface.columns + column][1];
            while row + 1 < surface.rows && v_at(row) < v {
                row += 1;
            }
            let visible = luminance(surface.visibility[row * surface.columns + column]);
            let open = smooth_step(0.12, 0.60, visible);
            let byte = &mut gloss.bytes[4 * (y * width + x) + 1];
            *byte = (235.0 + (f32::from(*byte) - 235.0) * open).round() as u8;
        }
    }
}

/// Reflectance parameter of a crown's gloss: less where the crown stands in the shade.
pub(super) fn crown_reflectance(crown: &Crown) -> f32 {
    let values = &crown.surface.visibility;
    let mean = values.iter().map(|&value| luminance(value)).sum::<f32>() / values.len() as f32;
    0.55 * smooth_step(0.05, 0.75, mean).sqrt()
}

fn luminance([r, g, b]: [f32; 3]) -> f32 {
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

pub(super) fn grid(
    width: usize,
    height: usize,
    value: impl Fn(f32, f32) -> f32 + Sync,
) -> Vec<f32> {
    (0..width * height)
        .into_par_iter()
        .map(|k| {
            let tx = ((k % width) as f32 + 0.5) / width as f32;
            let ty = ((k / width) as f32 + 0.5) / height as f32;
            value(tx, ty)
        })
        .collect()
}

/// Normals of a height field; `across` and `along` give the texel's size in mm by row.
pub(super) fn normals_of(
    heights: &[f32],
    width: usize,
    across: impl Fn(usize) -> f32,
    along: impl Fn(usize) -> f32,
) -> NormalMap {
    let height = heights.len() / width;
    let mut bytes = Vec::with_capacity(heights.len() * 4);
    for y in 0..height {
        let (dx, dy) = (across(y), along(y));
        for x in 0..width {
            let at = |x: usize, y: usize| heights[y * width + x];
            let (left, right) = (x.saturating_sub(1), (x + 1).min(width - 1));
            let (up, down) = (y.saturating_sub(1), (y + 1).min(height - 1));
            let slope_x = (at(right, y) - at(left, y)) / (dx * (right - left) as f32);
            let slope_y = (at(x, down) - at(x, up)) / (dy * (down - up) as f32);
            let length = (1.0 + slope_x * slope_x + slope_y * slope_y).sqrt();
            for value in [-slope_x / length, -slope_y / length, 1.0 / length] {
                bytes.push(((0.5 + 0.5 * value) * 255.0).round() as u8);
            }
            bytes.push(255);
        }
    }
    ByteMap { width, height, bytes }
}

fn bilinear(
    columns: usize,
    rows: usize,
    column: f32,
    row: f32,
    value: impl Fn(usize) -> f32,
) -> f32 {
    let (x, y) = (column.clamp(0.0, columns as f32 - 1.001), row.clamp(0.0, rows as f32 - 1.001));
    let (i, j) = (x as usize, y as usize);
    let (tx, ty) = (x - i as f32, y - j as f32);
    let line = |j: usize| {
        let k = j * columns + i;
        value(k) + (value(k + 1) - value(k)) * tx
    };
    line(j) + (line(j + 1) - line(j)) * ty
}
