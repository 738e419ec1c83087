//! Two lights: hand-worked scores, shipped levels, simulated learners.

use super::playing::{NOISY, RANDOM, laid_out, levels_of, play, question, question_refuses, score};
use second_glance::bake::{ZoneDifference, bake};
use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::exercise::*;
use second_glance::material::Library;
use second_glance::scene::{Ceramic, Preparation, Restoration, Thickness, Tooth, Translucency};

fn lit(first: f64, second: f64) -> LitOption {
    let value = |de00: f64| ZoneDifference { de00, dl00: -de00, dc00: 0.0, dh00: 0.0 };
    let restoration = Restoration {
        tooth: Tooth::new(21).unwrap(),
        preparation: Preparation::Veneer,
        ceramic: Ceramic {
            class: "zirconia".into(),
            translucency: Translucency::Low,
            shade: Lch { l: 76.0, c: 15.0, h: 90.0 },
            graded: false,
            block_shift: 0.0,
        },
        thickness: Thickness { margin_mm: 0.1, neck_mm: 0.4, body_mm: 0.6, incisal_mm: 0.8 },
        cement: "clear".into(),
        cement_film_mm: 0.05,
        prepared_tooth: "light".into(),
        drift: None,
    };
    let (first, second) = (value(first), value(second));
    LitOption { restoration, ceramic: "zirconia".into(), first, second }
}

#[test]
fn two_lights_scores_are_those_worked_by_hand() {
    let question = question(Task::TwoLights(TwoLightsTask {
        tooth: Tooth::new(21).unwrap(),
        first_light: Illuminant::D65,
        second_light: Illuminant::Fl11,
        options: vec![lit(0.8, 2.4), lit(1.5, 1.2), lit(1.6, 1.4)],
        second_sights: Vec::new(),
    }));
    let answer =
        |choice, keep| Answer::TwoLights(TwoLightsAnswer { choice, keep, second_choice: 1 });
    // Worked example: the pick is 2.4 in its worse light, the best there is 1.5: R = 0.9, S = 72.
    let mark = question.mark(&answer(0, false)).unwrap();
    assert!((mark.regret_de00.unwrap() - 0.9).abs() < 1e-9);
    assert_eq!(mark.score.unwrap().round(), 72.0);
    // By hand: option 1 is 1.2 worse than option 2 in the second light, option 3 only 0.2.
    // That is about the prediction; the choice itself is close, not right.
    assert_eq!(mark.right, Some(false));
    assert_eq!(mark.truth["prediction_right"], true);
    assert_eq!(question.mark(&answer(0, true)).unwrap().truth["prediction_right"], false);
    assert_eq!(question.mark(&answer(2, true)).unwrap().right, Some(true));
    assert_eq!(score(&question, answer(1, true)), 100.0);
    let refused = question_refuses(&question, answer(3, true));
    assert_eq!(refused, "there is no option 4 among 3");
}

#[test]
fn where_nothing_would_do_in_both_lights_it_is_said_with_the_least_bad() {
    let said = |options: Vec<LitOption>, choice: usize| {
        let task = TwoLightsTask {
            tooth: Tooth::new(21).unwrap(),
            first_light: Illuminant::D65,
            second_light: Illuminant::A,
            options,
            second_sights: Vec::new(),
        };
        let none = task.acceptable_in_both().is_empty();
        let answer = TwoLightsAnswer { choice, keep: true, second_choice: 0 };
        let mark = question(Task::TwoLights(task)).mark(&Answer::TwoLights(answer)).unwrap();
        (none, mark.sentences.join(" "))
    };
    // Acceptable up to 1.8 (Paravina et al., J Esthet Restor Dent 2015;27 Suppl 1:S1-S9).
    let (none, words) = said(vec![lit(1.0, 1.8), lit(1.2, 2.9)], 1);
    assert!(!none && !words.contains("None would do"), "{words}");
    assert!(words.contains("safest over both lights is option 1: never more than 1.8"), "{words}");
    // Each fails in one light only.
    let (none, words) = said(vec![lit(0.9, 2.6), lit(1.95, 1.1)], 0);
    assert!(none && words.contains("None would do in both lights"), "{words}");
    assert!(words.contains("least bad is option 2: at most 1.95"), "{words}");
    // All fail in both.
    let (none, words) = said(vec![lit(2.3, 3.0), lit(2.6, 3.9)], 0);
    assert!(none && words.contains("None would do: in either light"), "{words}");
    assert!(words.contains("least bad is option 1, your choice: at most 3.00"), "{words}");
}

#[test]
fn two_lights_are_played() {
    let library = Library::shipped().unwrap();
    for level in levels_of("two_lights") {
        let round = laid_out(&level, &library, 7, 8);
        let (mut stable, mut unmet) = (0, 0);
        for question in &round.questions {
            let Task::TwoLights(task) = &question.task else { panic!("two lights") };
            assert_eq!(question.sights.len(), task.options.len());
            assert_eq!(task.second_sights.len(), task.options.len());
            assert!(task.second_sights.iter().all(|s| s.case.illuminant == task.second_light));
            stable += u32::from(question.catch);
            let keep = task.keep_is_right(task.best_in_first().unwrap());
            assert_eq!(keep, Some(question.catch), "{} {}", level.id, question.number);
            let gap =
                |option: &LitOption| format!("{:.2}/{:.2}", option.first.de00, option.second.de00);
            println!("{}", task.options.iter().map(gap).collect::<Vec<_>>().join("  "));
            // Where nothing would do in both lights the debrief says so, and nowhere else.
            let none = task.options.iter().all(|o| o.first.de00.max(o.second.de00) > 1.8);
            unmet += u32::from(none);
            for choice in 0..task.options.len() {
                let answer = TwoLightsAnswer { choice, keep: true, second_choice: choice };
                let mark = question.mark(&Answer::TwoLights(answer)).unwrap();
                let says_so = mark.sentences.iter().any(|s| s.starts_with("None would do"));
                assert_eq!(says_so, none, "{} {}: {mark:?}", level.id, question.number);
            }
        }
        println!("{}: nothing would do in both lights in {unmet} of 8", level.id);
        assert_eq!(stable, 2, "a quarter of 8");
        // The truth of an option is that of the whole smile.
        let question = &round.questions[0];
        let Task::TwoLights(task) = &question.task else { panic!("two lights") };
        let truth = |case| bake(case, &library).unwrap().truth.unwrap().difference;
        assert_eq!(truth(&question.sights[0].case), task.options[0].first);
        assert_eq!(truth(&task.second_sights[0].case), task.options[0].second);

        // Who sees everything foresees everything.
        let ideal = play(&round, &Learner::IDEAL, 1);
        assert_eq!(ideal.values["hits"], serde_json::json!({ "successes": 6, "total": 6 }));
        assert_eq!(ideal.values["false_alarms"], serde_json::json!({ "successes": 0, "total": 2 }));
        let noisy = play(&round, &NOISY, 1);
        let (ideal, noisy) = (ideal.values["d_prime"].as_f64(), noisy.values["d_prime"].as_f64());
        println!("{}: d′ ideal {ideal:?}, noisy {noisy:?}", level.id);
        assert!(noisy < ideal, "{}", level.id);
        play(&round, &RANDOM, 1);
    }
}
