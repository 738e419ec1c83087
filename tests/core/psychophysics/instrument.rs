//! The measuring instrument: probabilities, posteriors, schedule, resuming.

use rand::RngExt;
use rand::distr::Open01;
use rand_chacha::ChaCha8Rng;
use second_glance::psychophysics::instrument::{
    Answer, Config, Instrument, InstrumentError, Saved, Shown, StopReason,
};
use second_glance::psychophysics::{
    Axis, ChoiceRule, Direction, Fit, GlanceModel, GlanceParameters, ModelTrial, OutcomeTable,
    QuestPlus, Refit, SeenDifference, SharedPosterior, Sight, SimulatedObserver, entropy,
    exposure_gain,
};
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::Tooth;
use statrs::distribution::{ContinuousCDF, Normal};

fn stream(trial: u32) -> ChaCha8Rng {
    let purpose = Purpose::Observer;
    StreamKey { form: "instrument", seed: 1, purpose, block: 0, trial }.stream()
}

fn parameters() -> GlanceParameters {
    GlanceParameters {
        thresholds_de00: Axis::ALL.into_iter().zip([1.5, 2.2, 1.8, 2.5]).collect(),
        exponent: 1.2,
        criterion: 1.7,
        lapse: 0.05,
        confusion: 0.5,
        eccentricity_loss: 0.1,
        side_bias: 0.3,
    }
}

fn residuals() -> Vec<f64> {
    (0..10).map(|i| 0.8 * f64::from(i * i % 7 - 3) / 3.0).collect()
}

fn trial(signal: Option<(usize, Direction, f64)>) -> ModelTrial {
    ModelTrial { signal, residuals_de00: residuals(), exposure_s: 2.5, answer: 0 }
}

/// A million draws leave a standard error of at most 0.0005.
#[test]
fn probabilities_match_brute_force_sampling() {
    let teeth = Tooth::arch(10);
    let model = GlanceModel::new(&teeth, &Axis::ALL);
    let observer = SimulatedObserver::Noisy(parameters());
    for (number, signal) in [
        None,
        Some((0, Direction::Darker, 2.0)),
        Some((4, Direction::Lighter, 1.2)),
        Some((7, Direction::MoreChroma, 2.5)),
    ]
    .into_iter()
    .enumerate()
    {
        let trial = trial(signal);
        let sight = Sight {
            teeth: teeth.clone(),
            residuals_de00: residuals(),
            signal: signal.map(|(i, direction, x)| SeenDifference::on_axis(teeth[i], direction, x)),
            exposure_s: 2.5,
            trial: 0,
        };
        let mut rng = stream(number as u32);
        let mut counts = [0_u32; 11];
        let draws = 1_000_000;
        for _ in 0..draws {
            match observer.answer(&sight, &mut rng) {
                Answer::Tooth(t) => counts[teeth.iter().position(|x| *x == t).unwrap() + 1] += 1,
                _ => counts[0] += 1,
            }
        }
        let modelled = model.probabilities(&parameters(), &trial);
        for (y, (count, p)) in counts.iter().zip(&modelled).enumerate() {
            let share = f64::from(*count) / f64::from(draws);
            assert!((share - p).abs() < 0.002, "{signal:?}, answer {y}: drawn {share}, model {p}");
        }
    }
}

#[test]
fn probabilities_sum_to_one() {
    let rule = ChoiceRule::new();
    let mut rng = stream(100);
    for _ in 0..2000 {
        let n = rng.random_range(4..=16);
        let mut means: Vec<f64> = (0..n).map(|_| 6.0 * rng.random::<f64>() - 1.0).collect();
        means[0] *= 4.0 * rng.random::<f64>();
        let criterion = 0.75 + 2.25 * rng.random::<f64>();
        let sum: f64 = rule.probabilities(&means, criterion).probability.iter().sum();
        assert!((sum - 1.0).abs() < 1e-9, "{means:?}, {criterion}: {sum}");
    }
}

#[test]
fn slopes_of_probabilities_are_differences() {
    let rule = ChoiceRule::new();
    let means = [0.3, 2.1, -0.4, 1.0, 0.0];
    let n = means.len();
    let choice = rule.with_slopes(&means, 1.4);
    let h = 1e-5;
    for y in 0..=n {
        for k in 0..n {
            let at = |d: f64| {
                let mut moved = means;
                moved[k] += d;
                rule.probabilities(&moved, 1.4).probability[y]
            };
            let slope = (at(h) - at(-h)) / (2.0 * h);
            assert!((choice.by_mean[y * n + k] - slope).abs() < 1e-8, "{y} by mean {k}");
        }
        let at = |d: f64| rule.probabilities(&means, 1.4 + d).probability[y];
        let slope = (at(h) - at(-h)) / (2.0 * h);
        assert!((choice.by_criterion[y] - slope).abs() < 1e-8, "{y} by criterion");
    }
}

