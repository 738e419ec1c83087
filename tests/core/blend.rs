//! Blend: every shipped question is fair, and simulated learners score as they should.

use crate::bake::shipped_levels;
use second_glance::exercise::blend::BlendTask;
use second_glance::exercise::{Round, Task, lay_out};
use second_glance::level::format::{Exercise, Level};
use second_glance::material::Library;
use std::sync::LazyLock;

pub static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library::shipped().unwrap());

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

pub fn tasks(round: &Round) -> impl Iterator<Item = &BlendTask> {
    round.questions.iter().filter_map(|question| match &question.task {
        Task::Blend(task) => Some(task),
        _ => None,
    })
}

#[test]
fn try_it() {
    for level in blend_levels() {
        let start = std::time::Instant::now();
        let round = lay_out(&level, &LIBRARY, level.seed, None);
        println!("{} {:?}", level.id, start.elapsed());
        match round {
            Err(e) => println!("   {e}"),
            Ok(round) => {
                for task in tasks(&round) {
                    let d: Vec<String> = task
                        .options
                        .iter()
                        .map(|o| {
                            format!(
                                "{:.2}({:+.1}){:?}r{:.1}",
                                o.difference().de00,
                                o.difference().dl00,
                                o.standing,
                                o.robust_de00
                            )
                        })
                        .collect();
                    println!("   best {} pair {:?} {}", task.best, task.pair, d.join(" "));
                    println!("     {}", task.options[0].cause);
                }
            }
        }
    }
}
