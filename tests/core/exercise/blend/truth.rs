//! The truth of blend's options, found again from the material files by another route
//! (`shared/anew.rs`).
//!
//! At one point of a best option of every level the tables are held against the direct
//! solution of radiative transfer. The natural tooth is what the patient is stated to be.

use crate::shared::anew::{by_tables, directly, layers, restored_thirds};
use crate::shared::blend::{ROUNDS, tasks};
use crate::shared::levels::LIBRARY;
use rayon::prelude::*;
use second_glance::bake::section::FacePoint;
use second_glance::bake::{Condition, ZONE_WEIGHTS, bake};
use second_glance::colorimetry::{Illuminant, Lab, Observer, ciede2000};
use second_glance::spectrum::Spectrum;

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
        let sight = &question.sights[crate::shared::blend::task(question).best];
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
    // The stated error of the tables (documentation of `second_glance::optics`).
    assert!(worst < 0.02, "{worst}");
}

#[test]
fn the_truth_is_that_of_the_maps_that_are_drawn() {
    for (_, round) in ROUNDS.iter() {
        let question = &round.questions[1];
        let task = crate::shared::blend::task(question);
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