/// The closed form without natural variation and bias: `1 − (1 − λ) Φ(c)^n − λ/(n + 1)`.
#[test]
fn false_alarms_have_a_closed_form() {
    let model = GlanceModel::new(&Tooth::arch(10), &[Axis::Darker]);
    let p = GlanceParameters { confusion: 0.0, side_bias: 0.0, ..parameters() };
    let rate = 1.0 - model.probabilities(&p, &trial(None))[0];
    let closed = 1.0 - 0.95 * Normal::standard().cdf(1.7).powi(10) - 0.05 / 11.0;
    assert!((rate - closed).abs() < 1e-12, "{rate}, {closed}");
}

/// Gains at 0.5 and 2.5 s with a time constant of 0.7 s, by hand: √(0.51046 / 0.97188).
#[test]
fn exposure_changes_the_gain() {
    assert!((exposure_gain(2.5) - 1.0).abs() < 1e-15);
    assert!((exposure_gain(0.5) - 0.724_73).abs() < 2e-4, "{}", exposure_gain(0.5));
}

/// Two thresholds and one shared parameter on a joint grid small enough to hold in full.
#[test]
fn the_shared_posterior_is_exact() {
    let (thresholds, shared) = ([0.5, 1.0, 2.0, 4.0], [0.7, 1.0, 1.6]);
    let levels = [0.4, 0.9, 1.7, 3.0, 6.0];
    let right = |x: f64, t: f64, s: f64| 0.02 + 0.96 * (1.0 - (-(x / t).powf(s)).exp());
    let fill = |p: f64, out: &mut [f64]| out.copy_from_slice(&[1.0 - p, p]);
    let one = OutcomeTable::new(levels.len(), 2, 12, |x, point, out| {
        fill(right(levels[x], thresholds[point % 4], shared[point / 4]), out);
    })
    .unwrap();
    // Joint points: shared × first threshold × second; stimuli: levels of the first axis, then of
    // the second.
    let both = OutcomeTable::new(2 * levels.len(), 2, 48, |x, point, out| {
        let (s, a, b) = (point / 16, point / 4 % 4, point % 4);
        let t = thresholds[if x < levels.len() { a } else { b }];
        fill(right(levels[x % levels.len()], t, shared[s]), out);
    })
    .unwrap();
    let (prior_t, prior_s) = ([1.0, 3.0, 2.0, 1.0], [1.0, 2.0, 1.0]);
    let joint = (0..48).map(|p| prior_s[p / 16] * prior_t[p / 4 % 4] * prior_t[p % 4]).collect();
    let mut full = QuestPlus::new(both, joint).unwrap();
    let mut split = SharedPosterior::new(2, prior_t.to_vec(), prior_s.to_vec()).unwrap();
    let mut rng = stream(200);
    for _ in 0..40 {
        let axis = rng.random_range(0..2_usize);
        let level = rng.random_range(0..levels.len());
        let outcome = usize::from(rng.random::<bool>());
        assert!(full.update(axis * levels.len() + level, outcome));
        assert!(split.update_axis(axis, |s, t| {
            let p = right(levels[level], thresholds[t], shared[s]);
            if outcome == 1 { p } else { 1.0 - p }
        }));
        assert!((entropy(full.posterior()) - split.entropy()).abs() < 1e-12);
        let expected = full.expected_entropies();
        for axis in 0..2 {
            let part = split.expected_entropies(axis, &one);
            for (x, value) in part.iter().enumerate() {
                assert!((value - expected[axis * levels.len() + x]).abs() < 1e-12);
            }
        }
        for (t, weight) in split.marginal(1).iter().enumerate() {
            let sum: f64 =
                full.posterior().iter().enumerate().filter(|(p, _)| p % 4 == t).map(|p| p.1).sum();
            assert!((weight - sum).abs() < 1e-12);
        }
    }
}

fn shown(de00: f64) -> Shown {
    Shown { de00, residuals_de00: residuals(), exposure_s: 2.5 }
}

fn config(max_trials: u32) -> Config {
    let mut config = Config::new(Tooth::arch(10), Axis::ALL.to_vec());
    config.stop.max_trials = max_trials;
    config.stop.sd_ln_threshold = 1e-9;
    config
}

/// Answers one trial as a noisy observer would, voiding every seventh picture.
fn step(instrument: &mut Instrument) {
    let stimulus = instrument.next_stimulus().unwrap();
    let shown = shown(stimulus.signal.map_or(0.0, |s| 1.03 * s.de00));
    let sight = Sight::new(&instrument.config().teeth, &stimulus, &shown);
    let observer = SimulatedObserver::Noisy(parameters());
    let answer = match stimulus.shown {
        n if n % 7 == 3 => Answer::Void,
        n if n % 11 == 5 => Answer::TimedOut,
        n => observer.answer(&sight, &mut stream(1000 + n)),
    };
    instrument.record(shown, answer).unwrap();
}

