//! Recovery gates.
#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]
mod cells;
use cells::*;
use second_glance::psychophysics::{Axis, Fit};

#[test]
fn explore() {
    for (name, axes, trials, biased, fit) in [
        ("one axis 60", vec![Axis::Darker], 60, false, Fit::Full),
        ("four axes 120", FOUR.to_vec(), 120, false, Fit::Full),
        ("biased 120 full", vec![Axis::Darker], 120, true, Fit::Full),
        ("biased 120 simple", vec![Axis::Darker], 120, true, Fit::Simple),
    ] {
        let start = std::time::Instant::now();
        let cell = Cell { name, axes, teeth: 10, trials: Some(trials), biased, fit };
        let n: u32 = std::env::var("RUNS").ok().and_then(|r| r.parse().ok()).unwrap_or(40);
        let runs = cell.runs(n);
        println!("time {:?}", start.elapsed());
        let t: Vec<_> = runs.iter().flat_map(|r| r.ln_threshold.clone()).collect();
        println!("{name} tau {:?}", recovery(&t));
        println!("   c {:?}", recovery(&runs.iter().map(|r| r.criterion).collect::<Vec<_>>()));
        println!("   b {:?}", recovery(&runs.iter().map(|r| r.side_bias).collect::<Vec<_>>()));
        println!(
            "   fa {:?}",
            recovery(
                &runs.iter().map(|r| (r.false_alarms.0, r.false_alarms.1, 1.0)).collect::<Vec<_>>()
            )
        );
        println!(
            "   wilson {}",
            runs.iter().filter(|r| r.wilson.0 <= r.wilson.2 && r.wilson.2 <= r.wilson.1).count()
                as f64
                / f64::from(n)
        );
        println!("   {:?}", start.elapsed());
    }
}
