//! Test theory and change against other libraries, and one worked example from print.

use crate::table::Table;
use second_glance::psychophysics::{
    Answers, Change, Paired, deconvolved_sd, hedges_g_av, mean_sd, smallest_real_change,
    standard_error_of_measurement,
};
use std::collections::BTreeMap;

/// Sums of tens of numbers in double precision.
const TOLERANCE: f64 = 1e-9;
/// What the other library's iteration for the spread between learners is good to.
const ITERATED: f64 = 1e-6;

fn answers(dataset: &str) -> Answers {
    let mut rows: BTreeMap<u32, Vec<bool>> = BTreeMap::new();
    for row in Table::read("group_data.csv").rows() {
        if row.text("dataset") == dataset && row.text("kind") == "answers" {
            rows.entry(row.number("item") as u32).or_default().push(row.number("a") > 0.5);
        }
    }
    Answers::new(&rows.into_values().collect::<Vec<_>>()).expect("equal rows")
}

fn pairs(dataset: &str) -> Vec<Paired> {
    Table::read("group_data.csv")
        .rows()
        .filter(|row| row.text("dataset") == dataset && row.text("kind") == "change")
        .map(|row| Paired {
            before: row.number("a"),
            before_sem: row.number("c"),
            after: row.number("b"),
            after_sem: row.number("d"),
        })
        .collect()
}

/// group.csv; sources in its header.
#[test]
fn group_statistics() {
    let mut checked = BTreeMap::<String, u32>::new();
    for row in Table::read("group.csv").rows() {
        let (dataset, statistic) = (row.text("dataset"), row.text("statistic"));
        let item = || row.number("item") as usize - 1;
        let change = || Change::new(&pairs(dataset)).expect("a change");
        let (actual, tolerance) = match statistic {
            "kr20" => (answers(dataset).kr20(), TOLERANCE),
            "split_half_odd_even" => (answers(dataset).split_half(|i| i % 2 == 0), TOLERANCE),
            "corrected_r" => (answers(dataset).items()[item()].corrected_r, TOLERANCE),
            "difficulty" => (Some(answers(dataset).items()[item()].difficulty), TOLERANCE),
            "d27" => (answers(dataset).items()[item()].d27, TOLERANCE),
            "mean" => (Some(change().mean), ITERATED),
            "low" => (Some(change().interval.0), ITERATED),
            "high" => (Some(change().interval.1), ITERATED),
            "sd_between" => (Some(change().sd_between), ITERATED),
            other => panic!("{}: unknown statistic {other}", row.place()),
        };
        let (actual, expected) = (actual.expect("a value"), row.number("value"));
        assert!(
            (actual - expected).abs() <= tolerance,
            "{}: {statistic} is {actual}, expected {expected}",
            row.place()
        );
        *checked.entry(statistic.to_owned()).or_default() += 1;
    }
    assert_eq!(checked.len(), 9, "{checked:?}");
}

/// Ten people's ratings of two films: Lakens, Front Psychol 2013;4:863, Table 1 and text (data and
/// results from memory): means 8.7 and 7.7, SD 0.82 and 0.95, difference 1 with 95 % interval 0.52 to 1.48,
/// d av 1.13.
#[test]
fn a_worked_example_from_print() {
    let second = [9.0, 7.0, 8.0, 9.0, 8.0, 9.0, 9.0, 10.0, 9.0, 9.0];
    let first = [9.0, 6.0, 7.0, 8.0, 7.0, 9.0, 8.0, 8.0, 8.0, 7.0];
    let near = |actual: f64, printed: f64| {
        assert!((actual - printed).abs() <= 0.005, "{actual}, printed {printed}");
    };
    let ((m1, s1), (m2, s2)) = (mean_sd(&first).expect("ten"), mean_sd(&second).expect("ten"));
    near(m1, 7.7);
    near(m2, 8.7);
    near(s1, 0.95);
    near(s2, 0.82);
    let pairs: Vec<(f64, f64)> = first.into_iter().zip(second).collect();
    let exact: Vec<Paired> = pairs
        .iter()
        .map(|(before, after)| Paired {
            before: *before,
            before_sem: 0.0,
            after: *after,
            after_sem: 0.0,
        })
        .collect();
    let change = Change::new(&exact).expect("ten pairs");
    near(change.mean, 1.0);
    near(change.interval.0, 0.52);
    near(change.interval.1, 1.48);
    // g is d av times 1 − 3/(4·9 − 1), with 9 degrees of freedom (Cumming 2012; by hand).
    let g = hedges_g_av(&pairs).expect("ten pairs");
    near(g / (1.0 - 3.0 / 35.0), 1.13);
}

/// Ten students and ten items: K. L. Wuensch, "The Kuder-Richardson 20", East Carolina University,
/// <https://core.ecu.edu/wuenschk/StatHelp/KR20.txt>, which prints the answers, the totals, p and pq of
/// every item and the variance of the totals (divisor n), 5.84. KR-20 from these, by its formula:
/// 10/9 (1 - 2.18/5.84) = 0.69635.
#[test]
fn kr20_of_a_worked_example() {
    let rows = [
        "1111110110",
        "1011011101",
        "1111011001",
        "0010001000",
        "0000010010",
        "1110111111",
        "1101110111",
        "1111111101",
        "0101111101",
        "1101101110",
    ];
    let rows = rows.map(|row| row.bytes().map(|b| b == b'1').collect::<Vec<bool>>());
    let answers = Answers::new(&rows).expect("ten rows of ten");
    assert_eq!(answers.totals(), [8.0, 7.0, 7.0, 2.0, 2.0, 9.0, 8.0, 9.0, 7.0, 7.0]);
    let printed_p = [0.7, 0.7, 0.6, 0.7, 0.6, 0.8, 0.7, 0.7, 0.5, 0.6];
    for (item, p) in answers.items().iter().zip(printed_p) {
        assert!((item.difficulty - p).abs() < 1e-12, "{item:?}");
    }
    let (_, sd) = mean_sd(&answers.totals()).expect("ten");
    assert!((0.9 * sd * sd - 5.84).abs() < 1e-9);
    let kr20 = answers.kr20().expect("spread");
    assert!((kr20 - 0.696_35).abs() < 5e-6, "{kr20}");
}

/// By hand.
#[test]
fn errors_of_measuring() {
    // 10 √(1 − 0.84) = 4; 1.959964 √2 · 4 = 11.0873.
    assert!((standard_error_of_measurement(10.0, 0.84) - 4.0).abs() < 1e-12);
    assert!((smallest_real_change(4.0) - 11.087_23).abs() < 1e-4);
    // Values 1, 2, 3 have variance 1; errors of 0.6 leave √(1 − 0.36) = 0.8.
    let sd = deconvolved_sd(&[1.0, 2.0, 3.0], &[0.6; 3]).expect("three");
    assert!((sd - 0.8).abs() < 1e-12);
    assert_eq!(deconvolved_sd(&[1.0, 2.0, 3.0], &[2.0; 3]), Some(0.0));
    // No items, no variance, no pairs: no figure, and no panic.
    assert_eq!(Answers::new(&[]), None);
    assert_eq!(Answers::new(&[vec![true], vec![true, false]]), None);
    let all_right = Answers::new(&[vec![true, true], vec![true, true]]).expect("even");
    assert_eq!((all_right.kr20(), all_right.split_half(|i| i == 0)), (None, None));
    assert_eq!(all_right.items()[0].d27, None);
    assert_eq!(Change::new(&[]), None);
    assert_eq!(hedges_g_av(&[(1.0, 1.0), (2.0, 2.0)]), None);
}
