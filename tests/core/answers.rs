//! Stored answers to questions, from outside.

#![expect(clippy::unwrap_used, reason = "helpers of tests, which may panic")]

use second_glance::exercise::{RoundTally, Times};
use second_glance::results::{
    ANSWER_COLUMNS, AnswerRow, Recording, SessionInfo, Store, StoreError,
};
use second_glance::trial::InputDevice;
use serde_json::json;
use std::path::Path;
use tempfile::tempdir;

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

pub fn store_rows(store: &Store, recording: Recording, rows: &[AnswerRow]) {
    for row in rows {
        store.append_answer(recording, row).unwrap();
    }
}

fn sqlite(dir: &Path) -> rusqlite::Connection {
    rusqlite::Connection::open(dir.join("results.sqlite3")).unwrap()
}

/// A process that dies between two questions runs no destructor: the store is forgotten, not
/// dropped.
#[test]
fn a_round_cut_off_keeps_every_answer_and_goes_on_where_it_stopped() {
    let dir = tempdir().unwrap();
    let rows = rows(10);
    let store = Store::open(dir.path()).unwrap();
    let recording = store.begin(&info(10)).unwrap();
    store_rows(&store, recording, &rows[..6]);
    std::mem::forget(store);

    let store = Store::open(dir.path()).unwrap();
    let unfinished = store.unfinished().unwrap();
    assert_eq!((unfinished.len(), unfinished[0].stored_trials), (1, 6));
    assert_eq!(store.answers(recording.session).unwrap(), rows[..6]);
    let resumed = store.resume(recording.session).unwrap();
    assert_eq!(resumed, Recording { session: recording.session, run: 2, next_trial: 6 });
    store_rows(&store, resumed, &rows[6..]);
    store.finish(resumed, "later").unwrap();
    drop(store);

    let store = Store::open(dir.path()).unwrap();
    assert_eq!(store.answers(recording.session).unwrap(), rows);
    assert!(matches!(store.append_answer(resumed, &rows[0]), Err(StoreError::Finished(_))));
    let rehearsed = store.answers_of("blend", "rehearsal").unwrap();
    assert_eq!(rehearsed.iter().map(|row| row.number).collect::<Vec<_>>(), [1, 3, 5, 7, 9]);
    assert_eq!(store.answers_of("ladder", "practice").unwrap(), []);
}

#[test]
fn stored_answers_are_never_changed() {
    let dir = tempdir().unwrap();
    let rows = rows(3);
    let store = Store::open(dir.path()).unwrap();
    let recording = store.begin(&info(3)).unwrap();
    store_rows(&store, recording, &rows[..2]);
    assert!(matches!(
        store.append_answer(recording, &rows[1]),
        Err(StoreError::AlreadyStored { trial: 1, .. })
    ));
    assert!(sqlite(dir.path()).execute("UPDATE answer SET score = 100", []).is_err());
    assert_eq!(store.answers(recording.session).unwrap(), rows[..2]);
    // What no version writes is not read as something else.
    let nobody = AnswerRow { number: 2, ..rows[2].clone() };
    store.append_answer(recording, &nobody).unwrap();
    sqlite(dir.path())
        .execute_batch("DROP TRIGGER answers_stand; UPDATE answer SET input_device = 'mind'")
        .unwrap();
    assert!(matches!(store.answers(recording.session), Err(StoreError::Sqlite { .. })));
}

#[test]
fn the_export_of_answers_names_its_columns() {
    let dir = tempdir().unwrap();
    let rows = rows(6);
    let store = Store::open(dir.path()).unwrap();
    for part in [&rows[..6], &rows[..2]] {
        let recording = store.begin(&info(6)).unwrap();
        store_rows(&store, recording, part);
    }
    let mut bytes = Vec::new();
    assert_eq!(store.export_answers_csv(Some(2), &mut bytes).unwrap(), 2);
    bytes.clear();
    assert_eq!(store.export_answers_csv(None, &mut bytes).unwrap(), 8);
    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let header = reader.headers().unwrap().clone();
    assert!(header.iter().eq(ANSWER_COLUMNS.iter().map(|column| column.name)));
    let at = |name| header.iter().position(|column| column == name).unwrap();
    let records: Vec<csv::StringRecord> = reader.records().map(|r| r.unwrap()).collect();
    let or_missing = |value: Option<String>| value.unwrap_or_else(|| "n/a".to_owned());
    for (record, row) in records.iter().zip(&rows) {
        assert_eq!(&record[at("number")], row.number.to_string());
        assert_eq!(&record[at("duration")], "7.5");
        assert_eq!(&record[at("response_time")], row.response_time_s.to_string());
        assert_eq!(&record[at("response")], row.answer.to_string());
        assert_eq!(&record[at("truth")], row.truth.to_string());
        assert_eq!(record[at("light")], or_missing(row.light.clone()));
        assert_eq!(record[at("score")], or_missing(row.score.map(|v| v.to_string())));
        let correct = row.correct.map(|right| u8::from(right).to_string());
        assert_eq!(record[at("correct")], or_missing(correct));
        assert_eq!(&record[at("date")], "2026-01-31", "no time of day");
    }
    assert!(bytes.windows(5).all(|part| part != b"09:30"));
    // Trials are another export.
    bytes.clear();
    assert_eq!(store.export_csv(None, &mut bytes).unwrap(), 0);
}

#[test]
fn a_summary_leaves_out_what_does_not_count() {
    let rows = rows(10);
    let summary = RoundTally::of(&rows);
    // Question 2 has no score: the other nine are 100 - n/3, n = 0, 1, 3 .. 9, mean 100 - 43/27.
    assert!((summary.mean_score.unwrap() - (100.0 - 43.0 / 27.0)).abs() < 1e-12);
    // Questions 4 and 9 have no regret: the others n/7, mean 32/56.
    assert!((summary.mean_regret_de00.unwrap() - 32.0 / 56.0).abs() < 1e-12);
    assert_eq!((summary.answered, summary.right, summary.right_catches), (10, (1, 2), (1, 2)));
    assert_eq!(summary.sentences()[1], "Mean score 98 of 100.");
    let nothing = RoundTally::of(&[]);
    assert_eq!((nothing.mean_score, nothing.sentences().len()), (None, 1));
}
