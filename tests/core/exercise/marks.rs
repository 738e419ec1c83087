//! Scores, their words and the first line of what is said: they never contradict.

use crate::shared::levels::{LIBRARY, shipped_levels};
use second_glance::colorimetry::ACCEPTABILITY_DE00;
use second_glance::colorimetry::{Lab, Lch};
use second_glance::exercise::{
    Answer, Grade, LadderAnswer, LadderTask, Learner, Mark, Patch, Question, RoundTally, Task,
    Times, catch_in_words, lay_out,
};
use second_glance::trial::InputDevice;
use std::collections::BTreeSet;

/// Sharp, noisy, leaning and blind learners.
fn learners() -> [Learner; 5] {
    let noisy = |noise_de00| Learner { noise_de00, ..Learner::IDEAL };
    [
        Learner::IDEAL,
        noisy(0.5),
        noisy(2.0),
        Learner { value_bias: 1.5, value_weight: 0.5, ..noisy(0.5) },
        Learner { lapse: 1.0, ..noisy(1.0) },
    ]
}

/// What the first line of a debrief admits of.
fn agrees(question: &Question, answer: &Answer, mark: &Mark) -> bool {
    let first = mark.sentences[0].as_str();
    let grade = mark.grade();
    let says = |words: &str| first.contains(words);
    match (&question.task, answer) {
        (Task::Blend(task), Answer::Blend(answer)) => {
            let nearest = format!("Option {} is the nearest", task.best + 1);
            says(&nearest)
                && (answer.best != Some(task.best)
                    || task.none_acceptable()
                    || grade == Some(Grade::Right))
        }
        (Task::Ladder(_), _) => {
            says("Every pair stands the right way") == (grade == Some(Grade::Right))
        }
        (Task::Match(task), Answer::Match(answer)) => {
            let off = task.difference(answer.choice).unwrap().de00 - task.best().unwrap().1.de00;
            (off <= 0.4) == (grade == Some(Grade::Right))
        }
        (Task::TwoLights(task), Answer::TwoLights(answer)) => {
            // What would not do in both lights is never called right where nothing would.
            let none = task.acceptable_in_both().is_empty();
            let far = task.options[answer.choice].robust_de00() > ACCEPTABILITY_DE00 + 0.4;
            says("None would do") == none
                && none == mark.score.is_none()
                && !(far && grade == Some(Grade::Right))
        }
        (Task::Bench(_), _) => match grade {
            Some(Grade::Right) => {
                !says("could have been met") && !says("would have to be agreed on")
            }
            _ => !says("changing the plan is right"),
        },
        (Task::TryIn(_), _) => says("You said "),
        (Task::Bracket(task), Answer::Bracket(answer)) => {
            let chosen = task.pair(answer.options).unwrap();
            let as_good = task.pairs[0].chance - chosen.chance <= 0.05;
            says("in ") && (grade == Some(Grade::Right)) == as_good
        }
        (Task::Margin(_), _) => match grade {
            Some(Grade::Right) => !says("Option ") && !says("None of these"),
            _ => !says("None hides it"),
        },
        (Task::Verdict(_), Answer::Verdict(answer)) => match grade {
            Some(Grade::Right) => {
                says(if answer.accept { "It is natural" } else { "above" }) || says("below")
            }
            Some(_) => {
                says("but it is natural") || says(if answer.accept { "above" } else { "below" })
            }
            None => says("either answer is fair"),
        },
        _ => false,
    }
}

#[test]
fn score_word_and_first_line_agree_in_every_exercise() {
    let mut seen = BTreeSet::new();
    let mut grades = BTreeSet::new();
    for level in shipped_levels() {
        let exercise = level.exercise.name();
        // One level of each exercise, and one of Two lights in which nothing may do.
        if exercise == "glance" || !seen.insert(exercise) {
            continue;
        }
        let round = lay_out(&level, &LIBRARY, level.seed, Some(3)).unwrap();
        for question in &round.questions {
            for (learner, seed) in learners().iter().flat_map(|l| (0..12).map(move |s| (l, s))) {
                let answer = question.answer_of(learner, seed);
                let mark = question.mark(&answer).unwrap();
                let what = format!("{exercise}: {} {:?}", mark.headline(), mark.sentences);
                assert_eq!(mark.right.is_some(), mark.score.is_some(), "{what}");
                assert_eq!(mark.right, mark.grade().map(|grade| grade == Grade::Right), "{what}");
                assert_eq!(
                    mark.headline().ends_with(": 100 of 100"),
                    mark.right == Some(true),
                    "{what}"
                );
                assert!(agrees(question, &answer, &mark), "{what}");
                for sentence in &mark.sentences {
                    // What rounds to nothing has no direction.
                    for part in ["ΔL00", "ΔC00", "ΔH00", "L*"] {
                        assert!(!sentence.contains(&format!(" 0.0 {part}")), "{what}");
                    }
                    assert!(!sentence.contains("-0.0"), "{what}");
                }
                grades.insert((exercise, mark.headline().chars().next()));
            }
        }
    }
    assert_eq!(seen.len(), 9);
    // Every exercise was answered rightly and wrongly.
    for exercise in seen {
        let of = grades.iter().filter(|(name, _)| *name == exercise).count();
        assert!(of >= 2, "{exercise}: {grades:?}");
    }
}

