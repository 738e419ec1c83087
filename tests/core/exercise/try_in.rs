//! Try-in: what cements do, said before it is seen, and the choice for later.

use crate::shared::learners::{LEARNERS, plays};
use crate::shared::levels::level;
use second_glance::bake::{ZoneDifference, bake};
use second_glance::colorimetry::ACCEPTABILITY_DE00;
use second_glance::exercise::{
    Answer, EffectDirection, Learner, Prediction, Round, Task, TryInAnswer, TryInTask, lay_out,
};
use second_glance::material::Library;
use std::sync::OnceLock;

fn round() -> &'static (Library, Round) {
    static ROUND: OnceLock<(Library, Round)> = OnceLock::new();
    ROUND.get_or_init(|| {
        let library = Library::shipped().unwrap();
        let level = level("try-in-for-later");
        let round = lay_out(&level, &library, level.seed, Some(8)).unwrap();
        (library, round)
    })
}

fn tasks(round: &Round) -> impl Iterator<Item = &TryInTask> {
    round.questions.iter().map(|question| match &question.task {
        Task::TryIn(task) => task,
        other => panic!("{}", other.name()),
    })
}

fn effect(de00: f64, dl00: f64, dc00: f64) -> ZoneDifference {
    ZoneDifference { de00, dl00, dc00, dh00: 0.0 }
}

#[test]
fn predictions_are_scored_as_worked_by_hand() {
    let said = |direction, size_de00| Prediction { direction, size_de00 };
    let darker = effect(1.3, -1.3, 0.0);
    // Said -0.8, truth -1.3: off by 0.5, 100 (1 - 0.5 / 1.8) = 72.
    let near = said(EffectDirection::Darker, 0.8);
    assert!((near.error(&darker) - 0.5).abs() < 1e-12);
    assert_eq!(near.score(&darker).round(), 72.0);
    assert_eq!(said(EffectDirection::Darker, 1.3).score(&darker), 100.0);
    // The wrong way: off by 2.1.
    assert_eq!(said(EffectDirection::Lighter, 0.8).score(&darker), 0.0);
    // "None" is off by the whole effect: 100 (1 - 1.3 / 1.8) = 28; so is another kind of effect.
    assert_eq!(said(EffectDirection::None, 0.0).score(&darker).round(), 28.0);
    assert_eq!(said(EffectDirection::Warmer, 1.0).score(&darker).round(), 28.0);
    let warmer = effect(1.4, -0.6, 1.2);
    assert_eq!(EffectDirection::of(&warmer), EffectDirection::Warmer);
    assert_eq!(said(EffectDirection::Warmer, 1.2).score(&warmer), 100.0);
    let nothing = effect(0.2, -0.2, 0.0);
    assert_eq!(EffectDirection::of(&nothing), EffectDirection::None);
    // Off by 0.2, which nobody sees, in the right direction: as good as exact.
    assert_eq!(said(EffectDirection::None, 0.0).score(&nothing), 100.0);
    assert_eq!(said(EffectDirection::Darker, 1.05).score(&darker), 100.0);
    // Off by as little, but something was said where nothing is: 100 (1 - 0.2 / 1.8) = 89.
    assert_eq!(said(EffectDirection::Darker, 0.4).score(&nothing).round(), 89.0);
    // 1.8 said where nothing is: off by 1.8 + 0.2 lighter.
    assert_eq!(said(EffectDirection::Lighter, 1.8).score(&nothing), 0.0);
    assert_eq!(said(EffectDirection::Warmer, 1.8).score(&nothing), 0.0);
}

#[test]
fn a_quarter_of_the_effects_are_none() {
    let (_, round) = round();
    let none = |task: &TryInTask| {
        task.asked().iter().filter(|c| c.direction == EffectDirection::None).count()
    };
    let asked: usize = tasks(round).map(|task| task.asked().len()).sum();
    let without: usize = tasks(round).map(none).sum();
    assert_eq!(4 * without, asked);
    for (question, task) in round.questions.iter().zip(tasks(round)) {
        assert_eq!(question.sights.len(), task.cements.len());
        for cement in task.asked() {
            println!("{} {:?} {:?}", cement.cement, cement.direction, cement.effect);
            assert_eq!(cement.effect.de00 < 0.3, question.catch, "{cement:?}");
        }
    }
}

#[test]
fn the_truth_is_that_of_the_smiles_shown() {
    let (library, round) = round();
    let question = &round.questions[0];
    let Task::TryIn(task) = &question.task else { panic!() };
    for (sight, cement) in question.sights.iter().zip(&task.cements) {
        let seated = bake(&sight.case, library).unwrap().truth.unwrap();
        assert_eq!(seated.difference, cement.at_seating);
        let later = bake(&task.after(&sight.case), library).unwrap().truth.unwrap();
        assert_eq!(later.difference, cement.after);
        let [low, high] = cement.after_quartiles_de00;
        assert!(low <= high);
    }
}

#[test]
fn thin_veneers_end_lower_in_value_than_they_began() {
    // Trade fact 7; common practice, no source.
    let (_, round) = round();
    for (question, task) in round.questions.iter().zip(tasks(round)) {
        for cement in &task.cements {
            let fall = cement.after.dl00 - cement.at_seating.dl00;
            assert!(fall < 0.02, "{} rises by {fall}", cement.cement);
            if !question.catch && cement.cement == "clear" {
                assert!(fall < -0.3, "{} falls by {fall}", cement.cement);
            }
        }
    }
}

#[test]
fn learners_predict_as_well_as_they_see() {
    let (_, round) = round();
    let results = LEARNERS.map(|learner| plays(round, &learner, 8));
    println!("{results:?}");
    let [ideal, noisy, biased, random] = results;
    assert!(ideal.0 > 97.0 && ideal.1 < 1e-9, "{ideal:?}");
    assert!(ideal.0 > noisy.0 && noisy.0 > random.0 + 10.0);
    assert!(noisy.1 > ideal.1 && random.1 > noisy.1);
    assert!(biased.0 < ideal.0);
}

#[test]
fn marks_tell_what_is_seen_and_what_comes() {
    let (_, round) = round();
    let question = round.questions.iter().find(|q| !q.catch).unwrap();
    let Task::TryIn(task) = &question.task else { panic!() };
    let mark = question.mark(&question.answer_of(&Learner::IDEAL, 1)).unwrap();
    println!("{:#?}", mark.sentences);
    assert_eq!(mark.right, Some(task.cements[task.best].after.de00 <= ACCEPTABILITY_DE00));
    assert!(mark.sentences.iter().any(|s| s.contains("after 36 months")), "{mark:?}");
    let wrong = |predictions, seated| Answer::TryIn(TryInAnswer { predictions, seated });
    let none = Prediction { direction: EffectDirection::None, size_de00: 0.0 };
    assert!(question.mark(&wrong(vec![none; 2], 0)).is_err());
    assert!(question.mark(&wrong(vec![none; 3], 4)).is_err());
    let bad = Prediction { size_de00: f64::NAN, ..none };
    assert!(question.mark(&wrong(vec![none, bad, none], 0)).is_err());
}
