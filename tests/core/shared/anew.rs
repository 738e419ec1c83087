//! Restored teeth worked anew from the material files, to hold the truths of exercises against.
//!
//! The restored face is worked here: layers from the geometry of the tooth, media designed from the
//! material files, light through them at all 81 bands, spread sideways and averaged by third (or
//! along the margin) by this file's own code, which shares neither the sampling, the grid nor the
//! maps of the bake. The surface detail, which both conditions share, is multiplied in as a mean.
//! What remains shared: the materials, the solution of one stack (held against the direct one in
//! `exercise/blend/truth.rs`), the geometry of the layers and, for the twin, the natural maps.

use super::levels::LIBRARY;
use rand::RngExt;
use rayon::prelude::*;
use second_glance::bake::section::{FacePoint, SectionShape};
use second_glance::bake::{BakedScene, Condition, ZONE_WEIGHTS, bake, surface_detail};
use second_glance::colorimetry::{Illuminant, Lab, Observer, ciede2000, display_linear};
use second_glance::optics::transport::{
    BandLayer, Base, CEMENT_JOINT, SALIVA_INDEX, over_backing, tabulated_reflectance,
};
use second_glance::optics::{Layer, Medium};
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::{Case, NaturalTooth, Preparation, Restoration, Tooth};
use second_glance::spectrum::Spectrum;

/// Columns and rows at which the restored face is worked here.
const GRID: (usize, usize) = (9, 37);
/// How far light spreads sideways, mm, as the bake states it.
const SPREAD_MM: f64 = 0.45;

/// Layers of a restored tooth at a point, from the front; the last closes the back.
pub fn layers(
    restoration: &Restoration,
    natural: &NaturalTooth,
    seed: u64,
    point: FacePoint,
) -> [(Medium, f64); 4] {
    let key = StreamKey {
        form: "lobes",
        seed,
        purpose: Purpose::Scene,
        block: 0,
        trial: u32::from(natural.tooth.number()),
    };
    let shape = SectionShape {
        kind: natural.tooth.kind(),
        enamel_factor: natural.enamel_factor,
        lobe_phase: key.stream().random_range(0.0..std::f64::consts::TAU),
    };
    let section = shape.restored(
        point,
        restoration.preparation,
        &restoration.thickness,
        restoration.cement_film_mm,
    );
    // An onlay's block begins at its margin.
    let height = match restoration.preparation {
        Preparation::Onlay { margin_height } => {
            (point.height - margin_height) / (1.0 - margin_height)
        }
        _ => point.height,
    };
    let ceramic = LIBRARY.ceramic_at(&restoration.ceramic, height).unwrap();
    let closing = match restoration.preparation {
        Preparation::Veneer | Preparation::Onlay { .. } => *LIBRARY.enamel(),
        Preparation::Crown => ceramic,
    };
    [
        (ceramic, section.ceramic_mm),
        (*LIBRARY.seated_cement(restoration).unwrap(), section.cement_mm),
        (*LIBRARY.prepared_tooth(&restoration.prepared_tooth).unwrap(), section.prepared_mm),
        (closing, section.back_mm),
    ]
}

pub fn by_tables(layers: &[(Medium, f64); 4]) -> Spectrum {
    let layer = |i: usize| Layer { medium: &layers[i].0, thickness_mm: layers[i].1 };
    let base = Base::Mouth(layer(3), LIBRARY.mouth_reflectance());
    tabulated_reflectance(LIBRARY.tables(), &[layer(0), layer(1), layer(2)], base, CEMENT_JOINT)
}

/// The direct solution at every fourth band, joined by straight lines.
pub fn directly(layers: &[(Medium, f64); 4]) -> Spectrum {
    let at = |band: usize| {
        let mut all: Vec<BandLayer> = layers
            .iter()
            .map(|(medium, mm)| BandLayer {
                absorption: medium.absorption[band] * mm,
                scattering: medium.reduced_scattering[band] / (1.0 - medium.anisotropy) * mm,
                anisotropy: medium.anisotropy,
                refractive_index: medium.refractive_index,
            })
            .collect();
        all.push(BandLayer {
            absorption: 0.0,
            scattering: 0.0,
            anisotropy: 0.0,
            refractive_index: SALIVA_INDEX,
        });
        let seen = over_backing(&all, LIBRARY.mouth_reflectance(), 12);
        seen.normal - seen.specular
    };
    let nodes: Vec<f64> = (0..=20).into_par_iter().map(|i| at(4 * i)).collect();
    Spectrum::from_bands(std::array::from_fn(|band| {
        let (i, t) = (band / 4, (band % 4) as f64 / 4.0);
        nodes[i] + t * (nodes[(i + 1).min(20)] - nodes[i])
    }))
}

