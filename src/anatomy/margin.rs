//! The gum line: a scalloped curve in arc space (arc length, height).

use super::arch::{ArchCurve, outward_sign};
use super::crown::Crown;
use super::noise::{Noise, lerp};

/// Spacing of the curve's points, mm.
const STEP_MM: f32 = 0.066;
/// How far from a point its nearest margin point is searched, mm of arc length.
const SEARCH_MM: f32 = 6.0;
/// Smoothing passes over the curve, which round the papilla tips.
const SMOOTHING_PASSES: usize = 14;

/// Height of the gum margin over arc length.
#[derive(Debug, Clone)]
pub(super) struct MarginCurve {
    start_mm: f32,
    heights: Vec<f32>,
}

/// The margin over one crown.
struct Scallop {
    zenith: [f32; 2],
    /// Left and right end: arc length and height of the papilla tip.
    ends: [[f32; 2]; 2],
}

impl MarginCurve {
    /// The margin of crowns in the viewer's order, left to right, over ±`reach_mm`.
    pub(super) fn over(crowns: &[Crown], curve: &ArchCurve, reach_mm: f32, seed: u64) -> Self {
        let scallops = scallops(crowns, curve);
        let noise = Noise::new(seed, 40);
        let count = (2.0 * reach_mm / STEP_MM) as usize + 1;
        let mut heights: Vec<f32> = (0..count)
            .map(|k| {
                let s = -reach_mm + k as f32 * STEP_MM;
                scallop_height(&scallops, s) + 0.10 * noise.fbm(0.35 * s, 0.5)
            })
            .collect();
        for _ in 0..SMOOTHING_PASSES {
            let before = heights.clone();
            for k in 1..count - 1 {
                heights[k] = 0.25 * (before[k - 1] + 2.0 * before[k] + before[k + 1]);
            }
        }
        Self { start_mm: -reach_mm, heights }
    }

    /// Height of the margin at arc length `s`, mm.
    pub(super) fn height(&self, s: f32) -> f32 {
        let last = self.heights.len() - 1;
        let position = ((s - self.start_mm) / STEP_MM).clamp(0.0, last as f32 - 0.001);
        let index = position as usize;
        lerp(self.heights[index], self.heights[index + 1], position - index as f32)
    }

    /// Distance from (s, y) to the margin, mm; negative below it, on the crown's side.
    ///
    /// The true distance, not the height above the curve: on the steep flanks of a papilla the
    /// two differ severalfold.
    pub(super) fn signed_distance(&self, s: f32, y: f32) -> f32 {
        let center = ((s - self.start_mm) / STEP_MM) as isize;
        let span = (SEARCH_MM / STEP_MM) as isize;
        let last = self.heights.len() as isize - 1;
        let mut nearest = (y - self.height(s)).powi(2);
        let visit = |k: isize, nearest: f32| -> f32 {
            let ds = self.start_mm + k as f32 * STEP_MM - s;
            let dy = self.heights[k as usize] - y;
            // Distance to the segment, not only to its end.
            let rise = self.heights[k as usize + 1] - self.heights[k as usize];
            let along = -(ds * STEP_MM + dy * rise) / (STEP_MM * STEP_MM + rise * rise);
            let along = along.clamp(0.0, 1.0);
            let (cs, cy) = (ds + along * STEP_MM, dy + along * rise);
            nearest.min(cs * cs + cy * cy)
        };
        // Outward from the point's own place, until the curve is further away sideways alone.
        for step in 0..span {
            if (((step - 1).max(0) as f32) * STEP_MM).powi(2) > nearest {
                break;
            }
            for k in [center - step - 1, center + step] {
                if (0..last).contains(&k) {
                    nearest = visit(k, nearest);
                }
            }
        }
        nearest.sqrt().copysign(y - self.height(s))
    }
}

fn scallops(crowns: &[Crown], curve: &ArchCurve) -> Vec<Scallop> {
    let zenith = |crown: &Crown| {
        let individual = &crown.individual;
        let outward = outward_sign(individual.tooth);
        let [s, _] = curve.project(crown.neck[0], crown.neck[2]);
        let shift = outward * individual.shape.zenith * individual.width_mm;
        [
            s + shift,
            individual.shape.edge_height_mm + individual.length_mm - individual.shape.gum_cover_mm,
        ]
    };
    // What each crown would like at its left and right end; neighbours then share a tip.
    let wishes: Vec<[[f32; 2]; 2]> = crowns
        .iter()
        .map(|crown| {
            let shape = &crown.individual.shape;
            let top = zenith(crown)[1];
            let mesial = [crown.placement.mesial_contact_arc_mm, top - shape.papilla_mm];
            let distal = [crown.placement.distal_contact_arc_mm, top - 0.9 * shape.papilla_mm];
            if outward_sign(crown.individual.tooth) > 0.0 {
                [mesial, distal]
            } else {
                [distal, mesial]
            }
        })
        .collect();
    let share = |a: [f32; 2], b: [f32; 2]| [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
    (0..crowns.len())
        .map(|k| {
            let left = if k > 0 { share(wishes[k - 1][1], wishes[k][0]) } else { wishes[k][0] };
            let right = match wishes.get(k + 1) {
                Some(next) => share(wishes[k][1], next[0]),
                None => wishes[k][1],
            };
            Scallop { zenith: zenith(&crowns[k]), ends: [left, right] }
        })
        .collect()
}

fn scallop_height(scallops: &[Scallop], s: f32) -> f32 {
    let inside = scallops.iter().find(|scallop| s <= scallop.ends[1][0]);
    let Some(scallop) = inside.or(scallops.last()) else { return 0.0 };
    let [zenith_s, zenith_y] = scallop.zenith;
    let end = scallop.ends[usize::from(s > zenith_s)];
    let x = ((s - zenith_s) / (end[0] - zenith_s)).clamp(0.0, 1.0);
    zenith_y - (zenith_y - end[1]) * (0.72 * x.powf(2.3) + 0.28 * x.powi(5))
}
