//! Simulated observers in sessions of Glance: they score as their parameters say.

use crate::shared::plan::{key, plan};
use crate::shared::sights::{nothing, sight};
use rand_chacha::ChaCha8Rng;
use second_glance::psychophysics::instrument::Answer;
use second_glance::psychophysics::{
    Axis, Direction, GlanceParameters, GlanceSummary, SLIP, SeenDifference, Sight,
    SimulatedObserver, run_simulated,
};
use second_glance::random::{Purpose, StreamKey};
use second_glance::trial::{InputDevice, Plan, PlannedTrial, TrialOutcome};
use statrs::distribution::{ContinuousCDF, Normal};

fn sight_of(plan: &Plan, trial: &PlannedTrial, x: f64) -> Sight {
    let restored = trial.case.restoration();
    let signal = restored.map(|r| SeenDifference::on_axis(r.tooth, Direction::Darker, x));
    Sight { signal, ..Sight::planned(&plan.teeth, trial, None, 2.5) }
}

fn noisy(confusion: f64) -> SimulatedObserver {
    let even = GlanceParameters::even(2.0, 2.05);
    SimulatedObserver::Noisy(GlanceParameters { lapse: 0.02, confusion, ..even })
}

fn observer_stream(seed: u64) -> ChaCha8Rng {
    StreamKey { purpose: Purpose::Observer, ..key(seed) }.stream()
}

#[test]
fn a_simulated_session_is_complete_and_repeatable() {
    let plan = plan(11, 60);
    let run = || run_simulated(&plan, &noisy(0.3), |t| sight_of(&plan, t, 2.5));
    let outcomes = run();
    assert_eq!(outcomes.len(), 60);
    assert_eq!(outcomes, run());
    for (outcome, trial) in outcomes.iter().zip(&plan.trials) {
        assert_eq!(outcome.trial, trial.trial);
        assert_eq!(outcome.kind, trial.kind);
        assert_eq!(outcome.exposure.shown_frames, 150);
        assert_eq!(outcome.input_device, Some(InputDevice::Simulated));
    }
    let summary = GlanceSummary::new(&outcomes);
    assert_eq!((summary.found.total, summary.correctly_none.total), (45, 15));
    assert!(summary.timed_out == 0 && summary.found.successes > 0);
}

#[test]
fn observers_that_do_not_look_score_nothing() {
    let plan = plan(2, 1200);
    let summary = |observer: &SimulatedObserver| {
        GlanceSummary::new(&run_simulated(&plan, observer, |t| sight_of(&plan, t, 3.0)))
    };
    let none = summary(&SimulatedObserver::AlwaysNone);
    assert_eq!(none.score(), Some(0.0));
    assert!(none.detection().unwrap().d_prime.abs() < 0.6, "only the correction is left");

    let random = summary(&SimulatedObserver::RandomTooth);
    assert_eq!(random.score(), Some(0.0));
    // One tooth in ten by chance; 4 standard errors of 900 trials are 0.04.
    assert!((random.found.value().unwrap() - 0.1).abs() < 0.04);
    assert_eq!(random.false_alarms.value(), Some(1.0));

    // Blind, but guessing "none" often: the noisy observer with nothing to see.
    let blind = GlanceSummary::new(&run_simulated(&plan, &noisy(0.3), |t| sight_of(&plan, t, 0.0)));
    // H ≈ 0.02 and CR ≈ 0.80: the score is cut off at 0.
    assert_eq!(blind.score(), Some(0.0));
    // d' 0 give or take 4 standard errors, 0.1 each at these counts.
    assert!(blind.detection().unwrap().d_prime.abs() < 0.4);

    assert_eq!(summary(&SimulatedObserver::AlwaysRight).score(), Some(100.0));
    // 3 ΔE00 through noise of 0.05: wrong less than once in a thousand.
    assert!(summary(&SimulatedObserver::Ideal).score().unwrap() > 99.5);
}

/// The threshold means d′ = 2: shares of right teeth at `x = τ` and of false alarms, by number of
/// teeth and criterion, with 2 % lapses.
///
/// Expected: the model's integral `(1−λ) ∫_c^∞ φ(z−2) Φ(z)^(n−1) dz + λ/(n+1)` and
/// `1 − (1−λ) Φ(c)^n − λ/(n+1)`, evaluated outside this program (Python 3, Simpson's rule, 20 000
/// steps). Slips to a neighbour are then added in closed form: the second of `n` teeth keeps
/// `1 − ρ` of its choices and gains `ρ` of one wrong tooth's.
#[test]
fn the_noisy_observer_has_its_threshold() {
    let trials = 20_000_u32;
    // 4 standard errors of a proportion near one half.
    let tolerance = 4.0 * (0.25 / f64::from(trials)).sqrt();
    for (n, criterion, right, false_alarms) in [
        (6, 2.53, 0.2924, 0.0502),
        (6, 2.18, 0.4143, 0.1001),
        (6, 1.83, 0.5355, 0.1990),
        (6, 1.66, 0.5878, 0.2697),
        (6, 1.41, 0.6512, 0.4001),
        (8, 2.64, 0.2558, 0.0498),
        (8, 2.29, 0.3721, 0.1008),
        (8, 1.95, 0.4883, 0.2013),
        (8, 1.79, 0.5380, 0.2713),
        (8, 1.56, 0.5988, 0.3972),
        (10, 2.72, 0.2308, 0.0497),
        (10, 2.38, 0.3390, 0.0998),
        (10, 2.05, 0.4498, 0.1989),
        (10, 1.89, 0.4998, 0.2709),
        (10, 1.66, 0.5615, 0.4018),
        (12, 2.78, 0.2129, 0.0500),
        (12, 2.45, 0.3140, 0.0992),
        (12, 2.12, 0.4226, 0.2007),
        (12, 1.97, 0.4692, 0.2700),
        (12, 1.75, 0.5290, 0.3984),
    ] {
        let lapse = 0.02;
        let even = GlanceParameters::even(1.4, criterion);
        let observer = SimulatedObserver::Noisy(GlanceParameters { exponent: 1.3, lapse, ..even });
        let mut rng = observer_stream(n as u64);
        let mut share = |differs: Option<(Direction, f64)>, counts: fn(&Sight, Answer) -> bool| {
            let sight = sight(n, differs);
            let hits =
                (0..trials).filter(|_| counts(&sight, observer.answer(&sight, &mut rng))).count();
            hits as f64 / f64::from(trials)
        };
        // At the threshold the exponent does not matter, nor does the direction.
        let direction = Direction::ALL[n % 6];
        let right_tooth =
            |sight: &Sight, answer| answer == Answer::Tooth(sight.signal.unwrap().tooth);
        let found = share(Some((direction, 1.4)), right_tooth);
        let named = share(None, |_, answer| answer != Answer::None);
        let right = slipped(n, criterion, 2.0, right, lapse);
        assert!((found - right).abs() < tolerance, "n {n} c {criterion}: {found} for {right}");
        assert!((named - false_alarms).abs() < tolerance, "n {n} c {criterion}: {named}");
    }
}

