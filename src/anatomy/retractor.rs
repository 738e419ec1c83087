//! A pair of plain cheek retractors and the inside of the cheeks behind them.
//!
//! Each is a C of clear plastic with a rolled bead: it holds the corner of the mouth aside and
//! closes the picture with something neutral. The shape is a plain one made up for this program.

use super::noise::{Noise, bell, lerp, smooth_step};
use super::relief::{TintMap, grid, normals_of, roughness_bytes};
use super::skin::{Finish, tints};
use super::surface::{RowOrder, Surface};

/// How far the bead's inner edge stands from the midline at its widest, mm, and at what height.
const WIDEST_MM: f32 = 24.4;
const WIDEST_Y_MM: f32 = 2.6;
/// How far it has come inward one reach above and below.
const INWARD_MM: f32 = 7.5;
const REACH_MM: f32 = 20.0;
const ROWS: usize = 72;
/// Where the bead lies, mm: well in front of the premolars.
const DEPTH_MM: f32 = -6.5;
/// The section from behind the inner edge over the bead to the flange: outward and forward, mm.
const SECTION: [[f32; 2]; 18] = [
    [0.75, -1.60],
    [0.35, -1.15],
    [0.08, -0.60],
    [0.00, 0.00],
    [0.10, 0.48],
    [0.38, 0.86],
    [0.80, 1.05],
    [1.25, 0.98],
    [1.65, 0.70],
    [1.98, 0.36],
    [2.40, 0.16],
    [3.40, 0.08],
    [3.85, 0.30],
    [4.30, 0.38],
    [4.75, 0.26],
    [5.60, -0.02],
    [9.00, -0.60],
    [16.0, -2.40],
];
const CHEEK_COLUMNS: usize = 34;
const CHEEK_DEPTH_MM: f32 = 30.0;
const CHEEK_MAP: [usize; 2] = [192, 224];
const PLASTIC_MAP: [usize; 2] = [128, 256];

fn height(v: f32) -> f32 {
    WIDEST_Y_MM + REACH_MM * (2.0 * v - 1.0)
}

/// Inner edge at a height, mm from the midline.
fn edge(y: f32) -> f32 {
    let t = ((y - WIDEST_Y_MM) / REACH_MM).abs();
    WIDEST_MM - INWARD_MM * t.powf(2.3)
}

/// A grid whose columns run outward from the midline at `at(column share, v)`, for one side.
fn sided(side: f32, columns: usize, at: impl Fn(usize, f32) -> ([f32; 3], f32)) -> Surface {
    let mut positions = Vec::with_capacity(columns * ROWS);
    let mut uvs = Vec::with_capacity(columns * ROWS);
    for j in 0..ROWS {
        let v = j as f32 / (ROWS - 1) as f32;
        for i in 0..columns {
            // Columns run to the viewer's right on either side.
            let outward = if side > 0.0 { i } else { columns - 1 - i };
            let ([x, y, z], u) = at(outward, v);
            positions.push([side * x, y, z]);
            uvs.push([if side > 0.0 { u } else { 1.0 - u }, v]);
        }
    }
    Surface::from_grid(columns, ROWS, positions, uvs, RowOrder::Upward)
}

/// One retractor; `side` is 1 on the viewer's right, -1 on the left.
pub(super) fn shape(side: f32) -> Surface {
    sided(side, SECTION.len(), |column, v| {
        let y = height(v);
        let [out, forward] = SECTION[column];
        let u = column as f32 / (SECTION.len() - 1) as f32;
        ([edge(y) + out, y, DEPTH_MM + forward], u)
    })
}

