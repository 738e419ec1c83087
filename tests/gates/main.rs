//! Recovery gates: simulated observers whose parameters are known go through the whole
//! instrument, and the parameters must come back.
//!
//! `cargo test --no-default-features --test gates` runs few observers and allows the gates two
//! standard errors of the simulation. `cargo test --release --no-default-features --test gates --
//! --ignored --nocapture` runs 400 a cell (500 where ranks are judged) against the gates themselves and
//! prints the table that `tests/gates/recovery.md` holds; with `SECOND_GLANCE_CELL` set, only the cells
//! whose names hold that text; with `SECOND_GLANCE_SEED`, other observers and answers of the same
//! kind; with `SECOND_GLANCE_RUNS`, so many.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod cells;
mod observers;
mod options;
mod published;

use cells::{Cell, Recovered, Recovery, Run, Truths, recovery};
use second_glance::psychophysics::Axis;
use std::fmt::Write;

/// Gates of one cell. Design choices, except that coverage is nominal give or take 2.5 points; it
/// may be higher where standard errors are conservative.
struct Gates {
    rmse: f64,
    criterion_rmse: Option<f64>,
    false_alarm_rmse: Option<f64>,
    shrinkage: f64,
}

const BIAS: f64 = 0.03;
const COVERAGE: (f64, f64) = (0.925, 0.99);
/// The misspecified observer: bias of the full fit, its coverage.
const BIASED_BIAS: f64 = 0.05;
const BIASED_COVERAGE: f64 = 0.90;
/// The criterion after 60 trials. The posterior under the very law the learners are drawn from, the
/// best estimate there is, has an RMSE of 0.194 (mean variance over 200 runs of the cell); two standard
/// errors of 400 runs more, 2 · 0.194 / √800. The design's 0.20 is what the best estimate misses in
/// one seed of five; the documentation of the instrument and recovery.md tell how that was found.
const CRITERION_RMSE: f64 = 0.208;
/// 99 % point of χ² with 9 degrees of freedom (statrs 0.19 `ChiSquared::inverse_cdf`).
const RANKS: f64 = 21.666;

fn cells() -> Vec<(Cell, Option<Gates>)> {
    let cell = |name, axes: &[Axis], teeth, trials, truths| Cell {
        name,
        axes: axes.to_vec(),
        teeth,
        trials,
        truths,
    };
    let one = [Axis::Darker];
    let gates =
        |rmse, shrinkage| Gates { rmse, criterion_rmse: None, false_alarm_rmse: None, shrinkage };
    vec![
        (
            cell("one axis, 60 trials", &one, 10, Some(60), Truths::Typical),
            Some(Gates {
                criterion_rmse: Some(CRITERION_RMSE),
                false_alarm_rmse: Some(0.07),
                ..gates(0.16, 0.05)
            }),
        ),
        (
            cell("four axes, 120 trials", &Axis::ALL, 10, Some(120), Truths::Typical),
            Some(gates(0.17, 0.12)),
        ),
        (cell("biased, one axis, 120 trials", &one, 10, Some(120), Truths::Biased), None),
        (
            cell("drawn from the prior, one axis, 60 trials", &one, 10, Some(60), Truths::Prior),
            None,
        ),
        (cell("one axis, stop rule", &one, 10, None, Truths::Typical), None),
        (cell("four axes, stop rule", &Axis::ALL, 10, None, Truths::Typical), None),
        (
            cell("one axis of chroma, 60 trials", &[Axis::Chroma], 10, Some(60), Truths::Typical),
            None,
        ),
        (cell("one axis, 60 trials, six teeth", &one, 6, Some(60), Truths::Typical), None),
    ]
}

fn of(runs: &[Run], quantity: impl Fn(&Run) -> Vec<Recovered>) -> Recovery {
    recovery(&runs.iter().flat_map(quantity).collect::<Vec<_>>())
}

/// Standard error of a coverage near 95 % over `n` intervals.
fn coverage_se(n: f64) -> f64 {
    (0.95 * 0.05 / n).sqrt()
}

