//! Bracket: two options to mill, and the chance that one of them blends.

use crate::shared::learners::{LEARNERS, plays};
use crate::shared::levels::level;
use rand::RngExt;
use second_glance::bake::{Estimator, ZoneDifference};
use second_glance::colorimetry::{ACCEPTABILITY_DE00, Lch};
use second_glance::exercise::{
    Answer, BracketAnswer, BracketOption, BracketPair, BracketTask, Round, Task, lay_out,
};
use second_glance::material::Library;
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::{Preparation, Restoration};
use statrs::distribution::{ContinuousCDF, Normal};
use std::sync::OnceLock;

fn round() -> &'static (Library, Round) {
    static ROUND: OnceLock<(Library, Round)> = OnceLock::new();
    ROUND.get_or_init(|| {
        let library = Library::shipped().unwrap();
        let level = level("bracket-single-central");
        let started = std::time::Instant::now();
        let round = lay_out(&level, &library, level.seed, Some(4)).unwrap();
        println!("four questions laid out in {:?}", started.elapsed());
        (library, round)
    })
}

fn tasks(round: &Round) -> impl Iterator<Item = &BracketTask> {
    round.questions.iter().map(|question| match &question.task {
        Task::Bracket(task) => task,
        other => panic!("{}", other.name()),
    })
}

#[test]
fn the_same_seed_gives_the_same_chances() {
    let (library, round) = round();
    let level = level("bracket-single-central");
    let again = lay_out(&level, library, level.seed, Some(1)).unwrap();
    assert_eq!(again.questions[0], round.questions[0]);
}

#[test]
fn chances_are_those_of_cases_drawn_one_by_one() {
    // An independent Monte-Carlo run: every draw through the optics of the whole face.
    let (library, round) = round();
    let question = &round.questions[0];
    let Task::Bracket(task) = &question.task else { panic!() };
    let case = &question.sights[0].case;
    let natural = case.patient.teeth.iter().find(|t| t.tooth == task.tooth).unwrap();
    let estimator = Estimator::new(natural, case.seed, case.illuminant, library).unwrap();
    let key = StreamKey { form: "check", seed: 1, purpose: Purpose::Scene, block: 0, trial: 0 };
    let mut stream = key.stream();
    let normal = Normal::standard();
    let mut deviate = || normal.inverse_cdf(stream.random_range(1e-6..1.0 - 1e-6));
    let best = task.pairs[0];
    let draws = 200;
    let mut hits = 0;
    for _ in 0..draws {
        let shift = task.prepared_sd * deviate();
        let medium = library.prepared_tooth_shifted(&task.prepared_tooth, shift).unwrap();
        let mut either = false;
        for option in best.options {
            let base = question.sights[option].case.restoration().unwrap();
            let mm = task.thickness_sd_mm * deviate();
            let mut piece: Restoration = base.clone();
            piece.thickness.neck_mm += mm;
            piece.thickness.body_mm += mm;
            piece.thickness.incisal_mm += mm;
            let zones = estimator.zones_over(&piece, &medium).unwrap();
            let difference = ZoneDifference::of_thirds(estimator.natural_zones(), &zones);
            either |= difference.de00 <= ACCEPTABILITY_DE00;
        }
        hits += u32::from(either);
    }
    let chance = f64::from(hits) / f64::from(draws);
    // Three standard errors of both runs.
    let p = best.chance.clamp(0.05, 0.95);
    let error = (p * (1.0 - p) * (1.0 / f64::from(draws) + 1.0 / task.draws as f64)).sqrt();
    println!("{:.3} against {chance:.3} drawn one by one, error {error:.3}", best.chance);
    assert!((chance - best.chance).abs() < 3.0 * error);
}

