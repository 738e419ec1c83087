//! Hand-ins: what they hold, how they merge, and which are refused.

use crate::shared::sessions::{check_stored, exam, info, rows, sqlite, store_rows};
use second_glance::course::FormTruth;
use second_glance::results::{
    Forgotten, HandInError, HandInRequest, LATEST_VERSION, Manifest, Sitting, Store, TrialRow,
    hand_in_manifest, hand_ins_below,
};
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::tempdir;

const DAY: &str = "2026-01-31";

fn request<'a>(learner: &'a str, course: &'a str) -> HandInRequest<'a> {
    HandInRequest { learner, course, day: DAY, build: "0.1.0", with_practice: false }
}

fn exam_rows(n_trials: usize) -> Vec<TrialRow> {
    let (_, rows) = rows(n_trials);
    rows.into_iter().map(|row| TrialRow { mode: "exam".to_owned(), ..row }).collect()
}

/// A store of one seat, its exams and the practice of somebody else, and its hand-in.
fn seat(folder: &Path, learner: &str, trials: &[TrialRow]) -> (Store, PathBuf) {
    let store = Store::open(&folder.join(learner)).unwrap();
    let (plan, practice) = rows(20);
    let other = store.begin(&info(&plan)).unwrap();
    store_rows(&store, other, &practice);
    for phase in ["pre", "post"] {
        let recording = store.begin(&exam(learner, "practical", phase)).unwrap();
        store_rows(&store, recording, trials);
    }
    let file = folder.join(format!("{learner}.handin"));
    store.hand_in(&request(learner, "practical"), &file).unwrap();
    (store, file)
}

fn gather(into: &mut Store, files: &[PathBuf]) -> (Vec<(u64, u64)>, Vec<String>) {
    let mut calls = Vec::new();
    let gathered = into
        .gather(files, Some("practical"), &FormTruth::default(), &mut |done| calls.push(done))
        .unwrap();
    assert_eq!(calls, (0..=files.len()).collect::<Vec<_>>());
    let taken = gathered.taken.iter().map(|t| (t.new_trials, t.known_trials)).collect();
    (taken, gathered.refused.iter().map(|(_, error)| error.to_string()).collect())
}

#[test]
fn a_hand_in_holds_one_learners_exams_and_says_so() {
    let dir = tempdir().unwrap();
    let trials = exam_rows(20);
    let (store, file) = seat(dir.path(), "0123abcd", &trials);
    let manifest = hand_in_manifest(&file).unwrap();
    assert_eq!((manifest.sessions, manifest.trials), (2, 40));
    assert_eq!((manifest.schema, manifest.day.as_str()), (LATEST_VERSION, DAY));
    assert_eq!(manifest.sha256.len(), 64);
    // Nobody else's: neither practice nor another course is anywhere in the file.
    let bytes = fs::read(&file).unwrap();
    assert!(!bytes.windows(8).any(|w| w == b"practice"), "practice is private");
    let nothing = store.hand_in(&request("0123abcd", "lecture"), &dir.path().join("x"));
    assert!(matches!(nothing, Err(HandInError::Nothing { .. })));
    assert!(!dir.path().join("x").exists());
    // The seat's own store is as it was.
    assert_eq!(store.sessions().unwrap().len(), 3);
    assert_eq!(
        fs::read_dir(dir.path().join("0123abcd"))
            .unwrap()
            .filter(|entry| { entry.as_ref().unwrap().file_type().unwrap().is_dir() })
            .count(),
        0,
        "a working folder was left behind"
    );
}

#[test]
fn gathering_is_idempotent_and_loses_nothing() {
    let dir = tempdir().unwrap();
    let trials = exam_rows(20);
    let mut files = Vec::new();
    for learner in ["0000000a", "0000000b", "0000000c"] {
        files.push(seat(dir.path(), learner, &trials).1);
    }
    assert_eq!(hand_ins_below(dir.path()).unwrap(), files);
    let mut all = Store::open(&dir.path().join("all")).unwrap();
    assert_eq!(gather(&mut all, &files), (vec![(40, 0); 3], vec![]));
    assert_eq!(gather(&mut all, &files), (vec![(0, 40); 3], vec![]));
    let sessions = all.sessions().unwrap();
    assert_eq!(sessions.len(), 6);
    for session in &sessions {
        check_stored(&all, session.session, &trials);
        assert_eq!(Sitting::of(&session.info.settings).unwrap().response_factor, 2.0);
    }
    // A file moved elsewhere is still the same hand-in.
    let copy = dir.path().join("again.handin");
    fs::copy(&files[0], &copy).unwrap();
    assert_eq!(gather(&mut all, &[copy]), (vec![(0, 40)], vec![]));
}