/// Breaches of the gates, allowing each `slack` standard errors of the simulation.
fn breaches(cell: &Cell, gates: Option<&Gates>, runs: &[Run], slack: f64) -> Vec<String> {
    let mut found = Vec::new();
    let mut gate = |what: &str, value: f64, low: f64, high: f64, se: f64| {
        if !(value >= low - slack * se && value <= high + slack * se) {
            let name = cell.name;
            found.push(format!("{name}: {what} {value:.4} outside {low} to {high} (± {se:.4})"));
        }
    };
    let n = runs.len() as f64;
    let tau = of(runs, |r| r.ln_threshold.clone());
    let points = n * cell.axes.len() as f64;
    if cell.truths == Truths::Biased {
        let simple = of(runs, |r| r.simple.clone());
        gate("bias of ln τ", tau.bias, -BIASED_BIAS, BIASED_BIAS, tau.bias_se);
        gate("coverage", tau.coverage, BIASED_COVERAGE, 1.0, coverage_se(points));
        // The simple fit must fail, or the cell could not see the problem.
        gate("coverage of the simple fit", simple.coverage, 0.0, BIASED_COVERAGE, 0.0);
        gate("bias of the simple fit", simple.bias, BIASED_BIAS, 1.0, 0.0);
    }
    if let Some(gates) = gates {
        let rmse_se = |r: &Recovery| r.rmse / (2.0 * n).sqrt();
        gate("bias of ln τ", tau.bias, -BIAS, BIAS, tau.bias_se);
        gate("RMSE of ln τ", tau.rmse, 0.0, gates.rmse, rmse_se(&tau));
        gate("coverage", tau.coverage, COVERAGE.0, COVERAGE.1, coverage_se(points));
        let shrinkage_se = tau.rmse / (0.4 * points.sqrt());
        gate("shrinkage", tau.shrinkage, -gates.shrinkage, gates.shrinkage, shrinkage_se);
        for (place, x) in ["0.8", "1.8"].into_iter().enumerate() {
            let at = of(runs, |r| r.ln_d_prime[place].clone());
            let what = format!("coverage of d′ at {x}");
            gate(&what, at.coverage, COVERAGE.0, 1.0, coverage_se(points));
        }
        let c = of(runs, |r| vec![r.criterion]);
        if let Some(limit) = gates.criterion_rmse {
            gate("RMSE of c", c.rmse, 0.0, limit, rmse_se(&c));
        }
        if let Some(limit) = gates.false_alarm_rmse {
            let fa = of(runs, |r| vec![r.false_alarms]);
            gate("RMSE of the false-alarm rate", fa.rmse, 0.0, limit, rmse_se(&fa));
        }
    }
    if cell.truths == Truths::Prior {
        let c = of(runs, |r| vec![r.criterion]);
        gate("ranks of τ, χ²", tau.rank_chi2, 0.0, RANKS, 0.0);
        gate("ranks of c, χ²", c.rank_chi2, 0.0, RANKS, 0.0);
    }
    if runs.iter().any(|r| !r.converged) {
        found.push(format!("{}: a fit did not converge", cell.name));
    }
    found
}