/// Spreads a row of values `step_mm` apart, the ends held.
fn spread(values: &[[f64; 3]], step_mm: f64) -> Vec<[f64; 3]> {
    let n = values.len() as i32;
    let reach = (4.0 * SPREAD_MM / step_mm).ceil() as i32;
    (0..n)
        .map(|i| {
            let (mut sum, mut weights) = ([0.0; 3], 0.0);
            for offset in -reach..=reach {
                let weight = (-0.5 * (f64::from(offset) * step_mm / SPREAD_MM).powi(2)).exp();
                let value = values[(i + offset).clamp(0, n - 1) as usize];
                (0..3).for_each(|c| sum[c] += weight * value[c]);
                weights += weight;
            }
            sum.map(|s| s / weights)
        })
        .collect()
}

/// Mean of the surface detail over each third.
fn detail_of_thirds(seed: u64, tooth: Tooth) -> [[f64; 3]; 3] {
    let (width, height) = (96, 192);
    let detail = surface_detail(seed, tooth, width, height);
    std::array::from_fn(|third| {
        let texels = &detail[third * detail.len() / 3..(third + 1) * detail.len() / 3];
        std::array::from_fn(|c| {
            texels.iter().map(|texel| texel[c]).sum::<f64>() / texels.len() as f64
        })
    })
}

/// Colours of the restored thirds, worked anew.
pub fn restored_thirds(
    restoration: &Restoration,
    natural: &NaturalTooth,
    seed: u64,
    light: Illuminant,
) -> [Lab; 3] {
    let (columns, rows) = GRID;
    let mut face: Vec<Vec<[f64; 3]>> = (0..rows)
        .map(|row| {
            (0..columns)
                .map(|column| {
                    let height = row as f64 / (rows - 1) as f64;
                    let mesial = 2.0 * column as f64 / (columns - 1) as f64 - 1.0;
                    let all = layers(restoration, natural, seed, FacePoint { mesial, height });
                    display_linear(&by_tables(&all), light, Observer::Cie1931)
                })
                .collect()
        })
        .collect();
    let size = natural.tooth.kind().crown_dimensions();
    for row in &mut face {
        *row = spread(row, size.width_mm / (columns - 1) as f64);
    }
    for column in 0..columns {
        let line: Vec<[f64; 3]> = face.iter().map(|row| row[column]).collect();
        let line = spread(&line, size.length_mm / (rows - 1) as f64);
        face.iter_mut().zip(line).for_each(|(row, value)| row[column] = value);
    }
    let detail = detail_of_thirds(seed, natural.tooth);
    // Trapezoid rule over each third, both ways.
    std::array::from_fn(|third| {
        let per = (rows - 1) / 3;
        let (mut sum, mut weights) = ([0.0; 3], 0.0);
        let rows = face.iter().enumerate().skip(third * per).take(per + 1);
        for (row, line) in rows {
            for (column, value) in line.iter().enumerate() {
                let down = if row % per == 0 { 0.5 } else { 1.0 };
                let across = if column % (columns - 1) == 0 { 0.5 } else { 1.0 };
                (0..3).for_each(|c| sum[c] += down * across * value[c]);
                weights += down * across;
            }
        }
        Lab::from_linear_srgb(std::array::from_fn(|c| detail[third][c] * sum[c] / weights))
    })
}

/// The smile of a case with nothing restored, in a light.
pub fn unrestored(case: &Case, light: Illuminant) -> BakedScene {
    let natural = Case { restorations: vec![], illuminant: light, ..case.clone() };
    bake(&natural, &LIBRARY).unwrap()
}

fn own(case: &Case, tooth: Tooth) -> NaturalTooth {
    *case.patient.teeth.iter().find(|t| t.tooth == tooth).unwrap()
}

