//! The gum: a skin laid over the crowns' necks, with a rolled free margin and papillae.

use super::arch::ArchCurve;
use super::crown::Crown;
use super::kind::Jaw;
use super::margin::MarginCurve;
use super::noise::{Noise, lerp, smooth_step};
use super::surface::{RowOrder, Surface};
use rayon::prelude::*;

/// Rows; columns follow from the reach.
const ROWS: usize = 56;
const COLUMN_MM: f32 = 0.105;
const LOWER_COLUMN_MM: f32 = 0.19;
/// First row: distance above the margin.
const FIRST_ROW_MM: f32 = -0.9;
/// Least thickness of gum over a root.
const ROOT_COVER_MM: f32 = 0.15;
/// Over how much arc length the crest of a papilla is rounded.
const CREST_MM: f32 = 0.34;
/// Heights that the texture covers.
const TEXTURE_BOTTOM_MM: f32 = 1.0;
const TEXTURE_SPAN_MM: f32 = 24.0;
/// Spacing of the kept distances from the margin.
const DISTANCE_STEP_MM: f32 = 0.2;

/// The gum of one jaw, made as an upper one.
#[derive(Debug, Clone)]
pub struct Gum {
    /// Its surface. The first texture coordinate runs over arc length, the second over height.
    pub surface: Surface,
    /// Upper or lower.
    pub jaw: Jaw,
    reach_mm: f32,
    /// Distance from the margin over (arc length, height).
    distances: Vec<f32>,
}

impl Gum {
    /// Arc length at the first texture coordinate `u`, mm.
    #[must_use]
    pub fn arc_at(&self, u: f32) -> f32 {
        (2.0 * u - 1.0) * self.reach_mm
    }

    /// Height at the second texture coordinate `v`, mm, before the jaw is turned over or posed.
    #[must_use]
    pub fn height_at(v: f32) -> f32 {
        TEXTURE_BOTTOM_MM + TEXTURE_SPAN_MM * v
    }

    /// Distance from the margin at arc length `s` and height `y`, mm; negative on the crown.
    pub(super) fn distance(&self, s: f32, y: f32) -> f32 {
        let [columns, rows] = distance_grid(self.reach_mm);
        let px = ((s + self.reach_mm) / DISTANCE_STEP_MM).clamp(0.0, columns as f32 - 1.001);
        let py = ((y - TEXTURE_BOTTOM_MM) / DISTANCE_STEP_MM).clamp(0.0, rows as f32 - 1.001);
        let (i, j) = (px as usize, py as usize);
        let (tx, ty) = (px - i as f32, py - j as f32);
        let at = |i: usize, j: usize| self.distances[j * columns + i];
        lerp(lerp(at(i, j), at(i + 1, j), tx), lerp(at(i, j + 1), at(i + 1, j + 1), tx), ty)
    }

