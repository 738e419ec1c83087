//! Verdict: hand-worked scores, shipped levels, simulated learners.

use super::playing::{NOISY, RANDOM, laid_out, levels_of, play, question};
use second_glance::bake::{ZoneDifference, bake};
use second_glance::exercise::*;
use second_glance::material::Library;
use second_glance::psychophysics::{Proportion, SignalDetection};
use second_glance::scene::Tooth;

#[test]
fn a_verdict_near_the_limit_counts_neither_way() {
    let verdict = |de00: f64, accept: bool| {
        let difference = ZoneDifference { de00, dl00: -de00, dc00: 0.0, dh00: 0.0 };
        let tooth = Tooth::new(11).unwrap();
        let task =
            VerdictTask { tooth, exposure_s: 1.0, is_natural: false, difference, cause: None };
        question(Task::Verdict(task)).mark(&Answer::Verdict(VerdictAnswer { accept })).unwrap()
    };
    // Acceptable up to 1.8 (Paravina et al., J Esthet Restor Dent 2015;27 Suppl 1:S1-S9), 0.2 to
    // either side not scored (a setting of this program).
    for (de00, accept, right) in [
        (0.5, true, Some(true)),
        (1.5, false, Some(false)),
        (1.7, false, None),
        (1.95, true, None),
        (2.1, true, Some(false)),
        (2.1, false, Some(true)),
    ] {
        let mark = verdict(de00, accept);
        assert_eq!(mark.right, right, "{de00} {accept}");
        assert_eq!(mark.score, right.map(|right| if right { 100.0 } else { 0.0 }));
    }
    // Worked example: 34 of 48 sent back rightly and 4 of 16 wrongly give d′ 1.17, c 0.05, standard
    // error 0.39, log-linear corrected.
    let (hits, false_alarms) =
        (Proportion { successes: 34, total: 48 }, Proportion { successes: 4, total: 16 });
    let indices = SignalDetection::yes_no(hits, false_alarms).unwrap();
    let error = SignalDetection::d_prime_standard_error(hits, false_alarms).unwrap();
    assert!((indices.d_prime - 1.17).abs() < 0.005, "{indices:?}");
    assert!((indices.criterion - 0.05).abs() < 0.005, "{indices:?}");
    assert!((error - 0.39).abs() < 0.005, "{error}");
}

#[test]
fn verdicts_are_played() {
    let library = Library::shipped().unwrap();
    for level in levels_of("verdict") {
        let round = laid_out(&level, &library, 7, 24);
        let tasks: Vec<&VerdictTask> = round
            .questions
            .iter()
            .map(|q| match &q.task {
                Task::Verdict(task) => task,
                other => panic!("{other:?}"),
            })
            .collect();
        assert_eq!(tasks.iter().filter(|task| task.is_natural).count(), 6, "a quarter of 24");
        let mut sizes: Vec<f64> =
            tasks.iter().filter(|t| !t.is_natural).map(|t| t.difference.de00).collect();
        sizes.sort_by(f64::total_cmp);
        println!("{}: {sizes:.2?}", level.id);
        assert!(sizes[2] < 1.0 && sizes[15] > 2.5, "{}: {sizes:.1?}", level.id);
        let darker = tasks.iter().filter(|task| task.difference.dl00 < 0.0).count();
        assert!((5..=13).contains(&darker), "{}: {darker} of 18 darker", level.id);
        // The truth of a tooth baked by itself is that of the whole smile.
        let restored = round.questions.iter().find(|q| !q.catch).unwrap();
        let truth = bake(&restored.sights[0].case, &library).unwrap().truth.unwrap();
        let Task::Verdict(task) = &restored.task else { panic!("a verdict") };
        assert_eq!((truth.tooth, truth.difference), (task.tooth, task.difference));

        assert_eq!(play(&round, &Learner::IDEAL, 1).mean_score, Some(100.0), "{}", level.id);
        let noisy = play(&round, &NOISY, 1).mean_score.unwrap();
        let random = play(&round, &RANDOM, 1).mean_score.unwrap();
        println!("{}: noisy {noisy:.0}, random {random:.0}", level.id);
        assert!(noisy < 100.0 && noisy > random, "{}: {random} {noisy}", level.id);
        let strict = Learner { value_bias: 2.0, ..Learner::IDEAL };
        let false_alarms = play(&round, &strict, 1).values["false_alarms"]["successes"].clone();
        assert_eq!(false_alarms, 6, "who likes teeth lighter sends natural ones back");
    }
}