fn table_row(cell: &Cell, runs: &[Run]) -> String {
    let mut text = String::new();
    let mut row = |what: &str, r: Recovery| {
        let name = cell.name;
        let (bias, se, rmse, shrinkage) = (r.bias, r.bias_se, r.rmse, r.shrinkage);
        let _ = write!(text, "| {name} | {what} | {bias:+.3} ± {se:.3} | {rmse:.3} |");
        let (sd, coverage, chi2) = (r.stated_sd, r.coverage, r.rank_chi2);
        let _ = writeln!(text, " {sd:.3} | {coverage:.3} | {shrinkage:+.2} | {chi2:.1} |");
    };
    row("ln τ", of(runs, |r| r.ln_threshold.clone()));
    if cell.truths == Truths::Biased {
        row("ln τ, simple fit", of(runs, |r| r.simple.clone()));
    }
    row("ln d′ at 0.8", of(runs, |r| r.ln_d_prime[0].clone()));
    row("ln d′ at 1.8", of(runs, |r| r.ln_d_prime[1].clone()));
    row("c", of(runs, |r| vec![r.criterion]));
    if cell.truths == Truths::Biased {
        row("b", of(runs, |r| vec![r.side_bias]));
    }
    row("false-alarm rate", of(runs, |r| vec![r.false_alarms]));
    row("κ", of(runs, |r| vec![r.confusion]));
    let wilson = runs.iter().filter(|r| r.wilson).count() as f64 / runs.len() as f64;
    let mut trials: Vec<u32> = runs.iter().map(|r| r.trials).collect();
    trials.sort_unstable();
    let least = runs.iter().map(|r| r.effective).fold(f64::INFINITY, f64::min);
    let at = |share: f64| trials[((trials.len() - 1) as f64 * share) as usize];
    let _ = writeln!(
        text,
        "| {} | Wilson coverage {wilson:.3}; trials {} ({}-{}); effective draws {:.0} ({least:.0}) | | | | | | |",
        cell.name,
        at(0.5),
        at(0.1),
        at(0.9),
        runs.iter().map(|r| r.effective).sum::<f64>() / runs.len() as f64,
    );
    text
}

#[test]
fn parameters_come_back() {
    let mut found = Vec::new();
    for ((cell, gates), count) in cells().iter().zip([80, 20, 40]) {
        let runs = cell.runs(count);
        print!("{}", table_row(cell, &runs));
        found.extend(breaches(cell, gates.as_ref(), &runs, 2.0));
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// Confusion at the ends of its range, where the logistic scale of the fit cannot reach. The prior
/// draws the estimates inwards; the thresholds must not suffer, and at 0 the interval must say
/// that none was found.
#[test]
fn confusion_at_the_ends_of_its_range_spoils_no_threshold() {
    for (name, truths) in
        [("κ of 0, 160 trials", Truths::Unconfused), ("κ of 1, 160 trials", Truths::Confused)]
    {
        let cell = Cell { name, axes: vec![Axis::Darker], teeth: 10, trials: Some(160), truths };
        let runs = cell.runs(40);
        print!("{}", table_row(&cell, &runs));
        let tau = of(&runs, |r| r.ln_threshold.clone());
        // As the biased observer: within 5 %, two standard errors of the simulation allowed.
        assert!(tau.bias.abs() <= BIASED_BIAS + 2.0 * tau.bias_se, "{name}: {tau:?}");
        assert!(tau.coverage >= BIASED_COVERAGE - 2.0 * coverage_se(40.0), "{name}: {tau:?}");
        let found = runs.iter().map(|r| r.confusion.estimate).sum::<f64>() / 40.0;
        if truths == Truths::Unconfused {
            // Drawn towards the prior's 0.3 (about 0.18 is found): what is reported as found is the
            // interval, which must reach 0.
            assert!(found < 0.3, "{found}");
            let held = runs.iter().filter(|r| r.confusion.held).count();
            // At the 2.5 % level 39 of 40 are expected; 3 in 1000 fall below 36.
            assert!(held >= 36, "{held} of 40 intervals begin at 0");
        } else {
            assert!(found > 0.5, "{found}");
        }
    }
}

#[test]
#[ignore = "400 runs a cell take minutes in a release build"]
fn parameters_come_back_in_400_runs() {
    let mut found = Vec::new();
    println!(
        "| cell | quantity | bias ± SE | RMSE | stated SD | coverage | shrinkage | ranks χ² |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    let only = std::env::var("SECOND_GLANCE_CELL").unwrap_or_default();
    for (cell, gates) in cells().into_iter().filter(|(cell, _)| cell.name.contains(&only)) {
        // Ranks ask for more than errors do.
        let count = if cell.truths == Truths::Prior { 500 } else { 400 };
        let asked = std::env::var("SECOND_GLANCE_RUNS").ok();
        let count = asked.map_or(count, |text| text.parse().unwrap());
        let runs = cell.runs(count);
        print!("{}", table_row(&cell, &runs));
        found.extend(breaches(&cell, gates.as_ref(), &runs, 0.0));
    }
    assert!(found.is_empty(), "{}", found.join("\n"));
}
