//! Marks on the bench, and free play, which has none.

use super::{case, dark_round};
use second_glance::bake::bake;
use second_glance::exercise::{Answer, BenchAnswer, BenchTask, Reached, Task};
use second_glance::material::Library;
use second_glance::scene::{Preparation, Thickness, Tooth};

fn attempt(task: &BenchTask, de00: f64) -> Reached {
    let mut reached = task.best.clone().unwrap();
    reached.difference.de00 = de00;
    reached
}

#[test]
fn marks_are_those_worked_by_hand() {
    let (_, round) = dark_round();
    let question = round.questions.iter().find(|q| !q.catch).unwrap();
    let Task::Bench(task) = &question.task else { panic!() };
    let mut question = question.clone();
    // 2.1 where 0.9 can be reached is a regret of 1.2: 100 (1 - (1.2 - 0.4) / 1.8) = 56.
    let mut fixed = task.clone();
    fixed.best.as_mut().unwrap().difference.de00 = 0.9;
    question.task = Task::Bench(fixed.clone());
    let answer =
        |attempts: Vec<Reached>, change_plan| Answer::Bench(BenchAnswer { attempts, change_plan });
    let mark =
        question.mark(&answer(vec![attempt(&fixed, 2.1), attempt(&fixed, 1.5)], false)).unwrap();
    assert!((mark.regret_de00.unwrap() - 1.2).abs() < 1e-12);
    assert_eq!(mark.score.unwrap().round(), 56.0);
    // Marked by the first attempt, as the score is.
    assert_eq!((mark.right, mark.headline().as_str()), (Some(false), "Close: 56 of 100"));
    assert_eq!(mark.truth["attempts_to_acceptable"], 2);
    assert!(mark.sentences.iter().any(|s| s == "Attempt 2 is acceptable."), "{mark:?}");
    // What can be met is not to be given up.
    assert_eq!(question.mark(&answer(Vec::new(), true)).unwrap().score, Some(0.0));
    assert!(question.mark(&answer(Vec::new(), false)).is_err());
    let four = vec![attempt(&fixed, 2.1); 4];
    assert!(question.mark(&answer(four, false)).is_err());
    let mut too_thick = attempt(&fixed, 1.0);
    too_thick.recipe.thickness.body_mm = 4.0;
    assert!(question.mark(&answer(vec![too_thick], false)).is_err());
    // What cannot be met: changing the plan is right.
    let catch = round.questions.iter().find(|q| q.catch).unwrap();
    let given_up = catch.mark(&answer(Vec::new(), true)).unwrap();
    assert_eq!((given_up.score, given_up.right), (Some(100.0), Some(true)));
    // And nothing else is, however near the least bad.
    let Task::Bench(task) = &catch.task else { panic!() };
    let least_bad = vec![task.best.clone().unwrap()];
    let tried = catch.mark(&answer(least_bad, false)).unwrap();
    assert_eq!((tried.score, tried.right), (Some(0.0), Some(false)));
}

#[test]
fn free_play_is_the_same_without_a_score() {
    let library = Library::shipped().unwrap();
    let mut natural = case(Preparation::Veneer, 11);
    natural.restorations.clear();
    let tooth = Tooth::new(11).unwrap();
    let reduction = Thickness { margin_mm: 0.2, neck_mm: 0.5, body_mm: 0.7, incisal_mm: 1.0 };
    let task =
        BenchTask::free(natural, tooth, Preparation::Veneer, "light", reduction, &library).unwrap();
    assert_eq!(task.limits.problems(&task.start), Vec::new());
    let reached = task.reach(&task.start, &library).unwrap();
    let whole = bake(&task.case_with(&task.start), &library).unwrap().truth.unwrap();
    assert_eq!(reached.difference, whole.difference);
    let question = second_glance::exercise::Question {
        number: 0,
        seed_key: "free".to_owned(),
        catch: false,
        sights: Vec::new(),
        task: Task::Bench(task),
    };
    let answer = Answer::Bench(BenchAnswer { attempts: vec![reached; 12], change_plan: false });
    let mark = question.mark(&answer).unwrap();
    assert_eq!((mark.score, mark.regret_de00, mark.right), (None, None, None));
}
