//! Simulated learners, and how they do over a round.

use second_glance::exercise::{Learner, Round};

/// Simulated learners of four kinds: sees all, sees roughly, likes it dark, does not look.
pub const LEARNERS: [Learner; 4] = [
    Learner::IDEAL,
    Learner { noise_de00: 0.8, ..Learner::IDEAL },
    Learner { value_bias: -2.0, ..Learner::IDEAL },
    Learner { lapse: 1.0, ..Learner::IDEAL },
];

/// Mean score and mean regret of a learner over a round, each question answered some times.
pub fn plays(round: &Round, learner: &Learner, times: u64) -> (f64, f64) {
    let marks: Vec<_> = (0..times)
        .flat_map(|seed| {
            round.questions.iter().map(move |q| q.mark(&q.answer_of(learner, seed)).unwrap())
        })
        .collect();
    let mean = |values: Vec<f64>| values.iter().sum::<f64>() / values.len().max(1) as f64;
    assert!(marks.iter().all(|m| m.score.is_none_or(|s| (0.0..=100.0).contains(&s))));
    assert!(marks.iter().all(|m| !m.sentences.is_empty()));
    (
        mean(marks.iter().filter_map(|m| m.score).collect()),
        mean(marks.iter().filter_map(|m| m.regret_de00).collect()),
    )
}
