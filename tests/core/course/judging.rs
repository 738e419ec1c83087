//! How people and items are judged: by intervals that are right as often as they say.

#![expect(clippy::unwrap_used, reason = "helpers of tests, which may panic")]

use crate::shared::courses::{practical, run};
use second_glance::course::{
    Competency, Form, ItemFlag, SimulatedGroup, SimulatedLearner, Verdict, course_faults,
    item_flags, simulated_sitting, told_classes,
};
use second_glance::level::KnownMaterials;
use second_glance::level::course_format::{Course, PassRule};
use second_glance::level::load::{mistake_in, parse_course};
use second_glance::psychophysics::{Answers, Proportion};
use second_glance::trial::Verdict as Outcome;
use tempfile::tempdir;

/// The share of smiles without a restoration on which a learner names a tooth, over forty sittings.
fn true_false_alarms(learner: &SimulatedLearner, form: &Form) -> f64 {
    let (mut named, mut shown) = (0, 0);
    for seed in 100..140 {
        for row in simulated_sitting(learner, 1, form, seed).unwrap() {
            if row.outcome.restored.is_none() {
                shown += 1;
                named += i32::from(matches!(row.outcome.verdict, Outcome::FalseAlarm(_)));
            }
        }
    }
    f64::from(named) / f64::from(shown)
}

/// Most of thirty learners are told where they stand: a class for their threshold, or that false
/// alarms are too many. What is told is right as often as a 95 % interval holds.
#[test]
fn most_learners_are_told_where_they_stand_and_rightly() {
    let course = practical();
    let form = Form::standard(course.forms[0].seed).unwrap();
    let limits = course.class_limits();
    let mut told = Proportion::default();
    let mut many = Proportion::default();
    for seed in 1..=3 {
        let dir = tempdir().unwrap();
        let group = SimulatedGroup { learners: 30, seed, ..SimulatedGroup::default() };
        let (data, learners) = run(&group, dir.path());
        let here = told_classes(&data, &course, &learners);
        told.successes += here.successes;
        told.total += here.total;
        let last = data.last_sittings();
        let mut open = 0;
        for learner in &learners {
            let (sitting, false_alarms) = last[learner.learner.as_str()];
            let estimate = sitting.estimate.unwrap().threshold_de00();
            match Competency::of(estimate, false_alarms, &limits) {
                Competency::CannotBeTold => open += 1,
                Competency::TooManyFalseAlarms => {
                    many.total += 1;
                    let truth = true_false_alarms(learner, &form);
                    many.successes += u32::from(truth > limits.false_alarms);
                }
                _ => {}
            }
        }
        println!("seed {seed}: {here:?}, {open} of 30 open");
        assert!(open < 15, "seed {seed}: of 30 learners {open} cannot be told");
    }
    println!("classes {told:?}, too many false alarms {many:?}");
    // 95 % at the least, and two standard errors of so many.
    for of in [told, many] {
        let least = 0.95 - 2.0 * (0.95 * 0.05 / f64::from(of.total)).sqrt();
        assert!(of.total >= 15 && of.value().unwrap() >= least, "{of:?}");
    }
}

/// Whether each item of a form is answered rightly by a learner in their first phase.
fn right(learner: &SimulatedLearner, form: &Form) -> Vec<bool> {
    let mut right = vec![false; form.items.len()];
    for row in simulated_sitting(learner, 0, form, 7).unwrap() {
        let item: usize = row.seed_key.rsplit('/').next().unwrap().parse().unwrap();
        right[item] = matches!(row.outcome.verdict, Outcome::Found | Outcome::CorrectlyNone);
    }
    right
}

fn answers(form: &Form, learners: u32, seed: u64) -> Vec<Vec<bool>> {
    let group = SimulatedGroup { learners, seed, ..SimulatedGroup::default() };
    group.draw(1).iter().map(|learner| right(learner, form)).collect()
}

