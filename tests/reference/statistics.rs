//! Signal-detection indices and intervals of proportions.

use crate::table::{Row, Table};
use nalgebra::DMatrix;
use second_glance::psychophysics::{
    IntraclassCorrelation, KappaWeights, Proportion, SignalDetection, clopper_pearson, cohen_kappa,
    forced_choice_d_prime, kendall, pearson, spearman,
};
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

/// sdt.csv: mpmath 1.4.1; `yesno` with the log-linear correction of Hautus 1995, `mafc` as
/// tabulated by Hacker & Ratcliff 1979.
#[test]
fn detection_indices() {
    let (mut checked, mut forced_choice) = (0, 0);
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
            "mafc" => {
                let actual = forced_choice_d_prime(row.number("pc"), count(&row, "m"))
                    .unwrap_or_else(|| panic!("{}: no d'", row.place()));
                check(actual, row.number("dprime"), &row.place(), "d'");
                forced_choice += 1;
            }
            other => panic!("{}: unknown kind {other:?}", row.place()),
        }
    }
    assert!(checked >= 12, "only {checked} yesno rows");
    assert!(forced_choice >= 25, "only {forced_choice} mafc rows");
}

/// The rows of one data set of `stats_data.csv`.
#[derive(Default)]
struct DataSet {
    kind: String,
    pairs: Vec<(f64, f64)>,
    /// Subject, rater, score.
    ratings: Vec<(usize, usize, f64)>,
}

impl DataSet {
    fn proportion(&self) -> Proportion {
        let (successes, total) = self.pairs[0];
        Proportion { successes: successes as u32, total: total as u32 }
    }

    fn categories(&self) -> Vec<(usize, usize)> {
        self.pairs.iter().map(|(a, b)| (*a as usize, *b as usize)).collect()
    }

    fn intraclass(&self) -> IntraclassCorrelation {
        let subjects = self.ratings.iter().map(|r| r.0).max().unwrap();
        let raters = self.ratings.iter().map(|r| r.1).max().unwrap();
        assert_eq!(self.ratings.len(), subjects * raters, "a full table");
        let mut table = DMatrix::zeros(subjects, raters);
        for (subject, rater, score) in &self.ratings {
            table[(subject - 1, rater - 1)] = *score;
        }
        IntraclassCorrelation::new(&table).unwrap()
    }

    fn statistic(&self, name: &str, confidence: impl Fn() -> f64) -> Option<f64> {
        let kappa = |weights| cohen_kappa(&self.categories(), weights);
        let exact = || {
            let p = self.proportion();
            clopper_pearson(p.successes, p.total, confidence())
        };
        match (self.kind.as_str(), name) {
            ("pairs", "kendall_tau_b") => kendall(&self.pairs).map(|k| k.coefficient),
            ("pairs", "kendall_p_asymptotic") => kendall(&self.pairs).map(|k| k.p_value),
            ("pairs", "spearman_rho") => spearman(&self.pairs).map(|s| s.coefficient),
            ("pairs", "spearman_p_t") => spearman(&self.pairs).map(|s| s.p_value),
            ("pairs", "pearson_r") => pearson(&self.pairs),
            ("proportion", "wilson_low") => self.proportion().wilson(confidence()).map(|w| w.0),
            ("proportion", "wilson_high") => self.proportion().wilson(confidence()).map(|w| w.1),
            ("proportion", "clopper_pearson_low") => exact().map(|e| e.0),
            ("proportion", "clopper_pearson_high") => exact().map(|e| e.1),
            ("ratings2", "kappa") => kappa(KappaWeights::Unweighted),
            ("ratings2", "kappa_linear") => kappa(KappaWeights::Linear),
            ("ratings2", "kappa_quadratic") => kappa(KappaWeights::Quadratic),
            ("ratings", "icc_1_1") => Some(self.intraclass().one_way_single),
            ("ratings", "icc_2_1") => Some(self.intraclass().agreement_single),
            ("ratings", "icc_2_k") => Some(self.intraclass().agreement_average),
            ("ratings", "icc_3_1") => Some(self.intraclass().consistency_single),
            (kind, name) => panic!("stats.csv: unknown statistic {name:?} of {kind:?}"),
        }
    }
}

/// stats.csv, every row: scipy 1.17.1, statsmodels 0.15.0 and ANOVA formulas checked with pingouin
/// 0.7.0, on `stats_data.csv`.
#[test]
fn statistics_of_small_data_sets() {
    let mut data: BTreeMap<String, DataSet> = BTreeMap::new();
    for row in Table::read("stats_data.csv").rows() {
        let set = data.entry(row.text("dataset").to_owned()).or_default();
        set.kind = row.text("kind").to_owned();
        if set.kind == "ratings" {
            let (item, rater) = (count(&row, "item") as usize, count(&row, "rater") as usize);
            set.ratings.push((item, rater, row.number("a")));
        } else {
            set.pairs.push((row.number("a"), row.number("b")));
        }
    }
    let table = Table::read("stats.csv");
    for row in table.rows() {
        let name = row.text("statistic");
        let actual = data[row.text("dataset")]
            .statistic(name, || row.number("confidence"))
            .unwrap_or_else(|| panic!("{}: no {name}", row.place()));
        check(actual, row.number("value"), &row.place(), name);
    }
    assert!(table.len() >= 90, "only {} rows", table.len());
}
