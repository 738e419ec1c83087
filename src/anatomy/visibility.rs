//! How much of the studio's light reaches each vertex, with one coloured bounce.
//!
//! Rays are marched through the depth buffer of the front view: everything the viewer can see is
//! in it, and a long lens makes the rest irrelevant. All vertices use the same directions, so the
//! result is smooth without sampling noise, and the same on any number of threads.

use super::light::{StudioLight, sphere};
use super::noise::{lerp, smooth_step};
use super::raster::{Coverage, Covered};
use super::surface::Surface;
use super::view::{Projection, View};
use crate::scene::Framing;
use rayon::prelude::*;

/// Directions over the whole sphere.
const DIRECTIONS: usize = 220;
/// March: first step, growth, count (reaches about 17 mm).
const FIRST_STEP_MM: f32 = 0.22;
const STEP_GROWTH: f32 = 1.34;
const STEPS: usize = 16;
/// Every second vertex is baked, the rest interpolated.
const STRIDE: usize = 2;
/// Reflectances a bounce takes its colour from: a mean tooth and a mean gum, whatever the case's
/// colours, so that restored and twin are lit alike.
const TOOTH_BOUNCE: [f32; 3] = [0.62, 0.54, 0.42];
const GUM_BOUNCE: [f32; 3] = [0.42, 0.16, 0.14];
const LIP_BOUNCE: [f32; 3] = [0.36, 0.17, 0.14];
const RETRACTOR_TRANSMITTANCE: f32 = 0.80;
const CAVITY_BOUNCE: [f32; 3] = [0.08, 0.02, 0.02];
/// Share of a bounce that returns.
const BOUNCE: f32 = 0.62;

struct Room {
    coverage: Coverage,
    projection: Projection,
    rays: Vec<Ray>,
}

struct Ray {
    direction: [f32; 3],
    radiance: [f32; 3],
}

/// Fills in the visibility of every surface.
pub(super) fn bake(
    surfaces: &mut [(&mut Surface, Covered)],
    framing: Framing,
    light: &StudioLight,
) {
    let mut view = View::of(framing, 880, 500);
    view.vertical_field *= 1.12;
    let seen = surfaces.iter().map(|(surface, covered)| (&**surface, *covered));
    let coverage = Coverage::of_surfaces(seen, &view);
    let rays = sphere(DIRECTIONS)
        .filter(|direction| direction[2] > -0.40)
        .map(|direction| Ray { direction, radiance: light.radiance(direction, 0.12) })
        .collect();
    let room = Room { coverage, projection: view.projection(), rays };
    for (surface, covered) in surfaces.iter_mut() {
        // On teeth the blur stands for the light that spreads inside them.
        let blur_passes = match covered {
            Covered::Crown(_) | Covered::LowerCrown => [4; 3],
            // In soft tissue red light goes furthest, so shadows have red borders.
            Covered::Skin | Covered::Gum => [14, 4, 2],
            _ => [2; 3],
        };
        surface.visibility = baked(surface, &room, blur_passes);
    }
}

fn baked(surface: &Surface, room: &Room, blur_passes: [usize; 3]) -> Vec<[f32; 3]> {
    let columns = surface.columns.div_ceil(STRIDE) + 1;
    let rows = surface.rows.div_ceil(STRIDE) + 1;
    let mut coarse: Vec<[f32; 3]> = (0..columns * rows)
        .into_par_iter()
        .map(|k| {
            let i = (k % columns * STRIDE).min(surface.columns - 1);
            let j = (k / columns * STRIDE).min(surface.rows - 1);
            let index = j * surface.columns + i;
            room.visibility(surface.positions[index], surface.normals[index])
        })
        .collect();
    for pass in 0..blur_passes.into_iter().max().unwrap_or(0) {
        coarse = blurred(&coarse, columns, blur_passes.map(|passes| pass < passes));
    }
    (0..surface.positions.len())
        .map(|k| {
            let (x, y) = (k % surface.columns, k / surface.columns);
            let (i, j) = (x / STRIDE, y / STRIDE);
            let t = |at: usize| (at % STRIDE) as f32 / STRIDE as f32;
            std::array::from_fn(|channel| {
                let value = |i: usize, j: usize| coarse[j * columns + i][channel];
                let row = |j: usize| lerp(value(i, j), value(i + 1, j), t(x));
                lerp(row(j), row(j + 1), t(y))
            })
        })
        .collect()
}