#[test]
fn a_measurement_resumes_exactly_where_it_stopped() {
    let mut whole = Instrument::new(config(60), 5).unwrap();
    let mut broken = Instrument::new(config(60), 5).unwrap();
    while whole.is_done(0.0).is_none() {
        assert_eq!(whole.next_stimulus(), broken.next_stimulus());
        step(&mut whole);
        step(&mut broken);
        if broken.records().len() % 10 == 4 {
            // Through the text that is stored, as after a crash.
            let text = serde_json::to_string(&broken.saved()).unwrap();
            broken = Instrument::resume(serde_json::from_str(&text).unwrap()).unwrap();
        }
        assert_eq!(whole.posterior_bytes(), broken.posterior_bytes());
    }
    let (a, b) = (whole.saved(), broken.saved());
    assert_eq!(serde_json::to_vec(&a).unwrap(), serde_json::to_vec(&b).unwrap());
    assert_eq!(whole.estimate().unwrap(), broken.estimate().unwrap());
    assert_eq!(whole.is_done(0.0), Some(StopReason::Trials));
}

#[test]
fn a_saved_measurement_of_another_schedule_is_refused() {
    let mut instrument = Instrument::new(config(60), 5).unwrap();
    for _ in 0..8 {
        step(&mut instrument);
    }
    let saved = instrument.saved();
    let wrong = Saved { seed: 6, ..saved.clone() };
    assert!(matches!(Instrument::resume(wrong), Err(InstrumentError::Replay(_))));
    let wrong = Saved { version: 99, ..saved };
    assert!(matches!(Instrument::resume(wrong), Err(InstrumentError::Version { got: 99, .. })));
}

#[test]
fn blocks_hold_five_catch_trials_and_axes_take_turns() {
    let mut instrument = Instrument::new(config(160), 9).unwrap();
    let (mut kept, mut repeats) = (Vec::new(), 0);
    while instrument.is_done(0.0).is_none() {
        let stimulus = instrument.next_stimulus().unwrap();
        repeats += u32::from(stimulus.repeat);
        step(&mut instrument);
        if instrument.records().last().unwrap().answer != Answer::Void {
            kept.push(stimulus);
        }
    }
    assert_eq!(kept.len(), 160);
    assert!(repeats > 10, "{repeats} repeated");
    for block in kept.chunks(20) {
        assert!(block.iter().all(|s| s.block == block[0].block));
        assert_eq!(block.iter().filter(|s| s.signal.is_none()).count(), 5);
    }
    let signals: Vec<_> = kept.iter().filter_map(|s| s.signal).collect();
    for axis in Axis::ALL {
        let on = signals.iter().filter(|s| s.direction.axis() == axis).count();
        assert_eq!(on, 30, "{axis:?}");
        let first = signals.iter().filter(|s| s.direction == axis.directions()[0]).count();
        assert!(first == 15 || axis.directions()[0] == axis.directions()[1], "{axis:?}: {first}");
    }
    // One in ten: one and two by turns in eight blocks.
    assert_eq!(signals.iter().filter(|s| s.anchor).count(), 12);
}

#[test]
fn void_and_late_answers_teach_nothing() {
    let mut instrument = Instrument::new(config(60), 3).unwrap();
    let before = instrument.posterior_bytes();
    let stimulus = instrument.next_stimulus().unwrap();
    let x = stimulus.signal.map_or(0.0, |s| s.de00);
    instrument.record(shown(x), Answer::Void).unwrap();
    assert_eq!(instrument.trials(), 0);
    let x = instrument.next_stimulus().unwrap().signal.map_or(0.0, |s| s.de00);
    instrument.record(shown(x), Answer::TimedOut).unwrap();
    assert_eq!(instrument.trials(), 1);
    assert_eq!(instrument.posterior_bytes(), before);
    let counts = instrument.estimate().unwrap().counts;
    assert_eq!((counts.void, counts.timed_out, counts.signal + counts.catch), (1, 1, 0));
}

#[test]
fn the_instrument_stops_for_each_reason() {
    let mut instrument = Instrument::new(config(60), 3).unwrap();
    assert_eq!(instrument.is_done(719.0), None);
    assert_eq!(instrument.is_done(720.0), Some(StopReason::Time));
    while instrument.is_done(0.0).is_none() {
        step(&mut instrument);
    }
    assert_eq!(instrument.is_done(0.0), Some(StopReason::Trials));
    assert!(instrument.progress().iter().all(|p| p.sd_ln_threshold > 0.15));
    let mut config = Config::new(Tooth::arch(10), vec![Axis::Darker]);
    config.stop.max_trials = 400;
    let mut instrument = Instrument::new(config, 3).unwrap();
    while instrument.is_done(0.0).is_none() {
        step(&mut instrument);
    }
    assert_eq!(instrument.is_done(0.0), Some(StopReason::Precise));
    assert!(instrument.progress()[0].sd_ln_threshold <= 0.15);
}

