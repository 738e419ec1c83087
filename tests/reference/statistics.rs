//! Signal-detection indices and intervals of proportions.

use crate::table::{Row, Table};
use second_glance::psychophysics::{Proportion, SignalDetection};
use std::collections::BTreeMap;

/// Largest difference allowed. The tables carry full double precision; the inverse normal
/// distribution used here is good to about 1e-10 in its tails.
const TOLERANCE: f64 = 1e-9;

fn count(row: &Row<'_>, column: &str) -> u32 {
    let value = row.number(column);
    assert!(value >= 0.0 && value.fract() == 0.0, "{}: {column} = {value}", row.place());
    value as u32
}

fn check(actual: f64, expected: f64, place: &str, what: &str) {
    assert!(
        (actual - expected).abs() <= TOLERANCE,
        "{place}: {what} is {actual}, expected {expected}"
    );
}

/// sdt.csv, rows `yesno`: mpmath 1.4.1, log-linear correction of Hautus 1995. Rows `mafc` belong
/// to forced-choice tasks and are read for their kind only.
#[test]
fn yes_no_indices() {
    let mut checked = 0;
    for row in Table::read("sdt.csv").rows() {
        match row.text("kind") {
            "yesno" => {
                let hits =
                    Proportion { successes: count(&row, "hits"), total: count(&row, "n_signal") };
                let false_alarms =
                    Proportion { successes: count(&row, "fa"), total: count(&row, "n_noise") };
                let actual = SignalDetection::yes_no(hits, false_alarms)
                    .unwrap_or_else(|| panic!("{}: no indices", row.place()));
                check(actual.d_prime, row.number("dprime"), &row.place(), "d'");
                check(actual.criterion, row.number("criterion"), &row.place(), "criterion");
                checked += 1;
            }
            "mafc" => {}
            other => panic!("{}: unknown kind {other:?}", row.place()),
        }
    }
    assert!(checked >= 12, "only {checked} yesno rows");
}

/// stats.csv, rows `wilson_low` and `wilson_high`: scipy 1.17.1, no continuity correction,
/// on the `proportion` rows of `stats_data.csv`.
#[test]
fn wilson_intervals() {
    let data: BTreeMap<String, Proportion> = Table::read("stats_data.csv")
        .rows()
        .filter(|row| row.text("kind") == "proportion")
        .map(|row| {
            let proportion = Proportion { successes: count(&row, "a"), total: count(&row, "b") };
            (row.text("dataset").to_owned(), proportion)
        })
        .collect();
    let mut checked = 0;
    for row in Table::read("stats.csv").rows() {
        let statistic = row.text("statistic");
        if !statistic.starts_with("wilson") {
            continue;
        }
        let proportion = data[row.text("dataset")];
        let (low, high) = proportion
            .wilson(row.number("confidence"))
            .unwrap_or_else(|| panic!("{}: no interval", row.place()));
        let actual = match statistic {
            "wilson_low" => low,
            "wilson_high" => high,
            other => panic!("{}: unknown statistic {other:?}", row.place()),
        };
        check(actual, row.number("value"), &row.place(), statistic);
        checked += 1;
    }
    assert!(checked >= 20, "only {checked} wilson rows");
}