    /// The gum over crowns in the viewer's order, left to right, over ±`reach_mm` of arc length.
    #[must_use]
    pub fn over(crowns: &[Crown], curve: &ArchCurve, jaw: Jaw, reach_mm: f32, seed: u64) -> Self {
        let raw = OffsetMap::of_crowns(crowns, curve, reach_mm + 5.0);
        let dilated = raw.dilated();
        let (tight, (near, far)) = rayon::join(
            || raw.blurred(0.40, 0.45),
            || rayon::join(|| dilated.blurred(0.70, 0.55), || dilated.blurred(1.3, 1.6)),
        );
        let margin = MarginCurve::over(crowns, curve, reach_mm + 1.0, seed);
        let noise = Noise::new(seed, if jaw == Jaw::Upper { 41 } else { 51 });
        let column_mm = if jaw == Jaw::Upper { COLUMN_MM } else { LOWER_COLUMN_MM };
        let columns = (2.0 * reach_mm / column_mm) as usize;
        // Only a frame that stops short of the last crown needs its corner filled.
        let fill = 1.0 - smooth_step(44.0, 50.0, reach_mm);
        let arc_at = |u: f32| (2.0 * u - 1.0) * reach_mm;
        let rows: Vec<Vec<([f32; 3], [f32; 2])>> = (0..ROWS)
            .into_par_iter()
            .map(|j| {
                let t = j as f32 / (ROWS - 1) as f32;
                let above = FIRST_ROW_MM + 3.6 * t + 14.0 * t.powi(3);
                let arc = |i: usize| arc_at(i as f32 / (columns - 1) as f32);
                let (mut offsets, from_margin): (Vec<f32>, Vec<f32>) = (0..columns)
                    .map(|i| {
                        let s = arc(i);
                        let y = margin.height(s) + above;
                        let d = margin.signed_distance(s, y);
                        let fields = [tight.at(s, y), near.at(s, y), far.at(s, y)];
                        let offset = skin_offset(fields, s, y, d, fill, noise);
                        // A turned tooth's root may bulge beyond the smoothed fields.
                        let bone = raw.at(s, y) + ROOT_COVER_MM;
                        (if d > 0.5 { offset.max(bone) } else { offset }, d)
                    })
                    .unzip();
                // The distance has a crest along a papilla's middle; skin has not.
                for _ in 0..(CREST_MM / column_mm).powi(2) as usize {
                    let before = offsets.clone();
                    for i in 1..columns - 1 {
                        let mean = 0.25 * (before[i - 1] + 2.0 * before[i] + before[i + 1]);
                        let share = smooth_step(0.08, 0.40, from_margin[i]);
                        offsets[i] = lerp(before[i], mean, share);
                    }
                }
                offsets
                    .into_iter()
                    .enumerate()
                    .map(|(i, offset)| {
                        let u = i as f32 / (columns - 1) as f32;
                        let s = arc(i);
                        let y = margin.height(s) + above;
                        let [x, z] = curve.point(s);
                        let (sin, cos) = curve.normal_angle(s).sin_cos();
                        let v = (y - TEXTURE_BOTTOM_MM) / TEXTURE_SPAN_MM;
                        ([x + offset * sin, y, z + offset * cos], [u, v])
                    })
                    .collect()
            })
            .collect();
        let (positions, uvs) = rows.into_iter().flatten().unzip();
        let surface = Surface::from_grid(columns, ROWS, positions, uvs, RowOrder::Upward);
        let [columns, rows] = distance_grid(reach_mm);
        let distances = (0..columns * rows)
            .into_par_iter()
            .map(|k| {
                let s = -reach_mm + (k % columns) as f32 * DISTANCE_STEP_MM;
                let y = TEXTURE_BOTTOM_MM + (k / columns) as f32 * DISTANCE_STEP_MM;
                margin.signed_distance(s, y)
            })
            .collect();
        Self { surface, jaw, reach_mm, distances }
    }
}

fn distance_grid(reach_mm: f32) -> [usize; 2] {
    [2.0 * reach_mm, TEXTURE_SPAN_MM].map(|span| (span / DISTANCE_STEP_MM) as usize + 2)
}

/// Offset of the gum from the arch curve at distance `d` from the margin.
fn skin_offset(
    [tight, near, far]: [f32; 3],
    s: f32,
    y: f32,
    d: f32,
    fill: f32,
    noise: Noise,
) -> f32 {
    // Near the margin the skin follows the crown's flank; a plain dilation would make a slab of
    // each papilla with a trench beside it.
    let hug = (near - tight).max(0.0).tanh() * (1.0 - smooth_step(-0.1, 1.5, d));
    let base = lerp(near - hug, far, smooth_step(1.2, 4.5, d));
    let margin = if d >= 0.0 {
        0.34 * (1.0 - (1.0 - (d / 0.9).min(1.0)).powi(2)).max(0.0).sqrt()
    } else {
        1.6 * d
    };
    // A shallow groove sets the free margin off from the attached gum.
    let free_groove = -0.03 * super::noise::bell(d - 1.5, 0.6);
    let swell = 0.35 * smooth_step(2.0, 7.0, d) - 0.9 * smooth_step(6.0, 15.0, d);
    let rear = 2.6 * fill * smooth_step(33.0, 43.0, s.abs());
    let uneven = 0.16 * smooth_step(0.0, 2.0, d) * noise.fbm(0.30 * s, 0.30 * y);
    base - 0.10 + margin + free_groove + swell + rear + uneven
}

/// Offset of the crowns from the arch curve over (arc length, height).
#[derive(Debug, Clone)]
struct OffsetMap {
    width: usize,
    height: usize,
    reach_mm: f32,
    values: Vec<f32>,
}

const CELL_MM: f32 = 0.1;
const MAP_BOTTOM_MM: f32 = 0.0;
const MAP_TOP_MM: f32 = 22.0;
/// Where there is no crown.
const EMPTY_MM: f32 = -2.3;

