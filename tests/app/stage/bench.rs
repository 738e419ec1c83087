//! The bench by keyboard, and what is on it.

use super::walk::Walk;
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::exercise::{BenchTask, Task};
use second_glance::play::answer::{BenchDraft, Draft};

pub fn arrow(walk: &mut Walk, code: KeyCode, times: usize) {
    let key = match code {
        KeyCode::ArrowLeft => Key::ArrowLeft,
        KeyCode::ArrowRight => Key::ArrowRight,
        KeyCode::ArrowUp => Key::ArrowUp,
        _ => Key::ArrowDown,
    };
    for _ in 0..times {
        walk.press(code, key.clone());
    }
}

pub fn draft(walk: &Walk) -> &BenchDraft {
    match walk.exercising().draft() {
        Some(Draft::Bench(draft)) => draft,
        _ => panic!("a recipe"),
    }
}

pub fn task(walk: &Walk) -> BenchTask {
    match &walk.exercising().sitting().question().expect("a bench").task {
        Task::Bench(task) => task.clone(),
        _ => panic!("a bench"),
    }
}

pub fn until_seen(walk: &mut Walk) {
    walk.until("the smile", |walk| walk.exercising().is_up_to_date(walk.preparation()));
}
