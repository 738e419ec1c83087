//! Stored answers to questions, from outside.

use crate::shared::answers::{info, rows, store_rows};
use second_glance::exercise::RoundTally;
use second_glance::results::{ANSWER_COLUMNS, AnswerRow, Recording, Store, StoreError};
use std::path::Path;
use tempfile::tempdir;

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
