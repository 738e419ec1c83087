//! Choosing, measured: what is asked follows from the seed and from the answers.

use second_glance::exercise::{Answer, BlendAnswer, ChoiceMeasurement, Sitting, Stage, Task};
use second_glance::level::format::{Level, ron_options};
use second_glance::material::Library;
use second_glance::psychophysics::{OptionStop, OptionStopReason};
use second_glance::trial::InputDevice;
use std::sync::Arc;

fn level() -> Level {
    ron_options().from_str(include_str!("../../levels/blend-value-first.ron")).unwrap()
}

fn measurement(seed: u64) -> ChoiceMeasurement {
    ChoiceMeasurement::new(level(), seed, OptionStop::default()).unwrap()
}

#[test]
fn one_question_in_five_has_nothing_acceptable_and_every_place_is_the_best_one_alike() {
    for seed in 0..20 {
        let mut measured = measurement(seed);
        let none = Answer::Blend(BlendAnswer::none());
        assert!(measured.round().questions.is_empty());
        let mut asked = Vec::new();
        for number in 0..15 {
            let next = measured.next();
            assert_eq!((next.number, next), (number, measured.next()));
            asked.push(next);
            // An answer of another kind teaches nothing, but counts.
            measured.record(&placeholder(), &none);
        }
        for five in asked.chunks(5) {
            assert_eq!(five.iter().filter(|asked| asked.catch).count(), 1, "seed {seed}");
        }
        for three in asked.chunks(3) {
            let mut places: Vec<usize> = three.iter().map(|asked| asked.best_slot).collect();
            places.sort_unstable();
            assert_eq!(places, [0, 1, 2], "seed {seed}");
        }
    }
    let order = |seed| (0..5).map(|_| measurement(seed).next().catch).collect::<Vec<_>>();
    assert_eq!(order(1), order(1));
}

/// A question that is no question of Blend.
fn placeholder() -> second_glance::exercise::Question {
    let library = Library::shipped().unwrap();
    let bench = second_glance::exercise::BenchSetup::default().set_up(&library).unwrap();
    bench.round.questions[0].clone()
}

#[test]
fn questions_are_laid_out_as_asked_and_gaps_shrink_for_a_sharp_eye() {
    let library = Library::shipped().unwrap();
    let mut measured = measurement(5);
    let mut sitting = Sitting::open_ended(Arc::new(measured.round()), "measure");
    let first_gap = measured.next().gap_de00;
    for number in 0..3 {
        assert_eq!((sitting.stage(), sitting.question().is_none()), (Stage::Preparing, true));
        let asked = measured.next();
        let question = measured.lay_out(&library).unwrap();
        assert_eq!((question.number, question.catch), (number, asked.catch));
        let Task::Blend(task) = &question.task else { panic!("a question of Blend") };
        assert_eq!(task.best, asked.best_slot);
        let answer = if task.none_acceptable() {
            BlendAnswer::none()
        } else {
            BlendAnswer { best: Some(task.best), acceptable: vec![task.best] }
        };
        let answer = Answer::Blend(answer);
        sitting.append(question.clone());
        sitting.show();
        let row = sitting.answer(answer.clone(), InputDevice::Keyboard).unwrap().unwrap();
        assert_eq!((row.number, row.mode.as_str()), (number, "measure"));
        measured.record(&question, &answer);
        sitting.go_on();
        assert_eq!(measured.is_done(), None);
    }
    assert!(measured.next().gap_de00 < first_gap, "{first_gap} {}", measured.next().gap_de00);
    sitting.stop();
    assert_eq!((sitting.stage(), sitting.answered()), (Stage::Finished, 3));
}

#[test]
fn it_ends_at_its_most_questions_and_needs_a_level_of_blend() {
    let stop = OptionStop { max_questions: 2, ..OptionStop::default() };
    let mut measured = ChoiceMeasurement::new(level(), 1, stop).unwrap();
    assert_eq!(measured.most_questions(), 2);
    let (question, answer) = (placeholder(), Answer::Blend(BlendAnswer::none()));
    measured.record(&question, &answer);
    assert_eq!(measured.is_done(), None);
    measured.record(&question, &answer);
    assert_eq!(measured.is_done(), Some(OptionStopReason::Questions));
    let ladder = ron_options().from_str(include_str!("../../levels/value-ladder.ron")).unwrap();
    assert!(ChoiceMeasurement::new(ladder, 1, stop).is_err());
}
