//! The truth of blend's options, found again from the material files by another route.
//!
//! The restored face is worked anew here: layers from the geometry of the tooth, media designed from
//! the material files, light through them at all 81 bands, spread sideways and averaged by third by
//! this file's own code, which shares neither the sampling, the grid nor the maps of the bake. The
//! surface detail, which both conditions share, is multiplied in as the mean of each third. At one point of a best option of every level the tables are held against the direct
//! solution of radiative transfer. The natural tooth is what the patient is stated to be.

use crate::blend::{LIBRARY, ROUNDS, tasks};
use rand::RngExt;
use rayon::prelude::*;
use second_glance::bake::section::{FacePoint, SectionShape};
use second_glance::bake::{Condition, ZONE_WEIGHTS, bake, surface_detail};
use second_glance::colorimetry::{Illuminant, Lab, Observer, ciede2000, display_linear};
use second_glance::optics::transport::{
    BandLayer, Base, CEMENT_JOINT, SALIVA_INDEX, over_backing, tabulated_reflectance,
};
use second_glance::optics::{Layer, Medium};
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::{NaturalTooth, Preparation, Restoration, Tooth};
use second_glance::spectrum::Spectrum;

/// Columns and rows at which the restored face is worked here.
const GRID: (usize, usize) = (11, 55);
/// How far light spreads sideways, mm, as the bake states it.
const SPREAD_MM: f64 = 0.45;

/// Layers of a restored tooth at a point, from the front; the last closes the back.
fn layers(
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
    let ceramic = LIBRARY.ceramic_at(&restoration.ceramic, point.height).unwrap();
    let closing = match restoration.preparation {
        Preparation::Veneer => *LIBRARY.enamel(),
        Preparation::Crown => ceramic,
        Preparation::Onlay { .. } => unreachable!("blend levels restore incisors"),
    };
    [
        (ceramic, section.ceramic_mm),
        (*LIBRARY.cement(&restoration.cement).unwrap(), section.cement_mm),
        (*LIBRARY.prepared_tooth(&restoration.prepared_tooth).unwrap(), section.prepared_mm),
        (closing, section.back_mm),
    ]
}

fn by_tables(layers: &[(Medium, f64); 4]) -> Spectrum {
    let layer = |i: usize| Layer { medium: &layers[i].0, thickness_mm: layers[i].1 };
    let base = Base::Mouth(layer(3), LIBRARY.mouth_reflectance());
    tabulated_reflectance(LIBRARY.tables(), &[layer(0), layer(1), layer(2)], base, CEMENT_JOINT)
}

/// The direct solution at every fourth band, joined by straight lines.
fn directly(layers: &[(Medium, f64); 4]) -> Spectrum {
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
fn restored_thirds(
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

#[test]
fn every_option_is_what_its_layers_make_it() {
    let mut off: Vec<(f64, String)> = tasks()
        .collect::<Vec<_>>()
        .par_iter()
        .flat_map_iter(|(level, question, task)| {
            let case = &question.sights[0].case;
            // The twin, from the natural maps of one bake.
            let natural = second_glance::scene::Case { restorations: vec![], ..case.clone() };
            let scene = bake(&natural, &LIBRARY).unwrap();
            task.options
                .iter()
                .zip(&question.sights)
                .enumerate()
                .map(|(k, (option, sight))| {
                    let worst = &option.teeth[option.worst];
                    let tooth =
                        *case.patient.teeth.iter().find(|t| t.tooth == worst.tooth).unwrap();
                    let restoration =
                        sight.case.restorations.iter().find(|r| r.tooth == worst.tooth).unwrap();
                    let found = restored_thirds(restoration, &tooth, case.seed, level.light);
                    let twin = scene.zone_labs(worst.tooth, Condition::Twin).unwrap();
                    // The twin is the patient's tooth: its middle is near the stated colour.
                    let stated = ciede2000(Lab::from(tooth.body), twin[1]).de00;
                    assert!(stated < 2.5, "{} {stated}", question.seed_key);
                    let de00: f64 = (0..3)
                        .map(|zone| ZONE_WEIGHTS[zone] * ciede2000(twin[zone], found[zone]).de00)
                        .sum();
                    let off = (de00 - worst.difference.de00).abs();
                    (off, format!("{} option {}", question.seed_key, k + 1))
                })
                .collect::<Vec<_>>()
        })
        .collect();
    off.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (median, worst) = (&off[off.len() / 2], &off[off.len() - 1]);
    println!("{} options: median {:.4}, worst {:.4} ({})", off.len(), median.0, worst.0, worst.1);
    // A tenth: half the width of the grey zone's half, and less than options keep from its edge.
    assert!(worst.0 < 0.1, "{worst:?}");
}

#[test]
fn tables_give_what_the_direct_solution_gives() {
    let mut worst = 0.0_f64;
    for (_, round) in ROUNDS.iter() {
        // The best option of each level: a direct solution takes seconds.
        let question = &round.questions[0];
        let sight = &question.sights[crate::blend::task(question).best];
        let restoration = &sight.case.restorations[0];
        let natural =
            sight.case.patient.teeth.iter().find(|t| t.tooth == restoration.tooth).unwrap();
        let point = FacePoint { mesial: 0.0, height: 0.5 };
        let layers = layers(restoration, natural, sight.case.seed, point);
        let lab = |r: &Spectrum| Lab::on_display(r, Illuminant::D65, Observer::Cie1931);
        // Straight lines between bands on both sides, so that only the solution differs.
        let tables = by_tables(&layers);
        let joined = Spectrum::from_bands(std::array::from_fn(|band| {
            let (i, t) = (4 * (band / 4), (band % 4) as f64 / 4.0);
            tables[i] + t * (tables[(i + 4).min(80)] - tables[i])
        }));
        worst = worst.max(ciede2000(lab(&joined), lab(&directly(&layers))).de00);
    }
    println!("tables against the direct solution: at most {worst:.4}");
    // The stated error of the tables (DEVELOPERS.md).
    assert!(worst < 0.02, "{worst}");
}

#[test]
fn the_truth_is_that_of_the_maps_that_are_drawn() {
    for (_, round) in ROUNDS.iter() {
        let question = &round.questions[1];
        let task = crate::blend::task(question);
        for (option, sight) in task.options.iter().zip(&question.sights) {
            let scene = bake(&sight.case, &LIBRARY).unwrap();
            for (tooth, truth) in option.teeth.iter().zip(&scene.truths) {
                assert_eq!(tooth.tooth, truth.tooth);
                assert!(
                    (tooth.difference.de00 - truth.difference.de00).abs() < 1e-9,
                    "{}: {tooth:?} {truth:?}",
                    question.seed_key
                );
            }
            let counted = scene.truth.unwrap().difference;
            assert!((option.difference().de00 - counted.de00).abs() < 1e-9);
            assert!((option.difference().dl00 - counted.dl00).abs() < 1e-9);
        }
        // Under the light in which an option is worst; other lights are estimated.
        let option = &task.options[task.best];
        let case = second_glance::scene::Case {
            illuminant: option.worst_light,
            ..question.sights[task.best].case.clone()
        };
        let there = bake(&case, &LIBRARY).unwrap().truth.unwrap().difference.de00;
        println!("{}: {:.3} {there:.3}", question.seed_key, option.robust_de00);
        assert!((option.robust_de00 - there).abs() < 0.1, "{} {there}", option.robust_de00);
    }
}