fn blurred(values: &[[f32; 3]], columns: usize, channels: [bool; 3]) -> Vec<[f32; 3]> {
    let rows = values.len() / columns;
    (0..values.len())
        .map(|k| {
            let (i, j) = (k % columns, k / columns);
            let pick = |i: usize, j: usize| values[j * columns + i];
            let around = [
                pick(i.saturating_sub(1), j),
                pick((i + 1).min(columns - 1), j),
                pick(i, j.saturating_sub(1)),
                pick(i, (j + 1).min(rows - 1)),
            ];
            std::array::from_fn(|channel| {
                if !channels[channel] {
                    return values[k][channel];
                }
                let sum: f32 = around.iter().map(|value| value[channel]).sum();
                0.5 * values[k][channel] + 0.125 * sum
            })
        })
        .collect()
}

impl Room {
    fn visibility(&self, position: [f32; 3], normal: [f32; 3]) -> [f32; 3] {
        let mut reached = [0.0_f32; 3];
        let mut open = [0.0_f32; 3];
        let start: [f32; 3] = std::array::from_fn(|axis| position[axis] + 0.06 * normal[axis]);
        for ray in &self.rays {
            let cosine: f32 = (0..3).map(|axis| normal[axis] * ray.direction[axis]).sum();
            if cosine <= 0.02 {
                continue;
            }
            let hit = self.march(start, ray.direction);
            for channel in 0..3 {
                let light = cosine * ray.radiance[channel];
                open[channel] += light;
                reached[channel] += match hit {
                    None => light,
                    // Clear plastic takes little away.
                    Some((Covered::Retractor, _)) => RETRACTOR_TRANSMITTANCE * light,
                    Some((covered, distance)) => {
                        let albedo = match covered {
                            Covered::Gum => GUM_BOUNCE[channel],
                            Covered::Crown(_) | Covered::LowerCrown => TOOTH_BOUNCE[channel],
                            Covered::Skin => LIP_BOUNCE[channel],
                            Covered::Cavity => CAVITY_BOUNCE[channel],
                            Covered::Nothing | Covered::Retractor => 0.0,
                        };
                        let near = smooth_step(0.0, 1.2, distance);
                        let far = 1.0 - smooth_step(3.0, 16.0, distance);
                        // The hit surface is lit by the room, not by this direction's radiance.
                        cosine * albedo * BOUNCE * near * far
                    }
                };
            }
        }
        std::array::from_fn(|channel| {
            if open[channel] > 0.0 { (reached[channel] / open[channel]).min(1.0) } else { 0.0 }
        })
    }

    /// The first surface along a ray and its distance, mm.
    fn march(&self, start: [f32; 3], direction: [f32; 3]) -> Option<(Covered, f32)> {
        let (width, height) = (self.coverage.width as f32, self.coverage.height as f32);
        let mut distance = FIRST_STEP_MM;
        let mut step = FIRST_STEP_MM;
        for _ in 0..STEPS {
            let point = std::array::from_fn(|axis| start[axis] + distance * direction[axis]);
            let [x, y, depth] = self.projection.apply(point);
            if x < 0.0 || y < 0.0 || x >= width || y >= height {
                return None;
            }
            let index = y as usize * self.coverage.width + x as usize;
            let behind = depth - self.coverage.depth_mm[index];
            if behind > 0.02 {
                return Some((self.coverage.covered[index], distance));
            }
            step *= STEP_GROWTH;
            distance += step * 0.6;
        }
        None
    }
}
