//! The truths of the options of Two lights, Bracket, Try-in and Margin, found again from the
//! material files (`shared/anew.rs`), for every option of every shipped level. Blend's are in
//! `exercise/blend/truth.rs`.

use crate::shared::anew::{difference, margin, unrestored};
use crate::shared::levels::{LIBRARY, shipped_levels};
use rand::RngExt;
use rayon::prelude::*;
use second_glance::colorimetry::ACCEPTABILITY_DE00;
use second_glance::exercise::blend::MODEL_ERROR_DE00;
use second_glance::exercise::{Question, Task, lay_out};
use second_glance::level::format::Exercise;
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::Restoration;
use statrs::distribution::{ContinuousCDF, Normal};

/// Every question of the shipped levels of an exercise.
fn questions(of: impl Fn(&Exercise) -> bool) -> Vec<Question> {
    let levels = shipped_levels().into_iter().filter(|level| of(&level.exercise));
    let all: Vec<Question> = levels
        .flat_map(|level| lay_out(&level, &LIBRARY, level.seed, None).unwrap().questions)
        .collect();
    assert!(all.len() >= 10, "{} questions", all.len());
    all
}

/// Largest and median distance of what is stated from what is found.
fn compare(what: &str, mut off: Vec<(f64, String)>, limit: f64) {
    off.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (median, worst) = (&off[off.len() / 2], &off[off.len() - 1]);
    println!(
        "{what}: {} truths, median {:.4}, worst {:.4} ({})",
        off.len(),
        median.0,
        worst.0,
        worst.1
    );
    assert!(worst.0 < limit, "{what}: {worst:?}");
}

#[test]
fn options_of_two_lights_are_what_their_layers_make_them() {
    let off = questions(|exercise| matches!(exercise, Exercise::TwoLights { .. }))
        .par_iter()
        .flat_map_iter(|question| {
            let Task::TwoLights(task) = &question.task else { unreachable!() };
            let case = &question.sights[0].case;
            let lights = [task.first_light, task.second_light];
            let twins = lights.map(|light| unrestored(case, light));
            task.options.iter().enumerate().flat_map(move |(k, option)| {
                let stated = [option.first.de00, option.second.de00];
                let found: Vec<f64> = (0..2)
                    .map(|i| difference(case, &option.restoration, &twins[i], lights[i]))
                    .collect();
                let name = format!("{} option {}", question.seed_key, k + 1);
                (0..2).map(|i| ((stated[i] - found[i]).abs(), name.clone())).collect::<Vec<_>>()
            })
        })
        .collect();
    compare("Two lights", off, 0.1);
}

#[test]
fn estimates_of_bracket_are_what_their_layers_make_them() {
    let off = questions(|exercise| matches!(exercise, Exercise::Bracket { .. }))
        .par_iter()
        .flat_map_iter(|question| {
            let Task::Bracket(task) = &question.task else { unreachable!() };
            let case = &question.sights[0].case;
            let twin = unrestored(case, case.illuminant);
            task.options.iter().zip(&question.sights).enumerate().map(
                move |(k, (option, sight))| {
                    let restoration = sight.case.restoration().unwrap();
                    let found = difference(case, restoration, &twin, case.illuminant);
                    let name = format!("{} option {}", question.seed_key, k + 1);
                    ((option.estimate.de00 - found).abs(), name)
                },
            )
        })
        .collect();
    compare("Bracket", off, 0.1);
}

#[test]
fn cements_of_try_in_do_what_their_layers_say() {
    let off = questions(|exercise| matches!(exercise, Exercise::TryIn { .. }))
        .par_iter()
        .flat_map_iter(|question| {
            let Task::TryIn(task) = &question.task else { unreachable!() };
            let case = &question.sights[0].case;
            let twin = unrestored(case, case.illuminant);
            task.cements.iter().zip(&question.sights).flat_map(move |(cement, sight)| {
                let seated = sight.case.restoration().unwrap().clone();
                let later = Restoration { drift: Some(task.drift), ..seated.clone() };
                let found = |r: &Restoration| difference(case, r, &twin, case.illuminant);
                let name = format!("{} {}", question.seed_key, cement.cement);
                [
                    ((cement.at_seating.de00 - found(&seated)).abs(), name.clone()),
                    ((cement.after.de00 - found(&later)).abs(), name + " later"),
                ]
            })
        })
        .collect();
    compare("Try-in", off, 0.1);
}

#[test]
fn margins_show_as_much_as_their_layers_say_and_keep_their_standing() {
    let questions = questions(|exercise| matches!(exercise, Exercise::Margin { .. }));
    let off = questions
        .par_iter()
        .flat_map_iter(|question| {
            let Task::Margin(task) = &question.task else { unreachable!() };
            let case = &question.sights[0].case;
            let twin = unrestored(case, case.illuminant);
            task.options.iter().zip(&question.sights).enumerate().map(
                move |(k, (option, sight))| {
                    let restoration = sight.case.restoration().unwrap();
                    let found = margin(case, restoration, &twin, case.illuminant);
                    let name = format!("{} option {}", question.seed_key, k + 1);
                    ((option.contrast.mean.de00 - found).abs(), name)
                },
            )
        })
        .collect();
    compare("Margin", off, 0.1);
    // With an error of the model added at random the acceptable ones stay acceptable, and the
    // others not.
    let form = "model error";
    let key = StreamKey { form, seed: 2, purpose: Purpose::Observer, block: 0, trial: 0 };
    let mut stream = key.stream();
    let normal = Normal::standard();
    let (mut same, mut all) = (0_u32, 0_u32);
    for question in &questions {
        let Task::Margin(task) = &question.task else { unreachable!() };
        for (k, option) in task.options.iter().enumerate() {
            for _ in 0..40 {
                let error = normal.inverse_cdf(stream.random_range(1e-9..1.0 - 1e-9));
                let moved = option.contrast.mean.de00 + MODEL_ERROR_DE00 * error;
                same += u32::from((moved <= ACCEPTABILITY_DE00) == task.acceptable.contains(&k));
                all += 1;
            }
        }
    }
    let share = f64::from(same) / f64::from(all);
    println!("{share:.4} of margins keep their standing");
    assert!(share >= 0.95, "{share}");
}