#[test]
fn two_options_succeed_at_least_as_often_as_the_better_of_them() {
    let (_, round) = round();
    let (mut straddling, mut inside, mut gained) = (0, 0, 0.0);
    for (question, task) in round.questions.iter().zip(tasks(round)) {
        for pair in &task.pairs {
            let [a, b] = pair.options.map(|i| task.options[i].acceptable);
            assert!(pair.chance >= a.max(b) && pair.chance <= (a + b).min(1.0) + 1e-12);
        }
        assert!(task.pairs.is_sorted_by(|a, b| a.chance >= b.chance));
        let best = task.pairs[0];
        for option in &task.options {
            println!("{:.2} {:?}", option.acceptable, option.value_percentiles);
        }
        println!("{best:?} {:?}", task.place_between(best.options));
        let outside = task.options.iter().all(|option| option.estimate.dl00 < 0.0);
        assert_eq!(outside, question.catch);
        inside += u32::from(!outside);
        let single = task.options.iter().map(|option| option.acceptable).fold(0.0, f64::max);
        gained += best.chance - single;
        let bounds = task.place_between(best.options).is_some();
        straddling += u32::from(bounds);
        // Trade fact 9, two options either side of the estimate (common practice, no source): the
        // best two bound the tooth in value, or one of them is on it within half of what is
        // noticed.
        let on_it = |i: &usize| task.options[*i].estimate.dl00.abs() <= 0.4;
        assert!(outside || bounds || best.options.iter().any(on_it), "{best:?}");
        assert!(best.chance >= task.pairs.last().unwrap().chance + 0.15, "nothing to choose");
    }
    let gained = gained / round.questions.len() as f64;
    println!("{straddling} of {inside} best pairs lie on either side; they gain {gained:.3}");
    // Trade fact 9: two beat a single guess, by more than the draws can tell by chance.
    assert!(gained > 0.02, "{gained}");
}

#[test]
fn learners_choose_as_well_as_they_see() {
    let (_, round) = round();
    let results = LEARNERS.map(|learner| plays(round, &learner, 12));
    println!("{results:?}");
    let [ideal, noisy, biased, random] = results;
    assert!((ideal.0 - 100.0).abs() < 1e-9, "{ideal:?}");
    assert!(ideal.0 > noisy.0 && noisy.0 > random.0);
    assert!(biased.0 < ideal.0);
}

#[test]
fn placing_is_marked_as_worked_by_hand() {
    let option = |dl00: f64| BracketOption {
        recipe: second_glance::exercise::Recipe::of(&restoration()),
        estimate: ZoneDifference { de00: dl00.abs(), dl00, dc00: 0.0, dh00: 0.0 },
        acceptable: 0.5,
        value_percentiles: [dl00 - 0.5, dl00, dl00 + 0.5],
    };
    let pair = |options, chance| BracketPair { options, chance, expected_de00: 1.0 - chance };
    let task = BracketTask {
        tooth: restoration().tooth,
        prepared_tooth: "brown".to_owned(),
        thickness_sd_mm: 0.1,
        prepared_sd: 3.0,
        options: vec![option(0.8), option(-1.2), option(-2.0)],
        pairs: vec![pair([0, 1], 0.8), pair([0, 2], 0.6), pair([1, 2], 0.4)],
        draws: 1000,
    };
    // Low -1.2, high +0.8: the tooth lies at 1.2 / 2.0 = 0.60; 0.75 is 0.15 × 2.0 = 0.30 off.
    let (place, width) = task.place_between([1, 0]).unwrap();
    assert!((place - 0.6).abs() < 1e-12 && (width - 2.0).abs() < 1e-12);
    let answer = BracketAnswer { options: [1, 0], placed: Some(0.75) };
    assert!((task.placing_error(&answer).unwrap() - 0.3).abs() < 1e-12);
    // Both darker: no bracket.
    assert_eq!(task.place_between([1, 2]), None);
    let question = second_glance::exercise::Question {
        number: 0,
        seed_key: "hand".to_owned(),
        catch: false,
        sights: Vec::new(),
        task: Task::Bracket(task),
    };
    let mark = |options, placed| question.mark(&Answer::Bracket(BracketAnswer { options, placed }));
    let best = mark([1, 0], Some(0.75)).unwrap();
    println!("{:#?}", best.sentences);
    assert_eq!((best.score, best.right), (Some(100.0), Some(true)));
    // 0.4 of 0.8.
    let worst = mark([2, 1], Some(0.5)).unwrap();
    assert!((worst.score.unwrap() - 50.0).abs() < 1e-9 && worst.right == Some(false));
    assert!(worst.sentences.iter().any(|s| s.contains("they do not bound it")), "{worst:?}");
    assert!((worst.regret_de00.unwrap() - 0.4).abs() < 1e-9);
    assert!(mark([1, 1], None).is_err() && mark([0, 3], None).is_err());
    assert!(mark([0, 1], Some(1.2)).is_err());
}

fn restoration() -> Restoration {
    let (_, round) = round();
    let mut restoration = round.questions[0].sights[0].case.restoration().unwrap().clone();
    restoration.preparation = Preparation::Veneer;
    restoration.ceramic.shade = Lch { l: 76.0, c: 15.0, h: 90.0 };
    restoration
}
