//! Fine relief and tint: normal maps, gloss and gum colour, all free of tooth colour.

use super::crown::Crown;
use super::gum::Gum;
use super::noise::{Noise, bell, smooth_step};
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

/// CIELAB offsets from a mean colour.
#[derive(Debug, Clone, PartialEq)]
pub struct TintMap {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// `height × width` offsets ΔL*, Δa*, Δb*.
    pub offsets: Vec<[f32; 3]>,
}

const CROWN_RELIEF: [usize; 2] = [192, 256];
const CROWN_GLOSS: [usize; 2] = [64, 96];
const GUM_RELIEF: [usize; 2] = [2048, 512];
const GUM_TINT: [usize; 2] = [1536, 384];

/// The enamel's relief over the labial face.
pub(super) fn crown_normals(seed: u64, crown: &Crown) -> NormalMap {
    let [width, height] = CROWN_RELIEF;
    let individual = &crown.individual;
    let noise = Noise::new(seed, 200 + u32::from(individual.tooth.number()));
    let band_noise = Noise::new(seed, 300 + u32::from(individual.tooth.number()));
    let (width_mm, length_mm) = (individual.width_mm, individual.length_mm);
    let heights = grid(width, height, |tx, ty| {
        let (x, y) = (tx * width_mm, ty * length_mm);
        // Broad undulation tears the highlights; without it they are airbrush strokes.
        let undulation =
            0.028 * noise.fbm(0.55 * x, 0.42 * y) + 0.010 * noise.fbm(1.6 * x + 9.0, 0.8 * y);
        let wave = 1.5 * band_noise.at(0.35 * x, 0.6 * y);
        let perikymata =
            0.0007 * (TAU * y / 0.22 + 3.0 * wave).sin() * (1.0 - smooth_step(0.35, 0.60, ty));
        let bands = 0.0028
            * (TAU * y / 0.95 + 2.0 * wave).sin()
            * (0.5 + 0.5 * band_noise.at(0.5 * x + 40.0, 0.8 * y));
        let grain = 0.0007 * noise.at(9.0 * x, 9.0 * y);
        undulation + perikymata + bands + grain
    });
    normals_of(&heights, width, |_| width_mm / width as f32, |_| length_mm / height as f32)
}

/// Roughness over the labial face (second byte; the third, metallic, is 0), duller where little
/// light comes in: an enclosed surface mirrors the dark enclosure.
pub(super) fn crown_gloss(seed: u64, crown: &Crown) -> ByteMap {
    let [width, height] = CROWN_GLOSS;
    let noise = Noise::new(seed, 400 + u32::from(crown.individual.tooth.number()));
    let surface = &crown.surface;
    let roughness = grid(width, height, |tx, ty| {
        let [column, row] = crown.grid_position([tx, ty]);
        let visible = bilinear(surface.columns, surface.rows, column, row, |k| {
            luminance(surface.visibility[k])
        });
        let open = smooth_step(0.25, 0.72, visible);
        let uneven = 0.05 * noise.fbm(5.0 * tx, 6.0 * ty);
        let clear = crown.individual.roughness + uneven;
        0.85 + (clear - 0.85) * open
    });
    let bytes = roughness
        .iter()
        .flat_map(|&value| [0, (value.clamp(0.0, 1.0) * 255.0).round() as u8, 0, 255])
        .collect();
    ByteMap { width, height, bytes }
}

/// Reflectance parameter of a crown's gloss: less where the crown stands in the shade.
pub(super) fn crown_reflectance(crown: &Crown) -> f32 {
    let values = &crown.surface.visibility;
    let mean = values.iter().map(|&value| luminance(value)).sum::<f32>() / values.len() as f32;
    0.55 * smooth_step(0.05, 0.75, mean).sqrt()
}

/// The gum's relief: soft stipple on the attached gum, finer grain, calm free margin.
pub(super) fn gum_normals(seed: u64) -> NormalMap {
    let [width, height] = GUM_RELIEF;
    let noise = Noise::new(seed, 42);
    let heights = grid(width, height, |tx, ty| {
        let (s, d) = (Gum::arc_at(tx), Gum::distance_at(ty));
        let attached = smooth_step(0.7, 1.6, d) * (1.0 - smooth_step(5.5, 8.0, d));
        let patchy = smooth_step(-0.25, 0.45, noise.fbm(0.45 * s, 0.45 * d));
        let stipple =
            -0.022 * attached * patchy * bell(noise.cell_distance(2.3 * s, 2.3 * d), 0.24);
        let free = smooth_step(-0.1, 0.8, d);
        let broad = 0.045 * noise.fbm(0.9 * s, 0.9 * d);
        let fine = 0.010 * noise.fbm(3.1 * s, 3.1 * d);
        stipple + free * (broad + fine)
    });
    let across = 2.0 * Gum::arc_at(1.0) / width as f32;
    let along = |row: usize| {
        let v = |row: f32| Gum::distance_at((row / height as f32).max(0.0));
        (v(row as f32 + 1.0) - v(row as f32)).max(0.004)
    };
    normals_of(&heights, width, |_| across, along)
}

/// The gum's colour about its mean.
pub(super) fn gum_tint(seed: u64) -> TintMap {
    let [width, height] = GUM_TINT;
    let noise = Noise::new(seed, 43);
    let cells = Noise::new(seed, 42);
    let offsets = (0..width * height)
        .into_par_iter()
        .map(|k| {
            let tx = ((k % width) as f32 + 0.5) / width as f32;
            let ty = ((k / width) as f32 + 0.5) / height as f32;
            let (s, d) = (Gum::arc_at(tx), Gum::distance_at(ty));
            let mut lab = [0.0_f32; 3];
            let free = 1.0 - smooth_step(0.5, 1.8, d);
            lab[0] += 2.0 * free;
            let rim = 1.0 - smooth_step(0.0, 0.35, d);
            lab[0] -= 3.5 * rim;
            lab[1] += 3.0 * rim;
            // Mucosa begins along a wavy line and shows its vessels.
            let line = 6.2 + 1.3 * noise.fbm(0.18 * s, 1.0);
            let mucosa = smooth_step(line - 1.2, line + 1.4, d);
            lab[0] -= 7.0 * mucosa;
            lab[1] += 6.0 * mucosa;
            let warp = 0.8 * noise.at(0.5 * s, 0.5 * d);
            let vessel =
                1.0 - smooth_step(0.0, 0.10, noise.at(0.8 * s + warp, 0.35 * d + warp).abs());
            let thin = mucosa * smooth_step(-0.1, 0.4, noise.at(0.3 * s + 5.0, 0.3 * d));
            lab[0] -= 4.0 * vessel * thin;
            lab[1] += 3.0 * vessel * thin;
            lab[0] += 3.2 * noise.fbm(0.35 * s, 0.35 * d) + 1.6 * noise.fbm(1.4 * s, 1.4 * d);
            lab[1] += 1.5 * noise.fbm(0.5 * s + 20.0, 0.5 * d);
            let attached = smooth_step(0.7, 1.6, d) * (1.0 - mucosa);
            lab[0] += 2.4 * attached * (cells.cell_distance(2.3 * s, 2.3 * d) - 0.45);
            lab
        })
        .collect();
    TintMap { width, height, offsets }
}

fn luminance([r, g, b]: [f32; 3]) -> f32 {
    0.2126 * r + 0.7152 * g + 0.0722 * b
}

fn grid(width: usize, height: usize, value: impl Fn(f32, f32) -> f32 + Sync) -> Vec<f32> {
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
fn normals_of(
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
