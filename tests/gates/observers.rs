//! What the special observers must give.

use crate::cells::{Cell, RESIDUAL_SD, Truths, measure, truth};
use rayon::prelude::*;
use second_glance::psychophysics::instrument::{Config, Estimate, OnlineModel};
use second_glance::psychophysics::{Axis, GlanceParameters, SimulatedObserver};
use second_glance::scene::Tooth;
use std::sync::Arc;

fn run(name: &'static str, observer: &SimulatedObserver, axes: &[Axis], trials: u32) -> Estimate {
    let online = Arc::new(OnlineModel::new(10, 2.5).unwrap());
    let config = Config::new(Tooth::arch(10), axes.to_vec());
    measure(name, config, observer, 3, Some(trials), RESIDUAL_SD, &online).estimate().unwrap()
}

fn typical(axes: &[Axis]) -> GlanceParameters {
    GlanceParameters {
        thresholds_de00: axes.iter().map(|a| (*a, 1.8)).collect(),
        exponent: 1.0,
        criterion: 2.05,
        lapse: 0.02,
        confusion: 0.3,
        eccentricity_loss: 0.04,
        side_bias: 0.0,
    }
}

#[test]
fn who_sees_nothing_scores_nothing() {
    for (name, observer) in [
        ("always none", SimulatedObserver::AlwaysNone),
        ("random tooth", SimulatedObserver::RandomTooth),
        ("always central", SimulatedObserver::AlwaysCentral),
        ("shortcut", SimulatedObserver::Shortcut { criterion: 2.05 }),
    ] {
        let estimate = run(name, &observer, &[Axis::Darker], 60);
        // J = 100 (H + CR − 1): 0 for none, and for a tooth always, since then no catch trial is
        // right and at most one tooth in ten by chance. The shortcut reader answers both ways,
        // so its score is 0 only on average: at most what 45 and 15 trials leave to chance.
        let score = estimate.score.unwrap();
        let limit = if name == "shortcut" { 25.0 } else { 0.0 };
        assert!(score <= limit, "{name}: J = {score}");
        assert!(!estimate.is_measurable(), "{name}: p = {}", estimate.chance_probability);
        assert!(estimate.axes.iter().all(|a| !a.measured), "{name}: {:?}", estimate.axes);
    }
}

#[test]
fn the_shortcut_reader_finds_teeth_at_chance() {
    let name = "shortcut at length";
    let estimate = run(name, &SimulatedObserver::Shortcut { criterion: 1.0 }, &[Axis::Darker], 600);
    let (low, high) = estimate.found.wilson(0.99).unwrap();
    // With c = 1.0 a tooth is named with probability 1 − Φ(1)^10 = 0.822, one in ten is right.
    assert!(low <= 0.0822 && 0.0822 <= high, "{low} to {high}");
}

#[test]
fn the_ideal_observer_sees_everything() {
    let estimate = run("ideal", &SimulatedObserver::Ideal, &[Axis::Darker], 60);
    // The smallest difference on offer is 0.4 ΔE00, four true thresholds: the estimate can only
    // come to rest near the floor of the grid, 0.3.
    assert!(estimate.axes[0].threshold_de00.value < 0.45, "{:?}", estimate.axes[0]);
    assert_eq!(estimate.false_alarms.counted.successes, 0);
    assert!(estimate.score.unwrap() > 95.0);
}

#[test]
fn one_sided_blindness_is_flagged() {
    let axes = [Axis::Darker, Axis::Lighter];
    for (seen, above) in [(Axis::Darker, false), (Axis::Lighter, true)] {
        let observer = SimulatedObserver::OneAxis(typical(&axes), seen);
        let estimate = run("one-sided", &observer, &axes, 120);
        let asymmetry = estimate.value_asymmetry.unwrap();
        assert!(asymmetry.is_certain(), "{asymmetry:?}");
        assert_eq!(asymmetry.ratio.value > 1.0, above, "{asymmetry:?}");
    }
}

#[test]
fn learning_and_tiring_show() {
    // A learner's later answers give a lower threshold; 300 trials, thresholds fall by 30 %.
    let axes = [Axis::Darker];
    let online = Arc::new(OnlineModel::new(10, 2.5).unwrap());
    let mut config = Config::new(Tooth::arch(10), axes.to_vec());
    config.stop.max_trials = 300;
    let trends = |seed: u32| {
        let halves = |name, observer: &SimulatedObserver| {
            let run =
                measure(name, config.clone(), observer, seed, Some(300), RESIDUAL_SD, &online);
            let (first, second) = run.records().split_at(150);
            (run.estimate_of(first).unwrap(), run.estimate_of(second).unwrap())
        };
        let threshold = |e: &Estimate| e.axes[0].threshold_de00.value;
        let (first, second) = halves("learner", &SimulatedObserver::Learner(typical(&axes)));
        let steady = GlanceParameters { lapse: 0.01, ..typical(&axes) };
        let tired = halves("tiring", &SimulatedObserver::Tiring(typical(&axes))).1;
        let fresh = halves("steady", &SimulatedObserver::Noisy(steady)).1;
        ((threshold(&second) / threshold(&first)).ln(), tired.lapse.value, fresh.lapse.value)
    };
    let all: Vec<(f64, f64, f64)> = (0..16).into_par_iter().map(trends).collect();
    let mean = |of: fn(&(f64, f64, f64)) -> f64| all.iter().map(of).sum::<f64>() / 16.0;
    let (fall, tired, fresh) = (mean(|t| t.0), mean(|t| t.1), mean(|t| t.2));
    println!("ln τ falls by {fall:.3}; lapses {tired:.4} when tired, {fresh:.4} when fresh");
    // Half of ln 0.7 lies between the middles of the halves: −0.178.
    assert!(fall < -0.09, "{all:?}");
    // 8 % from trial 160 on against 1 %. The prior's median of 2.7 % draws both together.
    assert!(tired > 1.2 * fresh, "{all:?}");
}

#[test]
fn the_truths_span_what_they_say() {
    let cell = Cell {
        name: "one axis, 60 trials",
        axes: vec![Axis::Darker],
        teeth: 10,
        trials: Some(60),
        truths: Truths::Typical,
    };
    let thresholds: Vec<f64> = (0..200).map(|run| truth(&cell, run).thresholds_de00[0].1).collect();
    let below = thresholds.iter().filter(|t| **t < 2.0).count();
    assert!((80..=120).contains(&below), "{below} of 200 below the median");
}
