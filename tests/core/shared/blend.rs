//! The shipped levels of Blend, laid out once for all tests.

use super::levels::{LIBRARY, shipped_levels};
use second_glance::exercise::blend::BlendTask;
use second_glance::exercise::{Question, Round, Task, lay_out};
use second_glance::level::format::{Exercise, Level};
use std::sync::LazyLock;

/// The shipped levels of Blend.
pub fn blend_levels() -> Vec<Level> {
    let is_blend = |level: &Level| matches!(level.exercise, Exercise::Blend { .. });
    shipped_levels().into_iter().filter(is_blend).collect()
}

/// Every shipped level, laid out once for all tests.
pub static ROUNDS: LazyLock<Vec<(Level, Round)>> = LazyLock::new(|| {
    blend_levels()
        .into_iter()
        .map(|level| {
            let round = lay_out(&level, &LIBRARY, level.seed, None);
            let round = round.unwrap_or_else(|e| panic!("{e}"));
            (level, round)
        })
        .collect()
});

/// What a question of Blend asks.
pub fn task(question: &Question) -> &BlendTask {
    match &question.task {
        Task::Blend(task) => task,
        other => panic!("a question of {}", other.name()),
    }
}

/// All questions of [`ROUNDS`].
pub fn tasks() -> impl Iterator<Item = (&'static Level, &'static Question, &'static BlendTask)> {
    ROUNDS.iter().flat_map(|(level, round)| {
        round.questions.iter().map(move |question| (level, question, task(question)))
    })
}
