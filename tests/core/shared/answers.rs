//! Sessions of answers to questions as a store holds them.

use second_glance::exercise::Times;
use second_glance::results::{AnswerRow, Recording, SessionInfo, Store};
use second_glance::trial::InputDevice;
use serde_json::json;

/// A session of practice of so many questions.
pub fn info(questions: u32) -> SessionInfo {
    SessionInfo {
        started_at: "2026-01-31T09:30:00Z".to_owned(),
        build: "0.1.0".to_owned(),
        task: "blend".to_owned(),
        mode: "practice".to_owned(),
        level: "test".to_owned(),
        seed: u64::MAX - 1,
        refresh_hz: 60.0,
        planned_trials: questions,
        settings: json!({}),
    }
}

/// Answers with every kind of value: missing ones, fractions that need all their digits, text.
pub fn rows(count: u32) -> Vec<AnswerRow> {
    (0..count)
        .map(|number| {
            let is_catch = number % 5 == 4;
            let times = Times {
                shown_s: 10.0 * f64::from(number),
                answer_s: 10.0 * f64::from(number) + 7.5,
                response_time_s: 20.0 / 3.0,
            };
            AnswerRow {
                number,
                task: "blend".to_owned(),
                mode: if number % 2 == 0 { "practice" } else { "rehearsal" }.to_owned(),
                level: "test".to_owned(),
                seed_key: format!("test/7/0/{number}"),
                is_catch,
                light: (number != 1).then(|| "D65".to_owned()),
                sights: json!([{ "name": "Option 1", "scene_seed": u64::MAX.to_string() }]),
                truth: json!({ "options": [{ "de00": 1.0 / 3.0 }], "best": 0 }),
                answer: json!({ "best": number % 3, "note": "ΔE00, \"quoted\"" }),
                score: (number != 2).then_some(100.0 - f64::from(number) / 3.0),
                regret_de00: (!is_catch).then_some(f64::from(number) / 7.0),
                correct: is_catch.then_some(number == 4),
                shown_s: times.shown_s,
                answer_s: times.answer_s,
                response_time_s: times.response_time_s,
                input_device: [InputDevice::Keyboard, InputDevice::Pointer][number as usize % 2],
            }
        })
        .collect()
}

/// Appends rows one by one.
pub fn store_rows(store: &Store, recording: Recording, rows: &[AnswerRow]) {
    for row in rows {
        store.append_answer(recording, row).unwrap();
    }
}