/// Zone-weighted ΔE00 of a restoration to the twin of [`unrestored`], worked anew.
pub fn difference(
    case: &Case,
    restoration: &Restoration,
    twin: &BakedScene,
    light: Illuminant,
) -> f64 {
    let found = restored_thirds(restoration, &own(case, restoration.tooth), case.seed, light);
    let twin = twin.zone_labs(restoration.tooth, Condition::Twin).unwrap();
    (0..3).map(|zone| ZONE_WEIGHTS[zone] * ciede2000(twin[zone], found[zone]).de00).sum()
}

/// Strips either side of a margin line, mm, and the flanks left out, as the bake states them.
const STRIP_MM: [f64; 2] = [0.3, 0.9];
const FLANK: f64 = 0.1;

/// ΔE00 along the margin line of an onlay, from the strip below it to the strip above, worked anew:
/// ceramic above the line, the natural map below, light spread across the line.
pub fn margin(case: &Case, restoration: &Restoration, twin: &BakedScene, light: Illuminant) -> f64 {
    let Preparation::Onlay { margin_height } = restoration.preparation else { panic!("an onlay") };
    let tooth = restoration.tooth;
    let natural = own(case, tooth);
    let map = &twin.teeth.iter().find(|t| t.tooth == tooth).unwrap().natural;
    let detail = surface_detail(case.seed, tooth, map.width, map.height);
    let length_mm = tooth.kind().crown_dimensions().length_mm;
    let texel = |share: f64, n: usize| ((share * n as f64) as usize).min(n - 1);
    // Steps of a twentieth of a millimetre, 3 mm each way; the margin lies between two of them.
    let (step_mm, reach) = (0.05, 60_i32);
    let mm = |row: i32| (f64::from(row) + 0.5) * step_mm;
    let columns = 8;
    let (mut below, mut above) = ([0.0; 3], [0.0; 3]);
    for column in 0..columns {
        let x = FLANK + (1.0 - 2.0 * FLANK) * (f64::from(column) + 0.5) / f64::from(columns);
        let line: Vec<[f64; 3]> = (-reach..reach)
            .map(|row| {
                let height = (margin_height + mm(row) / length_mm).clamp(0.0, 1.0);
                if row < 0 {
                    let (i, j) = (texel(x, map.width), texel(height, map.height));
                    let shown = map.texel(i, j).map(f64::from);
                    let detail = detail[j * map.width + i];
                    return std::array::from_fn(|c| shown[c] / detail[c]);
                }
                let point = FacePoint { mesial: 2.0 * x - 1.0, height };
                let all = layers(restoration, &natural, case.seed, point);
                display_linear(&by_tables(&all), light, Observer::Cie1931)
            })
            .collect();
        let line = spread(&line, step_mm);
        for (row, value) in (-reach..reach).zip(line) {
            let strip = if row < 0 { &mut below } else { &mut above };
            if (STRIP_MM[0]..=STRIP_MM[1]).contains(&mm(row).abs()) {
                (0..3).for_each(|c| strip[c] += value[c]);
            }
        }
    }
    // Mean of the detail over each strip.
    let detail_of = |side: f64| -> [f64; 3] {
        let (mut sum, mut count) = ([0.0; 3], 0.0);
        for (j, row) in detail.chunks(map.width).enumerate() {
            let height = (j as f64 + 0.5) / map.height as f64;
            let mm = side * (height - margin_height) * length_mm;
            if !(STRIP_MM[0]..=STRIP_MM[1]).contains(&mm) {
                continue;
            }
            let flank = texel(FLANK, map.width);
            for value in &row[flank..map.width - flank] {
                (0..3).for_each(|c| sum[c] += value[c]);
                count += 1.0;
            }
        }
        sum.map(|sum| sum / count)
    };
    let rows = (-reach..reach)
        .filter(|row| *row > 0 && (STRIP_MM[0]..=STRIP_MM[1]).contains(&mm(*row)))
        .count();
    let lab = |sum: [f64; 3], side: f64| {
        let detail = detail_of(side);
        let n = rows as f64 * f64::from(columns);
        Lab::from_linear_srgb(std::array::from_fn(|c| detail[c] * sum[c] / n))
    };
    ciede2000(lab(below, -1.0), lab(above, 1.0)).de00
}