#[test]
fn a_later_hand_in_adds_what_was_missing() {
    let dir = tempdir().unwrap();
    let trials = exam_rows(20);
    let store = Store::open(&dir.path().join("seat")).unwrap();
    let recording = store.begin(&exam("0000000a", "practical", "pre")).unwrap();
    store_rows(&store, recording, &trials[..7]);
    let (early, late) = (dir.path().join("early.handin"), dir.path().join("late.handin"));
    store.hand_in(&request("0000000a", "practical"), &early).unwrap();
    store_rows(&store, store.resume(recording.session).unwrap(), &trials[7..]);
    store.finish(recording, "2026-01-31T10:00:00Z").unwrap();
    store.hand_in(&request("0000000a", "practical"), &late).unwrap();

    for (order, expected) in
        [([&early, &late], vec![(7, 0), (13, 7)]), ([&late, &early], vec![(20, 0), (0, 7)])]
    {
        let all_dir = tempdir().unwrap();
        let mut all = Store::open(all_dir.path()).unwrap();
        let files: Vec<PathBuf> = order.into_iter().cloned().collect();
        assert_eq!(gather(&mut all, &files), (expected, vec![]));
        let sessions = all.sessions().unwrap();
        assert_eq!(sessions.len(), 1);
        assert_eq!(sessions[0].finished_at.as_deref(), Some("2026-01-31T10:00:00Z"));
        check_stored(&all, sessions[0].session, &trials);
    }
}

/// A file of that name and content.
fn made(folder: &Path, name: &str, content: &[u8]) -> PathBuf {
    let path = folder.join(name);
    fs::write(&path, content).unwrap();
    path
}

/// A hand-in as a version to come might write it: with another manifest, and without results.
fn newer(good: &Path, name: &str, change: &dyn Fn(&mut serde_json::Value)) -> PathBuf {
    let manifest = hand_in_manifest(good).unwrap();
    let mut manifest = serde_json::to_value(&manifest).unwrap();
    change(&mut manifest);
    let mut archive = tar::Builder::new(Vec::new());
    let text = serde_json::to_vec(&manifest).unwrap();
    let mut header = tar::Header::new_gnu();
    header.set_size(text.len() as u64);
    archive.append_data(&mut header, "manifest.json", &*text).unwrap();
    made(good.parent().unwrap(), name, &archive.into_inner().unwrap())
}

#[test]
fn damaged_foreign_newer_and_altered_files_are_refused_and_listed() {
    let dir = tempdir().unwrap();
    let trials = exam_rows(20);
    let (store, good) = seat(dir.path(), "0000000a", &trials);
    let bytes = fs::read(&good).unwrap();
    let make = |name: &str, content: &[u8]| made(dir.path(), name, content);
    let mut flipped = bytes.clone();
    let middle = flipped.len() / 2;
    flipped[middle] ^= 1;
    let mut files = vec![
        make("flipped", &flipped),
        make("cut", &bytes[..bytes.len() / 2]),
        make("empty", b""),
        make("text", "no hand-in ".repeat(99).as_bytes()),
        make("database", &fs::read(dir.path().join("0000000a/results.sqlite3")).unwrap()),
        dir.path().join("absent"),
    ];
    // Versions to come.
    let newer = |name: &str, change: &dyn Fn(&mut serde_json::Value)| newer(&good, name, change);
    files.push(newer("schema", &|m| m["schema"] = (LATEST_VERSION + 1).into()));
    files.push(newer("format", &|m| {
        m["format"] = 2.into();
        m.as_object_mut().unwrap().remove("sha256");
    }));
    files.push(newer("program", &|m| m["kind"] = "another".into()));
    files.push(newer("hollow", &|_| {}));
    // Another course.
    let recording = store.begin(&exam("0000000a", "lecture", "pre")).unwrap();
    store_rows(&store, recording, &trials[..4]);
    let lecture = dir.path().join("lecture");
    store.hand_in(&request("0000000a", "lecture"), &lecture).unwrap();
    files.push(lecture);
    // An answer changed after the fact.
    let connection = sqlite(&dir.path().join("0000000a"));
    connection
        .execute_batch(
            "DROP TRIGGER trial_rows_stand;
             UPDATE trial SET response_time = response_time + 1 WHERE session = 2 AND trial < 3
                AND response_time IS NOT NULL",
        )
        .unwrap();
    let altered = dir.path().join("altered");
    store.hand_in(&request("0000000a", "practical"), &altered).unwrap();
    files.push(altered);

    let mut all = Store::open(&dir.path().join("all")).unwrap();
    assert_eq!(gather(&mut all, &[good]), (vec![(40, 0)], vec![]));
    let (taken, refused) = gather(&mut all, &files);
    assert_eq!(taken, []);
    let expected = [
        "damaged",
        "damaged",
        "not a hand-in: it is empty",
        "not a hand-in",
        "not a hand-in",
        "absent",
        "newer program (schema version",
        "newer program (format 2",
        "of another program",
        "damaged: it holds no results",
        "is of course \"lecture\"",
        "differ from those gathered before",
    ];
    assert_eq!(refused.len(), expected.len(), "{refused:#?}");
    for (found, expected) in refused.iter().zip(expected) {
        assert!(found.contains(expected), "{found:?} does not say {expected:?}");
    }
    // Nothing of them was taken.
    assert_eq!(all.sessions().unwrap().len(), 2);
    check_stored(&all, 1, &trials);
}

