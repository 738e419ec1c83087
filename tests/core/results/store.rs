//! The result store from outside: what it keeps, and what it refuses.

use crate::shared::sessions::{check_stored, info, rows, sqlite, store_rows};
use second_glance::results::{COLUMNS, LATEST_VERSION, Recording, Store, StoreError};
use second_glance::trial::Response;
use std::path::Path;
use tempfile::tempdir;

#[test]
fn everything_stored_is_read_back() {
    let dir = tempdir().unwrap();
    let (plan, rows) = rows(20);
    let store = Store::open(&dir.path().join("made/on/the/way")).unwrap();
    let recording = store.begin(&info(&plan)).unwrap();
    assert_eq!((recording.run, recording.next_trial), (1, 0));
    store_rows(&store, recording, &rows);
    check_stored(&store, recording.session, &rows);
    assert!(rows.iter().any(|row| row.outcome.restored.is_none()));

    store.finish(recording, "2026-01-31T09:40:00Z").unwrap();
    let sessions = store.sessions().unwrap();
    assert_eq!(sessions.len(), 1);
    assert_eq!(sessions[0].info, info(&plan));
    assert_eq!(sessions[0].stored_trials, 20);
    assert_eq!(sessions[0].finished_at.as_deref(), Some("2026-01-31T09:40:00Z"));
    assert_eq!(store.unfinished().unwrap(), []);
}

#[test]
fn rows_say_where_and_what() {
    let (plan, rows) = rows(20);
    for (row, planned) in rows.iter().zip(&plan.trials) {
        let restored = planned.case.restoration().map(|r| r.tooth);
        match restored {
            Some(tooth) => {
                assert_eq!(plan.teeth[row.target_pos as usize - 1], tooth);
                let recipe = row.recipe.as_ref().unwrap();
                assert_eq!(recipe["ceramic"]["class"], "lithium-disilicate");
                assert_eq!(recipe["thickness"]["body_mm"], 0.5);
                assert_eq!(recipe["prepared_tooth"], "light");
            }
            None => assert_eq!((row.target_pos, row.recipe.as_ref()), (0, None)),
        }
        if let Response::Tooth(tooth) = row.outcome.response {
            assert_eq!(plan.teeth[row.response_pos.unwrap() as usize - 1], tooth);
        }
        assert_eq!(row.seed_key, format!("test/21/0/{}", planned.trial));
        assert_eq!(row.residuals_de00[2], planned.case.patient.teeth[2].residual_de00);
        assert_eq!((row.n_teeth, row.light.as_str()), (10, "D65"));
    }
}

/// A process that dies between two trials runs no destructor: the store is forgotten, not dropped.
#[test]
fn a_session_cut_off_keeps_every_answered_trial() {
    let dir = tempdir().unwrap();
    let (plan, rows) = rows(20);
    let store = Store::open(dir.path()).unwrap();
    let recording = store.begin(&info(&plan)).unwrap();
    store_rows(&store, recording, &rows[..7]);
    std::mem::forget(store);

    let store = Store::open(dir.path()).unwrap();
    let unfinished = store.unfinished().unwrap();
    assert_eq!(unfinished.len(), 1);
    assert_eq!(unfinished[0].stored_trials, 7);
    check_stored(&store, recording.session, &rows[..7]);

    let resumed = store.resume(unfinished[0].session).unwrap();
    assert_eq!(resumed, Recording { session: recording.session, run: 2, next_trial: 7 });
    store_rows(&store, resumed, &rows[7..]);
    store.finish(resumed, "later").unwrap();
    drop(store);

    let store = Store::open(dir.path()).unwrap();
    check_stored(&store, recording.session, &rows);
    assert!(matches!(store.resume(recording.session), Err(StoreError::Finished(_))));
    assert!(matches!(store.append(resumed, &rows[0]), Err(StoreError::Finished(_))));
    assert!(matches!(store.resume(99), Err(StoreError::NoSession(99))));
}

#[test]
fn stored_trials_are_never_changed() {
    let dir = tempdir().unwrap();
    let (plan, rows) = rows(4);
    let store = Store::open(dir.path()).unwrap();
    let recording = store.begin(&info(&plan)).unwrap();
    store_rows(&store, recording, &rows[..2]);
    assert!(matches!(
        store.append(recording, &rows[1]),
        Err(StoreError::AlreadyStored { trial: 1, .. })
    ));
    assert!(sqlite(dir.path()).execute("UPDATE trial SET verdict = 'found'", []).is_err());
    check_stored(&store, recording.session, &rows[..2]);
}

#[test]
fn two_processes_may_write_at_once() {
    let dir = tempdir().unwrap();
    let (plan, rows) = rows(20);
    // Opening counts too: all of them make the file and its tables.
    std::thread::scope(|scope| {
        let threads: Vec<_> = (0..4)
            .map(|_| {
                scope.spawn(|| {
                    let store = Store::open(dir.path()).unwrap();
                    let recording = store.begin(&info(&plan)).unwrap();
                    store_rows(&store, recording, &rows);
                    recording.session
                })
            })
            .collect();
        let mut sessions: Vec<i64> = threads.into_iter().map(|t| t.join().unwrap()).collect();
        sessions.sort_unstable();
        assert_eq!(sessions, [1, 2, 3, 4]);
    });
    let store = Store::open(dir.path()).unwrap();
    for session in 1..=4 {
        check_stored(&store, session, &rows);
    }
}

