//! How plainly the margin line of an onlay shows.
//!
//! Light spreads sideways by about half a millimetre in enamel and ceramic, so a step in material is
//! a ramp in colour. What an eye takes for a line is the change over that ramp: from a strip below
//! the line to a strip above it.

use crate::bake::ZoneDifference;
use crate::bake::face::Grid;
use crate::bake::map::{MarginContrast, ReflectanceMap};
use crate::colorimetry::{Lab, ciede2000};
use crate::scene::Tooth;

/// Near and far edge of the strips on either side of the line, mm. Design choice: about where the
/// ramp of light that spreads sideways has ended, and near enough that a tooth by itself hardly
/// changes in between.
const STRIP_MM: [f64; 2] = [0.3, 0.9];
/// Places along the line at which it is looked at for the worst.
const PLACES: usize = 8;
/// Share of the face's width left out at each flank, where a look from the front grazes it.
const FLANK: f64 = 0.1;
/// Columns and rows on which the line is estimated without baking.
pub(super) const GRID: (usize, usize) = (5, 65);

/// Contrast from the colour at fractions across (viewer's left to right) and up from the gum.
fn contrast(
    tooth: Tooth,
    margin_height: f64,
    samples: (usize, usize),
    colour: impl Fn(f64, f64) -> [f64; 3],
) -> MarginContrast {
    let length_mm = tooth.kind().crown_dimensions().length_mm;
    let (across, along) = samples;
    // Mean of a strip's part; `side` is +1 above the line and -1 below.
    let strip = |from: f64, to: f64, side: f64| {
        let mut sum = [0.0; 3];
        for i in 0..across {
            let x = from + (to - from) * (i as f64 + 0.5) / across as f64;
            for j in 0..along {
                let t = (j as f64 + 0.5) / along as f64;
                let mm = STRIP_MM[0] + (STRIP_MM[1] - STRIP_MM[0]) * t;
                let up = (margin_height + side * mm / length_mm).clamp(0.0, 1.0);
                let value = colour(x, up);
                sum.iter_mut().zip(value).for_each(|(sum, value)| *sum += value);
            }
        }
        sum.map(|sum| sum / (across * along) as f64)
    };
    let width = (1.0 - 2.0 * FLANK) / PLACES as f64;
    let places: Vec<([f64; 3], [f64; 3], f64)> = (0..PLACES)
        .map(|place| {
            let from = FLANK + width * place as f64;
            let to = from + width;
            (strip(from, to, -1.0), strip(from, to, 1.0), 0.5 * (from + to))
        })
        .collect();
    let mean = |of: fn(&([f64; 3], [f64; 3], f64)) -> [f64; 3]| {
        let sum = places.iter().map(of).fold([0.0; 3], |mut sum, value| {
            sum.iter_mut().zip(value).for_each(|(sum, value)| *sum += value);
            sum
        });
        Lab::from_linear_srgb(sum.map(|sum| sum / PLACES as f64))
    };
    let whole = ciede2000(mean(|p| p.0), mean(|p| p.1));
    let (worst_de00, across) = places
        .iter()
        .map(|(below, above, across)| {
            let (below, above) = (Lab::from_linear_srgb(*below), Lab::from_linear_srgb(*above));
            (ciede2000(below, above).de00, *across)
        })
        .max_by(|a, b| a.0.total_cmp(&b.0))
        .unwrap_or_default();
    let from_left = 2.0 * across - 1.0;
    MarginContrast {
        mean: ZoneDifference {
            de00: whole.de00,
            dl00: whole.dl00,
            dc00: whole.dc00,
            dh00: whole.dh00,
        },
        worst_de00,
        worst_at: if tooth.is_patients_right() { from_left } else { -from_left },
    }
}

/// Contrast along a line of a finished map.
pub(super) fn of_map(map: &ReflectanceMap, tooth: Tooth, margin_height: f64) -> MarginContrast {
    let texel = |share: f64, n: usize| ((share * n as f64) as usize).min(n.saturating_sub(1));
    contrast(tooth, margin_height, (24, 24), |x, up| {
        map.texel(texel(x, map.width), texel(up, map.height)).map(f64::from)
    })
}

/// Contrast along a line of a grid without surface detail.
pub(super) fn of_grid(grid: &Grid, tooth: Tooth, margin_height: f64) -> MarginContrast {
    contrast(tooth, margin_height, (3, 12), |x, up| grid.at(x, up))
}