#[test]
fn what_a_store_holds_besides_is_no_part_of_a_hand_in() {
    let dir = tempdir().unwrap();
    let trials = exam_rows(4);
    let store = Store::open(&dir.path().join("seat")).unwrap();
    let recording = store.begin(&exam("0000000a", "practical", "pre")).unwrap();
    store_rows(&store, recording, &trials);
    // Somebody kept notes in the file and took a safeguard away.
    let seat = sqlite(&dir.path().join("seat"));
    seat.execute_batch(
        "CREATE TABLE remark (id INTEGER PRIMARY KEY, session INTEGER NOT NULL
            REFERENCES session (id), choice TEXT NOT NULL);
         CREATE INDEX \"of a \"\"remark\" ON remark (choice);
         INSERT INTO remark VALUES (1, 1, 'unmistakable');
         DROP TRIGGER answers_stand;",
    )
    .unwrap();
    let file = dir.path().join("a.handin");
    store.hand_in(&request("0000000a", "practical"), &file).unwrap();
    assert!(!fs::read(&file).unwrap().windows(12).any(|w| w == b"unmistakable"));
    let mut all = Store::open(&dir.path().join("all")).unwrap();
    assert_eq!(gather(&mut all, &[file]), (vec![(4, 0)], vec![]));
    check_stored(&all, 1, &trials);
    // They are the learner's all the same, and go when the learner goes.
    drop(store);
    Store::open(&dir.path().join("seat")).unwrap().forget("0000000a").unwrap();
    let left: i64 = seat.query_row("SELECT count(*) FROM remark", [], |row| row.get(0)).unwrap();
    assert_eq!(left, 0);
}

#[test]
fn a_store_with_queries_of_somebody_else_is_not_opened() {
    for planted in [
        "CREATE VIEW more AS SELECT * FROM session",
        "CREATE TRIGGER more AFTER INSERT ON trial BEGIN DELETE FROM session; END",
        "CREATE VIRTUAL TABLE more USING fts3(a)",
        "PRAGMA foreign_keys = OFF; DROP TABLE session; CREATE VIEW session AS SELECT 1 AS id",
    ] {
        let dir = tempdir().unwrap();
        drop(Store::open(dir.path()).unwrap());
        sqlite(dir.path()).execute_batch(planted).unwrap();
        let error = Store::open(dir.path()).unwrap_err();
        assert!(error.to_string().contains("database of another program"), "{planted}: {error}");
    }
}

#[test]
fn a_learner_can_be_forgotten() {
    let dir = tempdir().unwrap();
    let trials = exam_rows(20);
    let files = ["0000000a", "0000000b"].map(|learner| seat(dir.path(), learner, &trials).1);
    let folder = dir.path().join("all");
    let mut all = Store::open(&folder).unwrap();
    gather(&mut all, &files);
    assert_eq!(all.forget("0000000a").unwrap(), Forgotten { sessions: 2, trials: 40, answers: 0 });
    assert_eq!(all.forget("0000000a").unwrap(), Forgotten::default());
    let left = all.sessions().unwrap();
    assert_eq!(left.len(), 2);
    check_stored(&all, left[0].session, &trials);
    drop(all);
    for entry in fs::read_dir(&folder).unwrap() {
        let bytes = fs::read(entry.unwrap().path()).unwrap();
        assert!(!bytes.windows(8).any(|w| w == b"0000000a"), "the id is still in the file");
    }
    // The same hand-in can be taken again, should the learner wish so.
    let mut all = Store::open(&folder).unwrap();
    assert_eq!(gather(&mut all, &files[..1]), (vec![(40, 0)], vec![]));
}

#[test]
fn manifests_read_back() {
    let manifest = Manifest {
        kind: "second-glance hand-in".to_owned(),
        format: 1,
        learner: "0123abcd".to_owned(),
        course: "practical".to_owned(),
        day: DAY.to_owned(),
        build: "0.1.0".to_owned(),
        schema: LATEST_VERSION,
        sessions: 1,
        trials: 64,
        answers: 3,
        bytes: 9,
        sha256: "00".repeat(32),
    };
    let text = serde_json::to_string(&manifest).unwrap();
    assert_eq!(serde_json::from_str::<Manifest>(&text).unwrap(), manifest);
}
