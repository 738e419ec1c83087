//! Psychometric fits and QUEST+ sequences.

use crate::table::{Row, Table};
use second_glance::psychophysics::{
    LevelCount, OutcomeTable, PsychometricFunction, QuestPlus, Shape, entropy,
};
use std::collections::BTreeMap;

fn count(row: &Row<'_>, column: &str) -> u32 {
    let value = row.number(column);
    assert!(value >= 0.0 && value.fract() == 0.0, "{}: {column} = {value}", row.place());
    value as u32
}

/// `psychometric_fit.csv`: scipy 1.17.1 polished with mpmath 1.4.1. Tolerances as its header
/// suggests: 1e-6 relative on parameters, 1e-9 on log likelihoods.
#[test]
fn maximum_likelihood_fits() {
    let mut data: BTreeMap<String, Vec<LevelCount>> = BTreeMap::new();
    for row in Table::read("psychometric_data.csv").rows() {
        data.entry(row.text("dataset").to_owned()).or_default().push(LevelCount {
            level: row.number("level"),
            trials: count(&row, "n"),
            positive: count(&row, "k"),
        });
    }
    let fits = Table::read("psychometric_fit.csv");
    for row in fits.rows() {
        let shape = match row.text("function") {
            "gauss" => Shape::CumulativeGaussian,
            "weibull" => Shape::Weibull,
            other => panic!("{}: unknown function {other:?}", row.place()),
        };
        let (guess, lapse) = (row.number("guess"), row.number("lapse"));
        let fit = PsychometricFunction::fit(shape, guess, lapse, &data[row.text("dataset")])
            .unwrap_or_else(|e| panic!("{}: {e}", row.place()));
        let check = |column: &str, actual: f64, relative: f64, absolute: f64| {
            let expected = row.number(column);
            let allowed = relative * expected.abs() + absolute;
            assert!(
                (actual - expected).abs() <= allowed,
                "{}: {column} is {actual}, expected {expected}",
                row.place()
            );
        };
        check("p1", fit.function.location, 1e-6, 0.0);
        check("p2", fit.function.spread, 1e-6, 0.0);
        check("loglik", fit.ln_likelihood, 0.0, 1e-9);
        check("loglik_full", fit.ln_likelihood_full, 0.0, 1e-9);
        check("deviance", fit.deviance, 0.0, 1e-9);
        check("se1", fit.standard_errors.0, 1e-6, 0.0);
        check("se2", fit.standard_errors.1, 1e-6, 0.0);
        check("corr", fit.correlation, 1e-6, 1e-6);
    }
    assert!(fits.len() >= 12);
}

/// One axis of `questplus_grid.csv`: values and prior weights.
fn grid(sequence: &str, name: &str) -> Vec<(f64, f64)> {
    let table = Table::read("questplus_grid.csv");
    let rows = table.rows().filter(|r| r.text("seq") == sequence && r.text("name") == name);
    rows.map(|r| {
        let weight = if r.text("prior_weight").is_empty() { 1.0 } else { r.number("prior_weight") };
        (r.number("value"), weight)
    })
    .collect()
}

/// The joint grid of one sequence, as lists of threshold, slope and lapse per point.
struct Sequence {
    quest: QuestPlus,
    thresholds: Vec<f64>,
    slopes: Vec<f64>,
    lapses: Vec<f64>,
}

fn sequence(name: &str) -> Sequence {
    let levels: Vec<f64> = grid(name, "intensity").iter().map(|(v, _)| *v).collect();
    let guess = grid(name, "lower_asymptote")[0].0;
    let (mut thresholds, mut slopes, mut lapses, mut prior) = (vec![], vec![], vec![], vec![]);
    for (threshold, a) in grid(name, "threshold") {
        for (slope, b) in grid(name, "slope") {
            for (lapse, c) in grid(name, "lapse_rate") {
                thresholds.push(threshold);
                slopes.push(slope);
                lapses.push(lapse);
                prior.push(a * b * c);
            }
        }
    }
    let logarithmic = match name {
        "1" => true,
        "2" => false,
        other => panic!("questplus.csv: unknown sequence {other:?}"),
    };
    let table = OutcomeTable::new(levels.len(), 2, prior.len(), |x, point, out| {
        // Watson 2017, as the header of questplus.csv writes it.
        let (x, t, s) = (levels[x], thresholds[point], slopes[point]);
        let u = if logarithmic { 10.0_f64.powf(s * (x - t)) } else { (x / t).powf(s) };
        let right = 1.0 - lapses[point] - (1.0 - guess - lapses[point]) * (-u).exp();
        out.copy_from_slice(&[1.0 - right, right]);
    });
    let quest = QuestPlus::new(table.unwrap(), prior).unwrap();
    Sequence { quest, thresholds, slopes, lapses }
}

/// `questplus.csv`: questplus 2023.1 and an independent numpy implementation. The same stimulus on
/// every row; numbers to 1e-9.
#[test]
fn quest_plus_sequences() {
    let table = Table::read("questplus.csv");
    let mut sequences: BTreeMap<String, Sequence> = BTreeMap::new();
    for row in table.rows() {
        let name = row.text("seq");
        let run = sequences.entry(name.to_owned()).or_insert_with(|| sequence(name));
        let (stimulus, expected_entropy) = run.quest.next_stimulus();
        assert_eq!(stimulus, row.number("stimulus_index") as usize, "{}", row.place());
        let mut entropies = run.quest.expected_entropies();
        entropies.sort_by(f64::total_cmp);
        run.quest.update(stimulus, row.number("response") as usize);
        let mean = run.quest.mean(&run.thresholds);
        let squares: Vec<f64> = run.thresholds.iter().map(|t| (t - mean).powi(2)).collect();
        for (column, actual) in [
            ("stimulus", grid(name, "intensity")[stimulus].0),
            ("expected_entropy", expected_entropy),
            ("margin", entropies[1] - entropies[0]),
            ("mean_threshold", mean),
            ("mean_slope", run.quest.mean(&run.slopes)),
            ("mean_lapse", run.quest.mean(&run.lapses)),
            ("sd_threshold", run.quest.mean(&squares).sqrt()),
            ("posterior_entropy", entropy(run.quest.posterior())),
        ] {
            let expected = row.number(column);
            assert!(
                (actual - expected).abs() <= 1e-9,
                "{}: {column} is {actual}, expected {expected}",
                row.place()
            );
        }
    }
    assert!(table.len() >= 80 && sequences.len() == 2);
}