/// The inside of a cheek, from behind the bead back to the last molars.
pub(super) fn cheek(seed: u64, side: f32) -> Surface {
    let noise = Noise::new(seed, if side > 0.0 { 90 } else { 91 });
    sided(side, CHEEK_COLUMNS, |column, v| {
        // Column 0 is deepest.
        let u = column as f32 / (CHEEK_COLUMNS - 1) as f32;
        let back = 1.0 - u;
        let y = height(v);
        let bulge = 2.6 * (std::f32::consts::PI * (0.15 + 0.75 * back)).sin() - 1.2;
        let inward = 7.5 * smooth_step(0.35, 1.0, back);
        let folds = 0.5 * noise.fbm(0.16 * y, 2.2 * back);
        let x = edge(y) + 1.1 + bulge - inward + folds;
        ([x, y, DEPTH_MM - 0.9 - CHEEK_DEPTH_MM * back], u)
    })
}

/// Relief, gloss and tint of a cheek's inside.
pub(super) fn cheek_finish(seed: u64, side: f32) -> Finish {
    let [width, height_texels] = CHEEK_MAP;
    let noise = Noise::new(seed, if side > 0.0 { 92 } else { 93 });
    let place = |tx: f32, ty: f32| (CHEEK_DEPTH_MM * tx, height(ty));
    let heights = grid(width, height_texels, |tx, ty| {
        let (q, y) = place(tx, ty);
        0.10 * noise.fbm(0.35 * q, 0.35 * y) + 0.012 * noise.fbm(1.8 * q, 1.8 * y)
    });
    let normals = normals_of(
        &heights,
        width,
        |_| CHEEK_DEPTH_MM / width as f32,
        |_| 2.0 * REACH_MM / height_texels as f32,
    );
    let gloss = roughness_bytes(48, 64, |tx, ty| {
        let (q, y) = place(tx, ty);
        0.46 - 0.10 * smooth_step(-0.1, 0.5, noise.fbm(0.25 * q + 40.0, 0.25 * y))
    });
    let offsets = tints(width, height_texels, |tx, ty| {
        let (q, y) = place(tx, ty);
        let vessel = bell(noise.at(0.5 * q + 9.0, 0.35 * y), 0.05);
        [
            -8.0 + 2.0 * noise.fbm(0.2 * q, 0.2 * y) - 2.0 * vessel,
            2.0 + 1.5 * noise.fbm(0.3 * q + 20.0, 0.3 * y) + 2.0 * vessel,
            -1.0,
            0.0,
        ]
    });
    Finish { normals, gloss, tint: TintMap { width, height: height_texels, offsets } }
}

/// Relief, gloss and tint of a retractor.
pub(super) fn finish(seed: u64, side: f32) -> Finish {
    let [width, height_texels] = PLASTIC_MAP;
    let noise = Noise::new(seed, if side > 0.0 { 94 } else { 95 });
    let heights = grid(width, height_texels, |tx, ty| 0.010 * noise.fbm(3.0 * tx, 14.0 * ty));
    let normals = normals_of(&heights, width, |_| 0.12, |_| 0.16);
    let gloss = roughness_bytes(64, 64, |tx, ty| 0.15 + 0.04 * noise.fbm(4.0 * tx, 9.0 * ty));
    let offsets = tints(width, height_texels, |tx, ty| {
        let outward = if side > 0.0 { tx } else { 1.0 - tx };
        // Bead and rib are thick and pale; lip and cheek shine through the thin flange, which hugs
        // them more tightly in some places.
        let rib = 0.7 * bell(outward - 0.74, 0.03);
        let bead = (1.0 - smooth_step(0.46, 0.59, outward)).max(rib);
        let hug = 0.5 + 0.5 * noise.fbm(1.6 * tx, 4.0 * ty);
        let light = 1.5 * noise.fbm(1.5 * tx + 9.0, 5.0 * ty);
        let far = smooth_step(0.60, 1.0, outward);
        // Creases of the stretched lip.
        let crease = bell(noise.at(2.5 * tx + 30.0, 22.0 * ty), 0.16);
        let shade = lerp(-6.0 - 9.0 * far - 5.0 * hug - 2.5 * crease, 2.0, bead);
        let red = lerp(2.0 * crease, 0.0, bead);
        [shade + light, red, 0.0, lerp(0.66 + 0.24 * hug, 0.10, bead).clamp(0.0, 1.0)]
    });
    Finish { normals, gloss, tint: TintMap { width, height: height_texels, offsets } }
}