#[test]
fn the_export_names_its_columns() {
    let dir = tempdir().unwrap();
    let (plan, rows) = rows(20);
    let store = Store::open(dir.path()).unwrap();
    for part in [&rows[..20], &rows[..3]] {
        let recording = store.begin(&info(&plan)).unwrap();
        store_rows(&store, recording, part);
    }
    let mut bytes = Vec::new();
    assert_eq!(store.export_csv(Some(2), &mut bytes).unwrap(), 3);
    bytes.clear();
    assert_eq!(store.export_csv(None, &mut bytes).unwrap(), 23);

    let mut reader = csv::Reader::from_reader(bytes.as_slice());
    let header = reader.headers().unwrap().clone();
    assert!(header.iter().eq(COLUMNS.iter().map(|column| column.name)));
    let at = |name| header.iter().position(|column| column == name).unwrap();
    let records: Vec<csv::StringRecord> = reader.records().map(|r| r.unwrap()).collect();
    assert_eq!(records.len(), 23);
    for (record, row) in records.iter().zip(&rows) {
        let outcome = &row.outcome;
        assert_eq!(&record[at("trial")], outcome.trial.to_string());
        assert_eq!(&record[at("trial_kind")], outcome.kind.name());
        assert_eq!(&record[at("verdict")], outcome.verdict.name());
        assert_eq!(&record[at("onset")], outcome.onsets.onset_s.to_string());
        let duration: f64 = record[at("duration")].parse().unwrap();
        assert!((duration - 2.5).abs() < 1e-9);
        let expected = row.difference.map_or("n/a".to_owned(), |d| d.dl00.to_string());
        assert_eq!(record[at("dL00")], expected);
        assert_eq!(&record[at("date")], "2026-01-31", "no time of day");
        assert_eq!(&record[at("input_device")], "simulated");
        assert_eq!(&record[at("timeout")], "0");
        assert_eq!(&record[at("refresh_hz")], "60");
    }
    assert!(bytes.windows(5).all(|part| part != b"09:30"));
}

/// Opens `dir` and expects a refusal that leaves every byte of the file as it was.
fn refused(dir: &Path) -> StoreError {
    let file = dir.join("results.sqlite3");
    let before = std::fs::read(&file).unwrap();
    let error = Store::open(dir).unwrap_err();
    assert_eq!(std::fs::read(&file).unwrap(), before, "the file was touched");
    assert!(error.to_string().contains("results.sqlite3"), "{error}");
    error
}

#[test]
fn a_file_that_is_no_database_is_left_alone() {
    let dir = tempdir().unwrap();
    std::fs::write(dir.path().join("results.sqlite3"), "not a database ".repeat(500)).unwrap();
    let error = refused(dir.path());
    assert!(matches!(error, StoreError::NotADatabase(_)), "{error}");
}

#[test]
fn another_programs_database_is_left_alone() {
    let dir = tempdir().unwrap();
    sqlite(dir.path()).execute_batch("CREATE TABLE recipes (name TEXT);").unwrap();
    let error = refused(dir.path());
    assert!(matches!(error, StoreError::Foreign(_)), "{error}");
}

#[test]
fn a_newer_schema_is_refused() {
    let dir = tempdir().unwrap();
    drop(Store::open(dir.path()).unwrap());
    sqlite(dir.path()).pragma_update(None, "user_version", LATEST_VERSION + 1).unwrap();
    let error = refused(dir.path());
    assert!(
        matches!(error, StoreError::Newer { found, .. } if found == i64::from(LATEST_VERSION) + 1),
        "{error}"
    );
    assert!(error.to_string().contains("newer program"), "{error}");
}

#[test]
fn a_damaged_file_is_reported_and_left_alone() {
    let dir = tempdir().unwrap();
    let (plan, rows) = rows(60);
    let store = Store::open(dir.path()).unwrap();
    let recording = store.begin(&info(&plan)).unwrap();
    store_rows(&store, recording, &rows);
    drop(store);
    // Overwrite everything after the first page: the header is sound, the content is not.
    let file = dir.path().join("results.sqlite3");
    let mut bytes = std::fs::read(&file).unwrap();
    assert!(bytes.len() > 8192, "{} bytes", bytes.len());
    bytes[4096..].fill(0xA5);
    std::fs::write(&file, bytes).unwrap();
    let error = refused(dir.path());
    assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
}

#[test]
fn a_truncated_file_is_reported_and_left_alone() {
    let dir = tempdir().unwrap();
    drop(Store::open(dir.path()).unwrap());
    let file = dir.path().join("results.sqlite3");
    let bytes = std::fs::read(&file).unwrap();
    std::fs::write(&file, &bytes[..bytes.len() / 2]).unwrap();
    let error = refused(dir.path());
    assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
}

#[test]
fn an_empty_file_becomes_a_store() {
    let dir = tempdir().unwrap();
    std::fs::write(dir.path().join("results.sqlite3"), "").unwrap();
    assert_eq!(Store::open(dir.path()).unwrap().sessions().unwrap(), []);
}

#[test]
fn a_folder_that_cannot_be_made_is_named() {
    let dir = tempdir().unwrap();
    let in_the_way = dir.path().join("file");
    std::fs::write(&in_the_way, "").unwrap();
    let error = Store::open(&in_the_way.join("results")).unwrap_err();
    assert!(matches!(error, StoreError::Folder { .. }), "{error}");

    std::fs::create_dir(dir.path().join("results.sqlite3")).unwrap();
    let error = Store::open(dir.path()).unwrap_err();
    assert!(matches!(error, StoreError::Unwritable(_)), "{error}");
}

/// A folder in which nobody, not even the superuser, can make a file.
#[cfg(target_os = "linux")]
#[test]
fn a_read_only_folder_is_reported() {
    let error = Store::open(Path::new("/proc/self")).unwrap_err();
    assert!(matches!(error, StoreError::Unwritable(_)), "{error}");
}