#[test]
fn impossible_configurations_and_answers_are_refused() {
    let good = config(60);
    let refused = |change: &dyn Fn(&mut Config)| {
        let mut config = good.clone();
        change(&mut config);
        Instrument::new(config, 1).unwrap_err()
    };
    assert!(matches!(refused(&|c| c.teeth.truncate(3)), InstrumentError::Teeth(3)));
    assert!(matches!(refused(&|c| c.teeth[1] = c.teeth[0]), InstrumentError::Teeth(10)));
    assert!(matches!(refused(&|c| c.axes.clear()), InstrumentError::Axes(_)));
    assert!(matches!(refused(&|c| c.axes[1] = c.axes[0]), InstrumentError::Axes(_)));
    assert!(matches!(refused(&|c| c.most_de00 = 1.0), InstrumentError::Range { .. }));
    assert!(matches!(refused(&|c| c.least_de00 = f64::NAN), InstrumentError::Range { .. }));
    assert!(matches!(refused(&|c| c.exposure_s = 0.0), InstrumentError::Exposure(_)));
    assert!(matches!(refused(&|c| c.stop.max_trials = 0), InstrumentError::Stop(_)));

    let mut instrument = Instrument::new(good, 1).unwrap();
    while instrument.next_stimulus().unwrap().signal.is_none() {
        step(&mut instrument);
    }
    let count = instrument.records().len();
    let zero = instrument.record(shown(0.0), Answer::None);
    assert!(matches!(zero, Err(InstrumentError::Shown { .. })));
    let absent = Tooth::new(18).unwrap();
    let other = instrument.record(shown(1.0), Answer::Tooth(absent));
    assert!(matches!(other, Err(InstrumentError::NotOffered(t)) if t == absent));
    let short = Shown { residuals_de00: vec![0.0; 3], ..shown(1.0) };
    let short = instrument.record(short, Answer::None);
    assert!(matches!(short, Err(InstrumentError::Residuals { got: 3, teeth: 10 })));
    assert_eq!(instrument.records().len(), count);
}

/// Without a trial the fit is the prior; with trials its estimate follows a plain grid search.
#[test]
fn the_refit_finds_the_maximum_of_its_posterior() {
    let model = GlanceModel::new(&Tooth::arch(10), &[Axis::Darker]);
    let prior = Refit::new(&model, &[], Fit::Full).unwrap();
    let (mean, sd) = prior.ln_threshold(0);
    assert!((mean - 2.0_f64.ln()).abs() < 1e-9 && (sd - 0.8).abs() < 1e-6, "{mean} {sd}");
    let (mean, sd) = prior.criterion();
    assert!((mean - 2.0).abs() < 1e-9 && (sd - 0.45).abs() < 1e-6, "{mean} {sd}");

    let normal = Normal::standard();
    let mut rng = stream(300);
    let trials: Vec<ModelTrial> = (0..80)
        .map(|i| {
            let x = 0.5 * f64::from(1 + i % 8);
            let signal = (i % 4 != 0).then_some(((i * 7 % 10) as usize, Direction::Darker, x));
            let hit = normal.inverse_cdf(rng.sample(Open01)) < x - 2.0;
            let answer = if hit { signal.map_or(0, |(tooth, _, _)| tooth + 1) } else { 0 };
            ModelTrial { signal, residuals_de00: vec![0.0; 10], exposure_s: 2.5, answer }
        })
        .collect();
    let refit = Refit::new(&model, &trials, Fit::Simple).unwrap();
    assert!(refit.converged());
    let mode = refit.parameters(&model);
    let (ln_threshold, criterion) = (mode.thresholds_de00[0].1.ln(), mode.criterion);
    // The posterior of threshold and criterion alone, the others where the fit put them.
    let height = |ln_t: f64, c: f64| {
        let p = GlanceParameters {
            thresholds_de00: vec![(Axis::Darker, ln_t.exp())],
            criterion: c,
            ..mode.clone()
        };
        let likelihood: f64 =
            trials.iter().map(|t| model.probabilities(&p, t)[t.answer].ln()).sum();
        likelihood - 0.5 * ((ln_t - 2.0_f64.ln()) / 0.8).powi(2) - 0.5 * ((c - 2.0) / 0.45).powi(2)
    };
    let top = height(ln_threshold, criterion);
    for (dt, dc) in [(0.02, 0.0), (-0.02, 0.0), (0.0, 0.02), (0.0, -0.02), (0.02, 0.02)] {
        assert!(height(ln_threshold + dt, criterion + dc) < top, "{dt} {dc}");
    }
}
