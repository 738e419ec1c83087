//! Ladder: hand-worked scores, shipped levels, simulated learners.

use super::playing::{NOISY, RANDOM, laid_out, levels_of, play, question, question_refuses, score};
use second_glance::colorimetry::Lab;
use second_glance::exercise::*;
use second_glance::material::Library;

/// Neutral patches with these values, in steps so small that all pairs weigh alike.
fn ladder_of(values: &[f64]) -> Question {
    let patch = |value: &f64| {
        let colour = Lab { l: 70.0 + 0.01 * value, a: 0.0, b: 0.0 };
        Patch { colour, linear: colour.to_linear_srgb() }
    };
    question(Task::Ladder(LadderTask { patches: values.iter().map(patch).collect() }))
}

#[test]
fn ladder_scores_are_those_worked_by_hand() {
    // Worked example: pairs of 0-1-2-3-4 are 4 × 1 + 3 × 2 + 2 × 3 + 1 × 4 = 20 apart in all. The
    // middle pair (1, 2) swapped loses 1, the ends swapped lose 1 + 2 + 3 + 4 + 1 + 2 + 3 = 16.
    let question = ladder_of(&[0.0, 1.0, 2.0, 3.0, 4.0]);
    let order = |order: [usize; 5]| Answer::Ladder(LadderAnswer { order: order.to_vec() });
    for (given, wanted) in [
        ([4, 3, 2, 1, 0], 100.0),
        ([4, 3, 1, 2, 0], 95.0),
        ([0, 3, 2, 1, 4], 20.0),
        ([0, 1, 2, 3, 4], 0.0),
    ] {
        let score = score(&question, order(given));
        assert!((score - wanted).abs() < 0.01, "{given:?}: {score}, by hand {wanted}");
    }
    // A tie may stand either way round.
    let tied = ladder_of(&[0.0, 2.0, 2.0, 3.0, 4.0]);
    for given in [[4, 3, 2, 1, 0], [4, 3, 1, 2, 0]] {
        assert_eq!(score(&tied, order(given)), 100.0);
    }
    let Task::Ladder(task) = &tied.task else { panic!("a ladder") };
    assert_eq!(task.ties(), [(1, 2)]);
    for wrong in [vec![0, 1, 2, 3], vec![0, 1, 2, 3, 3], vec![0, 1, 2, 3, 5]] {
        let refused = question_refuses(&question, Answer::Ladder(LadderAnswer { order: wrong }));
        assert!(refused.contains("each of the 5 patches once"), "{refused}");
    }
}

#[test]
fn ladders_are_played() {
    let library = Library::shipped().unwrap();
    let mut noisy_scores = Vec::new();
    let mut levels = levels_of("ladder");
    levels.sort_by_key(|level| level.difficulty);
    for level in &levels {
        let round = laid_out(level, &library, 7, 40);
        assert_eq!(round, lay_out(level, &library, 7, Some(40)).unwrap());
        assert_ne!(round, lay_out(level, &library, 8, Some(40)).unwrap());
        // 15 % of 40.
        assert_eq!(round.questions.iter().filter(|q| q.catch).count(), 6);
        for question in &round.questions {
            let Task::Ladder(task) = &question.task else { panic!("a ladder") };
            assert_eq!(question.catch, task.ties().len() == 1, "{:?}", task.ties());
        }
        assert_eq!(play(&round, &Learner::IDEAL, 1).mean_score, Some(100.0));
        let random = play(&round, &RANDOM, 1).mean_score.unwrap();
        // A random order inverts half of everything; 40 orders of 5 scatter by about 5.
        assert!((random - 50.0).abs() < 15.0, "{}: random {random}", level.id);
        let noisy = play(&round, &NOISY, 1).mean_score.unwrap();
        assert!(noisy < 100.0 && noisy > random + 10.0, "{}: noisy {noisy}", level.id);
        noisy_scores.push(noisy);
    }
    println!("noisy learner: {noisy_scores:?}");
    assert!(noisy_scores.windows(2).all(|pair| pair[0] > pair[1]), "harder levels score less");
}