/// A flag is false where the figure that thousands of learners give lies within its bound. Groups
/// of thirty and of two hundred are drawn from the same learners.
#[test]
fn false_flags_are_rare_and_odd_items_are_found() {
    let form = Form::standard(450_101).unwrap();
    let truth = Answers::new(&answers(&form, 3000, 99)).unwrap().items();
    let is_true = |item: usize, flag: ItemFlag| {
        let figures = &truth[item];
        match flag {
            ItemFlag::LittleDiscrimination => figures.d27.unwrap() < 0.20,
            ItemFlag::LittleCorrelation => figures.corrected_r.unwrap() < 0.15,
            ItemFlag::TooEasy => figures.difficulty > 0.95,
            ItemFlag::TooHard => figures.difficulty < 0.10,
        }
    };
    for (people, groups) in [(30, 40), (200, 10)] {
        let (mut with_false, mut flagged) = (0, 0);
        for seed in 0..groups {
            let rows = answers(&form, people, 1000 + seed);
            let figures = Answers::new(&rows).unwrap().items();
            let mut any_false = false;
            for (item, figures) in figures.iter().enumerate() {
                let flags = item_flags(figures, people as usize, form.items.len());
                flagged += usize::from(!flags.is_empty());
                any_false |= flags.iter().any(|flag| !is_true(item, *flag));
            }
            with_false += u32::from(any_false);
        }
        println!(
            "{people} people: {flagged} flagged items in {groups} groups, {with_false} groups with a false flag"
        );
        // One list in twenty, and two standard errors of so many groups.
        let most = 0.05 * groups as f64 + 2.0 * (0.05 * 0.95 * groups as f64).sqrt();
        assert!(f64::from(with_false) <= most, "{people} people: {with_false} of {groups}");
    }
    // An item whose key is wrong: those who see well are marked wrong. Two hundred show it.
    let mut rows = answers(&form, 200, 5);
    let middle = truth
        .iter()
        .enumerate()
        .max_by(|a, b| a.1.corrected_r.unwrap().total_cmp(&b.1.corrected_r.unwrap()))
        .unwrap()
        .0;
    rows.iter_mut().for_each(|row| row[middle] = !row[middle]);
    let figures = Answers::new(&rows).unwrap().items();
    let flags = item_flags(&figures[middle], 200, form.items.len());
    assert!(flags.contains(&ItemFlag::LittleCorrelation), "{flags:?} {:?}", figures[middle]);
}

#[test]
fn a_pass_takes_an_interval_and_a_fail_takes_one_too() {
    let rule = PassRule { threshold_de00: 1.8, false_alarms: 0.25 };
    let dir = tempdir().unwrap();
    let group = SimulatedGroup { learners: 2, seed: 3, ..SimulatedGroup::default() };
    let (data, _) = run(&group, dir.path());
    let mut estimate = data.sittings[0].estimate.unwrap();
    let mut verdict = |threshold: f64, successes| {
        (estimate.ln_threshold, estimate.sd) = (threshold.ln(), 0.136);
        Verdict::of(&estimate, Proportion { successes, total: 16 }, &rule)
    };
    // The band of a cut at 1.8 with an error of 0.136: 1.38 to 2.35. The 95 % interval of 5 of 16
    // is 14 to 56 %, of 8 of 16 28 to 72 % (Wilson, by hand).
    assert_eq!(verdict(1.3, 4), Verdict::Passed);
    assert_eq!(verdict(1.3, 5), Verdict::Borderline);
    assert_eq!(verdict(1.3, 8), Verdict::TooManyFalseAlarms);
    assert_eq!(verdict(1.8, 0), Verdict::Borderline);
    assert_eq!(verdict(2.5, 0), Verdict::ThresholdTooHigh);
}

const TEXT: &str = include_str!("../../../assets/courses/student-practical.ron");

fn course(old: &str, new: &str) -> (Course, String) {
    assert!(TEXT.contains(old), "{old}");
    // So that the rules about the text let it through.
    let fewer = if new.contains("per_cell: 1") { "12" } else { "24" };
    let text = TEXT.replacen(old, new, 1).replacen(
        "least_catch_trials: 24",
        &format!("least_catch_trials: {fewer}"),
        1,
    );
    let levels = ["first-look", "dark-tooth-thin-veneer", "opaque-and-light"];
    let known =
        KnownMaterials { levels: levels.map(str::to_owned).into(), ..KnownMaterials::default() };
    (parse_course("student-practical.ron", &text, &known).unwrap().value, text)
}

/// Marks that no sitting can meet or miss are found, and said where they stand.
#[test]
fn marks_that_forms_cannot_decide_are_explained_at_their_place() {
    assert_eq!(course_faults(&practical()), []);
    let dir = tempdir().unwrap();
    let file = dir.path().join("student-practical.ron");
    for (old, new, place, says) in [
        (
            "pass: (threshold_de00: 1.8",
            "pass: (threshold_de00: 0.4",
            "threshold_de00",
            "nobody can pass",
        ),
        (
            "pass: (threshold_de00: 1.8",
            "pass: (threshold_de00: 7.4",
            "threshold_de00",
            "nobody can fail",
        ),
        ("fine_de00: 1.2", "fine_de00: 0.4", "fine_de00", "nobody can reach a class"),
        ("developing_de00: 2.7", "developing_de00: 7.4", "developing_de00", "nobody can be told"),
        ("seed: 450101, per_cell: 3", "seed: 11, per_cell: 1", "seed", "choose another seed"),
    ] {
        let (course, text) = course(old, new);
        let faults = course_faults(&course);
        let fault = faults.first().unwrap_or_else(|| panic!("{new} is let through"));
        assert!(fault.message.contains(says), "{new}: {fault:?}");
        std::fs::write(&file, &text).unwrap();
        let said = mistake_in(&file, &fault.path, &fault.message, &fault.help);
        let line = text[..text.find(new).unwrap()].matches('\n').count() + 1;
        let row = text.lines().nth(line - 1).unwrap();
        // The value behind the name.
        let column = row.find(place).unwrap() + place.len() + 3;
        let position = said.position.unwrap();
        assert_eq!((position.line, position.column), (line, column), "{said}");
    }
}
