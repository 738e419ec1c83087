//! The search task: shares found in time come back from simulated searches.

use rand::RngExt;
use second_glance::psychophysics::{SearchError, SearchFit, SearchTrial};
use second_glance::random::{Purpose, StreamKey};

/// Coefficients of the simulated hazard per 250 ms. Design choices.
const TRUTH: [f64; 3] = [-2.6, 0.5, 1.2];

fn hazard(bin: usize, x: f64) -> f64 {
    let t = 0.25 * (bin as f64 + 0.5);
    1.0 / (1.0 + (-(TRUTH[0] + TRUTH[1] * t.ln() + TRUTH[2] * x.ln())).exp())
}

fn found_by(bins: usize, x: f64) -> f64 {
    1.0 - (0..bins).map(|bin| 1.0 - hazard(bin, x)).product::<f64>()
}

/// `signal` trials over four differences and a third as many catch trials; `wrong` of the searches
/// end on a wrong tooth at 1 s.
fn search(seed: u64, signal: u32, wrong: f64) -> Vec<SearchTrial> {
    let purpose = Purpose::Observer;
    let key = StreamKey { form: "search", seed, purpose, block: 0, trial: 0 };
    let mut rng = key.stream();
    let mut trials = Vec::new();
    for i in 0..signal {
        let x = [0.8, 1.8, 3.0, 5.0][i as usize % 4];
        let lost = rng.random::<f64>() < wrong;
        let bin = (0..32).find(|bin| rng.random::<f64>() < hazard(*bin, x));
        let (pressed_s, right) = match bin {
            _ if lost => (Some(1.0), false),
            Some(bin) => (Some(0.25 * bin as f64 + 0.1), true),
            None => (None, false),
        };
        trials.push(SearchTrial { de00: Some(x), pressed_s, right });
        if i % 3 == 0 {
            let pressed_s = (rng.random::<f64>() < 0.2).then_some(2.0);
            trials.push(SearchTrial { de00: None, pressed_s, right: false });
        }
    }
    trials
}

#[test]
fn shares_found_in_time_come_back() {
    let runs = 200;
    for (x, bins) in [(0.8, 10), (1.8, 10), (3.0, 10)] {
        let truth = found_by(bins, x);
        let (mut covered, mut sum) = (0, 0.0);
        for seed in 0..runs {
            let found = SearchFit::new(&search(seed, 48, 0.0)).unwrap().found_within(2.5, x);
            covered += u32::from(found.low <= truth && truth <= found.high);
            sum += found.value;
        }
        // 200 runs: 95 % ± 2 × 1.5 points.
        let coverage = f64::from(covered) / runs as f64;
        assert!((0.92..=0.99).contains(&coverage), "x {x}: coverage {coverage}");
        let bias = sum / runs as f64 - truth;
        assert!(bias.abs() < 0.02, "x {x}: bias {bias}");
    }
}

#[test]
fn a_wrong_tooth_is_a_failure_and_not_a_search_cut_short() {
    let fit = SearchFit::new(&search(1, 4000, 0.3)).unwrap();
    let found = fit.found_within(2.5, 3.0).value;
    // Three searches in ten end on a wrong tooth, whatever time is left.
    let truth = 0.7 * found_by(10, 3.0);
    assert!((found - truth).abs() < 0.04, "{found}, {truth}");
}

#[test]
fn times_and_false_presses() {
    let fit = SearchFit::new(&search(2, 3000, 0.0)).unwrap();
    let half = fit.half_time_s(1.8).unwrap();
    let bins = (half / 0.25).floor() as usize;
    assert!(found_by(bins.saturating_sub(1), 1.8) < 0.5 && found_by(bins + 2, 1.8) > 0.5, "{half}");
    assert_eq!(fit.half_time_s(0.05), None);
    let (low, high) = fit.false_presses().wilson(0.99).unwrap();
    assert!(low < 0.2 && 0.2 < high);
    let times = |t: &[f64]| {
        let of = |t: &f64| SearchTrial { de00: Some(2.0), pressed_s: Some(*t), right: true };
        SearchFit::new(&t.iter().map(of).collect::<Vec<_>>()).unwrap().median_correct_time_s()
    };
    assert_eq!(times(&[3.0, 1.0, 2.0]), Some(2.0));
    assert_eq!(times(&[3.0, 1.0]), Some(2.0));
}

#[test]
fn extremes_stay_finite_and_impossible_trials_are_refused() {
    for right in [true, false] {
        let trial = SearchTrial { de00: Some(1.8), pressed_s: Some(0.6), right };
        let found = SearchFit::new(&[trial; 24]).unwrap().found_within(2.5, 1.8);
        assert!(found.low > 0.0 && found.high <= 1.0 && found.low < found.high, "{found:?}");
        assert_eq!(found.value > 0.5, right);
    }
    let catch = SearchTrial { de00: None, pressed_s: None, right: false };
    assert_eq!(SearchFit::new(&[catch]), Err(SearchError::NoSignal));
    for wrong in [
        SearchTrial { de00: Some(0.0), ..catch },
        SearchTrial { pressed_s: Some(f64::NAN), ..catch },
        SearchTrial { right: true, ..catch },
    ] {
        assert!(matches!(SearchFit::new(&[wrong]), Err(SearchError::Trial { index: 0, .. })));
    }
}