fn ladder(colours: &[(f64, f64, f64)]) -> Question {
    let patches = colours
        .iter()
        .map(|&(l, c, h)| {
            let colour = Lab::from(Lch { l, c, h });
            Patch { colour, linear: colour.to_linear_srgb() }
        })
        .collect();
    Question {
        number: 0,
        seed_key: "hand".to_owned(),
        catch: false,
        sights: Vec::new(),
        task: Task::Ladder(LadderTask { patches }),
    }
}

#[test]
fn a_ladder_names_its_units_and_no_cause_that_is_too_small() {
    let said = |colours: &[(f64, f64, f64)], order: Vec<usize>| {
        ladder(colours).mark(&Answer::Ladder(LadderAnswer { order })).unwrap().sentences
    };
    // 11.4 L* apart and 0.7 C*: that is 8.4 ΔL00, and a chroma no one takes for it.
    let plain = [(68.1, 16.0, 88.0), (79.5, 16.7, 88.0), (60.0, 16.0, 88.0)];
    let sentences = said(&plain, vec![0, 1, 2]);
    assert_eq!(
        sentences[1],
        "The widest: patch 1 is 11.4 L* darker than patch 2, but was put above it."
    );
    assert_eq!(sentences[2], "Neither chroma nor hue differs enough to account for that.");
    assert_eq!(sentences[0].split(';').next(), Some("1 of 3 pairs stands the wrong way round"));
    // A chroma that differs by more than value does is named.
    let strong = [(70.0, 26.0, 88.0), (72.0, 12.0, 88.0)];
    let sentences = said(&strong, vec![0, 1]);
    assert!(sentences[2].starts_with("It is also "), "{sentences:?}");
    assert!(
        sentences[2].contains("ΔC00 stronger in chroma: strong colour is not light"),
        "{sentences:?}"
    );
    // Patches are called by the place they were given.
    let sentences = said(&plain, vec![2, 1, 0]);
    assert!(sentences[1].contains("patch 1 is 19.5 L* darker than patch 2"), "{sentences:?}");
    // An exact tie, either way.
    let tie = [(70.0, 12.0, 88.0), (70.0, 20.0, 88.0), (80.0, 15.0, 88.0)];
    let sentences = said(&tie, vec![2, 1, 0]);
    assert_eq!(sentences[1], "Patches 2 and 3 have the same value: either order is right.");
}

#[test]
fn catches_are_called_what_they_are() {
    let mut of = Vec::new();
    for task in [
        "blend",
        "ladder",
        "match",
        "two_lights",
        "bench",
        "try_in",
        "bracket",
        "margin",
        "verdict",
    ] {
        let mut rows = crate::shared::answers::rows(5);
        for row in &mut rows {
            task.clone_into(&mut row.task);
        }
        let sentences = RoundTally::of(&rows).sentences();
        let catch = sentences.iter().find(|s| s.starts_with("1 of 1 right where "));
        assert_eq!(catch.is_some(), catch_in_words(task).is_some(), "{task}: {sentences:?}");
        assert!(!sentences.concat().contains("nothing fits"), "{sentences:?}");
        of.extend(catch.cloned());
    }
    // A tie in Ladder has no answer "nothing"; in Verdict it is a natural tooth.
    assert_eq!(catch_in_words("ladder"), None);
    assert!(of.contains(&"1 of 1 right where the tooth was natural.".to_owned()), "{of:?}");
    let distinct: BTreeSet<&String> = of.iter().collect();
    assert_eq!(distinct.len(), of.len());
}

#[test]
fn what_is_close_is_counted_as_close() {
    // Two rows of one question each: 94 and 20 points, neither right.
    let question = ladder(&[(70.0, 16.0, 88.0), (72.0, 16.0, 88.0), (80.0, 16.0, 88.0)]);
    let round = second_glance::exercise::Round {
        level_id: "hand".to_owned(),
        title: String::new(),
        teaches: String::new(),
        exercise: "ladder",
        seed: 1,
        questions: vec![question],
    };
    let row = |order: Vec<usize>| {
        let answer = Answer::Ladder(LadderAnswer { order });
        let mark = round.questions[0].mark(&answer).unwrap();
        round.row(
            &round.questions[0],
            "practice",
            &answer,
            &mark,
            Times::default(),
            InputDevice::Keyboard,
        )
    };
    // Right; the two darkest swapped (2 of 20 L* lost, about); upside down.
    let rows = [row(vec![2, 1, 0]), row(vec![2, 0, 1]), row(vec![0, 1, 2])];
    let tally = RoundTally::of(&rows);
    assert_eq!((tally.right, tally.close), ((1, 3), 1));
    assert!(
        tally.sentences().contains(&"1 of 3 answers right, 1 more close.".to_owned()),
        "{tally:?}"
    );
}