impl OffsetMap {
    fn of_crowns(crowns: &[Crown], curve: &ArchCurve, reach_mm: f32) -> Self {
        let width = (2.0 * reach_mm / CELL_MM) as usize + 1;
        let height = ((MAP_TOP_MM - MAP_BOTTOM_MM) / CELL_MM) as usize + 1;
        let mut map = Self { width, height, reach_mm, values: vec![EMPTY_MM; width * height] };
        let projected: Vec<Vec<[f32; 3]>> = crowns
            .par_iter()
            .map(|crown| {
                let positions = &crown.surface.positions;
                positions
                    .iter()
                    .map(|&[x, y, z]| {
                        let [s, offset] = curve.project(x, z);
                        [(s + reach_mm) / CELL_MM, (y - MAP_BOTTOM_MM) / CELL_MM, offset]
                    })
                    .collect()
            })
            .collect();
        for (crown, points) in crowns.iter().zip(&projected) {
            for corner in crown.surface.indices.chunks_exact(3) {
                map.keep_largest([0, 1, 2].map(|k| points[corner[k] as usize]));
            }
        }
        map
    }

    fn keep_largest(&mut self, [a, b, c]: [[f32; 3]; 3]) {
        let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        if area.abs() < 1e-9 {
            return;
        }
        let range = |axis: usize, limit: usize| {
            let low = a[axis].min(b[axis]).min(c[axis]).ceil().max(0.0);
            let high = a[axis].max(b[axis]).max(c[axis]).floor().min(limit as f32 - 1.0);
            (low as i32)..=(high as i32)
        };
        for y in range(1, self.height) {
            for x in range(0, self.width) {
                let (px, py) = (x as f32, y as f32);
                let wb = ((px - a[0]) * (c[1] - a[1]) - (py - a[1]) * (c[0] - a[0])) / area;
                let wc = ((b[0] - a[0]) * (py - a[1]) - (b[1] - a[1]) * (px - a[0])) / area;
                let wa = 1.0 - wb - wc;
                if wa >= 0.0 && wb >= 0.0 && wc >= 0.0 {
                    let offset = wa * a[2] + wb * b[2] + wc * c[2];
                    let cell = &mut self.values[y as usize * self.width + x as usize];
                    *cell = cell.max(offset);
                }
            }
        }
    }

    /// The largest neighbour within ±0.7 mm of arc length, less 0.35 mm at the rim.
    fn dilated(&self) -> Self {
        let reach = (0.7 / CELL_MM) as isize;
        let mut values = self.values.clone();
        values.par_chunks_mut(self.width).enumerate().for_each(|(y, row)| {
            let source = &self.values[y * self.width..(y + 1) * self.width];
            for (x, value) in row.iter_mut().enumerate() {
                for step in -reach..=reach {
                    let at = (x as isize + step).clamp(0, self.width as isize - 1) as usize;
                    let rim = step as f32 / reach as f32;
                    *value = value.max(source[at] - 0.35 * rim * rim);
                }
            }
        });
        Self { values, ..*self }
    }

    fn blurred(&self, sigma_s_mm: f32, sigma_y_mm: f32) -> Self {
        let across = blur_rows(&self.values, self.width, sigma_s_mm / CELL_MM);
        let turned = transposed(&across, self.width);
        let along = blur_rows(&turned, self.height, sigma_y_mm / CELL_MM);
        Self { values: transposed(&along, self.height), ..*self }
    }

    fn at(&self, s: f32, y: f32) -> f32 {
        let px = ((s + self.reach_mm) / CELL_MM).clamp(0.0, self.width as f32 - 1.001);
        let py = ((y - MAP_BOTTOM_MM) / CELL_MM).clamp(0.0, self.height as f32 - 1.001);
        let (x, y) = (px as usize, py as usize);
        let (tx, ty) = (px - x as f32, py - y as f32);
        let row = |y: usize| {
            let start = y * self.width + x;
            lerp(self.values[start], self.values[start + 1], tx)
        };
        lerp(row(y), row(y + 1), ty)
    }
}

fn transposed(values: &[f32], width: usize) -> Vec<f32> {
    let height = values.len() / width;
    (0..values.len()).map(|k| values[(k % height) * width + k / height]).collect()
}

fn blur_rows(values: &[f32], width: usize, sigma: f32) -> Vec<f32> {
    let reach = (3.0 * sigma).ceil() as isize;
    let mut kernel: Vec<f32> =
        (-reach..=reach).map(|k| super::noise::bell(k as f32, sigma)).collect();
    let total: f32 = kernel.iter().sum();
    kernel.iter_mut().for_each(|weight| *weight /= total);
    let mut blurred = vec![0.0; values.len()];
    blurred.par_chunks_mut(width).zip(values.par_chunks(width)).for_each(|(out, row)| {
        for (x, value) in out.iter_mut().enumerate() {
            *value = kernel
                .iter()
                .enumerate()
                .map(|(k, weight)| {
                    let at = x as isize + k as isize - reach;
                    weight * row[at.clamp(0, width as isize - 1) as usize]
                })
                .sum();
        }
    });
    blurred
}
