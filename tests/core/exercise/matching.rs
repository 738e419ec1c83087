//! Match: hand-worked scores, shipped levels, simulated learners.

use super::playing::{
    LIKES_LIGHT, NOISY, RANDOM, laid_out, levels_of, play, question, question_refuses, score,
};
use crate::shared::levels::level;
use second_glance::bake::{ZoneDifference, bake};
use second_glance::colorimetry::{Lab, Lch, ciede2000};
use second_glance::exercise::*;
use second_glance::material::Library;
use second_glance::scene::Tooth;

/// A colour `dl00` lighter than the target by the value part of CIEDE2000 alone.
fn lighter(target: Lab, dl00: f64) -> Lab {
    let (mut low, mut high) = (target.l, target.l + 20.0);
    for _ in 0..60 {
        let l = 0.5 * (low + high);
        if ciede2000(target, Lab { l, ..target }).dl00 < dl00 { low = l } else { high = l }
    }
    Lab { l: low, ..target }
}

fn match_of(differences: &[f64]) -> Question {
    let target = Lab { l: 70.0, a: 0.0, b: 0.0 };
    let tab = |dl00: &f64| {
        let colour = lighter(target, *dl00);
        let zones = [colour; 3];
        Tab {
            shade: Lch::from(colour),
            zones,
            linear: zones.map(Lab::to_linear_srgb),
            difference: ZoneDifference::of_thirds(&[target; 3], &zones),
        }
    };
    let tabs = differences.iter().map(tab).collect();
    let tooth = Tooth::new(11).unwrap();
    question(Task::Match(MatchTask { tooth, target: [target; 3], tabs, exact: None }))
}

#[test]
fn match_scores_are_those_worked_by_hand() {
    // Worked example: D = {0.9, 1.2, 2.3, 4.1} has R = {0, 0.3, 1.4, 3.2} and scores 100, 100,
    // 100·(1 − 1/1.8) = 44 and 0.
    let question = match_of(&[0.9, 1.2, 2.3, 4.1]);
    for (tab, wanted) in [(0, 100.0), (1, 100.0), (2, 100.0 * (1.0 - 1.0 / 1.8)), (3, 0.0)] {
        let choice = MatchChoice::Tab(tab);
        let score = score(&question, Answer::Match(MatchAnswer { choice }));
        assert!((score - wanted).abs() < 0.01, "tab {tab}: {score}, by hand {wanted}");
    }
    // Between a tab 1.0 too light and one 1.0 too dark lies the target, but for the slight
    // change of the value weight along the way.
    let around = match_of(&[1.0, 3.0]);
    let Task::Match(mut task) = around.task.clone() else { panic!("a match") };
    let dark = Lab { l: 2.0 * 70.0 - task.tabs[0].zones[0].l, a: 0.0, b: 0.0 };
    task.tabs[1].zones = [dark; 3];
    task.tabs[1].difference = ZoneDifference::of_thirds(&task.target, &[dark; 3]);
    let between = MatchChoice::Between(0, 1);
    assert!(task.difference(between).unwrap().de00 < 1e-9);
    assert_eq!(task.best().unwrap().0, between);
    let refused =
        question_refuses(&around, Answer::Match(MatchAnswer { choice: MatchChoice::Tab(2) }));
    assert_eq!(refused, "there is no tab 3 among 2");
}

#[test]
fn matches_are_played() {
    let library = Library::shipped().unwrap();
    for level in levels_of("match") {
        let round = laid_out(&level, &library, 7, 10);
        assert_eq!(round.questions.iter().filter(|q| q.catch).count(), 3, "30 % of 10");
        for question in &round.questions {
            let Task::Match(task) = &question.task else { panic!("a match") };
            assert_eq!(task.exact.is_none(), question.catch);
            if let Some(exact) = task.exact {
                assert_eq!(task.tabs[exact].difference, ZoneDifference::default());
            }
            // What is shown as the target is what the bake gives.
            let case = &question.sights[0].case;
            let scene = bake(case, &library).unwrap();
            let shown = scene.zone_labs(task.tooth, second_glance::bake::Condition::Twin).unwrap();
            assert_eq!(shown, task.target);
            if question.number > 0 {
                break;
            }
        }
        let ideal = play(&round, &Learner::IDEAL, 1);
        assert_eq!(ideal.mean_score, Some(100.0), "{}", level.id);
        let noisy = play(&round, &NOISY, 1).mean_score.unwrap();
        let random = play(&round, &RANDOM, 1).mean_score.unwrap();
        println!("{}: noisy {noisy:.0}, random {random:.0}", level.id);
        assert!(random < noisy && noisy <= 100.0, "{}: {random} {noisy}", level.id);
        let biased = play(&round, &LIKES_LIGHT, 1);
        let lean = biased.values["mean_offset"]["dl00"].as_f64().unwrap();
        assert!(lean > 0.2, "{}: likes light, leans {lean}", level.id);
    }
    let level = level("nearest-tab");
    let round = lay_out(&level, &library, 3, Some(2)).unwrap();
    let again = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    assert_eq!(round, again.install(|| lay_out(&level, &library, 3, Some(2)).unwrap()));
}