/// The share of right teeth `right` of the second of `n` teeth with slips to neighbours, where its
/// evidence has mean `mean`.
fn slipped(n: usize, criterion: f64, mean: f64, right: f64, lapse: f64) -> f64 {
    let below = |x: f64| Normal::standard().cdf(x);
    let guess = lapse / (n as f64 + 1.0);
    let right = (right - guess) / (1.0 - lapse);
    let none = below(criterion).powi(n as i32 - 1) * below(criterion - mean);
    let wrong = (1.0 - none - right) / (n as f64 - 1.0);
    (1.0 - lapse) * ((1.0 - SLIP) * right + SLIP * wrong) + guess
}

/// Above threshold: right teeth at 1.8 ΔE00 for four thresholds, 10 teeth, criterion 2.05. Expected
/// as above with mean `2 · 1.8 / τ`.
#[test]
fn smaller_thresholds_find_more() {
    let trials = 20_000_u32;
    let tolerance = 4.0 * (0.25 / f64::from(trials)).sqrt();
    for (threshold_de00, right) in [(1.0, 0.9104), (1.4, 0.6633), (2.0, 0.3745), (3.0, 0.1829)] {
        let even = GlanceParameters::even(threshold_de00, 2.05);
        let observer = SimulatedObserver::Noisy(GlanceParameters { lapse: 0.02, ..even });
        let mut rng = observer_stream(99);
        let sight = sight(10, Some((Direction::Lighter, 1.8)));
        let target = Answer::Tooth(sight.signal.unwrap().tooth);
        let found = (0..trials).filter(|_| observer.answer(&sight, &mut rng) == target).count();
        let found = found as f64 / f64::from(trials);
        let right = slipped(10, 2.05, 3.6 / threshold_de00, right, 0.02);
        assert!((found - right).abs() < tolerance, "τ {threshold_de00}: {found} for {right}");
    }
}

/// Natural variation taken for restorations raises false alarms.
#[test]
fn confusion_costs_false_alarms() {
    let mut uneven = nothing();
    uneven.residuals_de00[6] = -2.5;
    let false_alarms = |confusion: f64| {
        let observer = noisy(confusion);
        let mut rng = observer_stream(4);
        (0..4000).filter(|_| observer.answer(&uneven, &mut rng) != Answer::None).count()
    };
    assert!(false_alarms(0.8) > false_alarms(0.0) + 400);
}

/// Who sees one axis only is blind to a pure difference on another, and sees its own part of a
/// mixed one.
#[test]
fn one_axis_hides_the_others() {
    let dark_only = |sight: &Sight| {
        let parameters = GlanceParameters::even(0.1, 5.0);
        let observer = SimulatedObserver::OneAxis(parameters, Axis::Darker);
        observer.answer(sight, &mut observer_stream(5))
    };
    let mut sight = sight(10, Some((Direction::Darker, 2.0)));
    assert_eq!(dark_only(&sight), Answer::Tooth(sight.teeth[1]));
    for direction in &Direction::ALL[1..] {
        sight.signal = Some(SeenDifference::on_axis(sight.teeth[1], *direction, 2.0));
        assert_eq!(dark_only(&sight), Answer::None, "{direction:?}");
    }
    sight.signal =
        Some(SeenDifference { tooth: sight.teeth[1], value: -2.0, chroma: 3.0, hue: -1.0 });
    assert_eq!(dark_only(&sight), Answer::Tooth(sight.teeth[1]));
}

/// Learning and tiring go by the trial's number, in a level as in a measurement.
#[test]
fn a_tiring_observer_lapses_more_in_late_trials_of_a_level() {
    let plan = plan(4, 400);
    let rested = GlanceParameters::even(0.1, 5.0);
    let outcomes =
        run_simulated(&plan, &SimulatedObserver::Tiring(rested), |t| sight_of(&plan, t, 6.0));
    let wrong = |part: &[TrialOutcome]| {
        let summary = GlanceSummary::new(part);
        (summary.found.total - summary.found.successes)
            + (summary.correctly_none.total - summary.correctly_none.successes)
    };
    // Lapses and slips: 4 % at first, 11 % from trial 160 on; 6 against 26 are expected.
    let (early, late) = (wrong(&outcomes[..80]), wrong(&outcomes[160..400]));
    assert!(f64::from(late) / 240.0 > f64::from(early) / 80.0, "{early} {late}");
    assert!(late >= 12, "{late}");
}
