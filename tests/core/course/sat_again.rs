//! A learner who sits in one phase more than once: all is kept, one counts, and both are said.

#![expect(clippy::unwrap_used, reason = "helpers of tests, which may panic")]

use crate::shared::courses::practical;
use second_glance::course::{
    CourseData, Form, FormTruth, GroupReport, SimulatedGroup, SimulatedLearner, simulated_sitting,
};
use second_glance::report::{CourseReportOptions, course_report};
use second_glance::results::{
    Counted, HandInRequest, Selection, SessionInfo, Sitting, Store, Table,
};
use std::path::{Path, PathBuf};
use tempfile::tempdir;

/// A hand-in of one sitting of form "a" before teaching, at a computer of its own, of so many
/// smiles.
fn hand_in(folder: &Path, learner: &SimulatedLearner, at: &str, smiles: usize) -> PathBuf {
    let course = practical();
    let form = Form::standard(course.forms[0].seed).unwrap();
    let seat = tempdir().unwrap();
    let store = Store::open(seat.path()).unwrap();
    let id = learner.learner.to_string();
    let sitting = Sitting {
        course: course.id.clone(),
        learner: id.clone(),
        seat: 0,
        phase: Some("pre".to_owned()),
        form: Some("a".to_owned()),
        step: Some(1),
        response_factor: 1.0,
    };
    let seed = u64::from(at.as_bytes()[12]);
    let rows = simulated_sitting(learner, 0, &form, seed).unwrap();
    let recording = store
        .begin(&SessionInfo {
            started_at: at.to_owned(),
            build: "0".to_owned(),
            task: "glance".to_owned(),
            mode: "exam".to_owned(),
            level: "exam:form".to_owned(),
            seed: form.seed,
            refresh_hz: 60.0,
            planned_trials: 64,
            settings: sitting.in_settings(serde_json::json!({})),
        })
        .unwrap();
    store.append_all(recording, &rows[..smiles]).unwrap();
    let file = folder.join(format!("{id}-{}-{smiles}.handin", at.replace(':', "")));
    let request = HandInRequest {
        learner: &id,
        course: &course.id,
        day: "2026-01-31",
        build: "0",
        with_practice: false,
    };
    store.hand_in(&request, &file).unwrap();
    file
}

/// Gathered in this order.
fn gathered(folder: &Path, files: &[PathBuf]) -> (Store, CourseData) {
    let mut store = Store::open(&folder.join("all")).unwrap();
    assert!(
        store
            .gather(files, None, &FormTruth::new(vec![practical()]), &mut |_| {})
            .unwrap()
            .refused
            .is_empty()
    );
    let data = CourseData::read(&store, None, &|_| {}).unwrap();
    (store, data)
}

#[test]
fn the_first_full_sitting_counts_whichever_is_gathered_first() {
    let dir = tempdir().unwrap();
    let learners = SimulatedGroup { learners: 2, ..SimulatedGroup::default() }.draw(2);
    let learner = &learners[0];
    let later = hand_in(dir.path(), learner, "2026-01-31T11:00:00Z", 64);
    let first = hand_in(dir.path(), learner, "2026-01-31T09:00:00Z", 64);
    let broken_off = hand_in(dir.path(), learner, "2026-01-31T08:00:00Z", 5);
    let other = hand_in(dir.path(), &learners[1], "2026-01-31T09:00:00Z", 64);
    let (store, data) = gathered(dir.path(), &[later, first, broken_off, other]);
    assert_eq!((data.sittings.len(), data.counting().count()), (4, 2), "all are kept");
    let how: Vec<Counted> = [1, 2, 3, 4]
        .map(|session| data.sittings.iter().find(|s| s.session == session).unwrap().counted)
        .into();
    assert_eq!(
        how,
        [
            Counted::SeenBefore { counts: 2 },
            Counted::First { of: 3 },
            Counted::BrokenOff { counts: 2 },
            Counted::Only
        ]
    );
    // Figures of the group and its items are of one sitting each.
    let group = GroupReport::new(&data);
    assert_eq!((group.phases[0].learners, group.forms[0].sittings), (2, 2));

    let course = practical();
    let own = CourseReportOptions {
        course: Some(&course),
        shared: false,
        pages: true,
        day: "2026-02-01",
    };
    let html = course_report(&data, &own, &|_| {});
    for words in [
        "Sat more than once",
        "4 sittings (2 of them do not count",
        "smiles seen before measure memory",
        "it broke off after 5 smiles",
        "the fullest of 3 sittings",
    ] {
        assert!(html.contains(words), "{words}");
    }
    let shared = course_report(&data, &CourseReportOptions { shared: true, ..own }, &|_| {});
    assert!(!shared.contains("Sat more than once"), "it would tell of single people");

    // The export says the same of every trial.
    let mut csv = Vec::new();
    store.export_table(Table::Trials, Selection::default(), b',', &mut csv).unwrap();
    let mut reader = csv::Reader::from_reader(&*csv);
    let header = reader.headers().unwrap().clone();
    let column = |name: &str| header.iter().position(|h| h == name).unwrap();
    let (session, counts, why) =
        (column("session"), column("sitting_counts"), column("sitting_counts_why"));
    let mut rows = [0; 5];
    for record in reader.records() {
        let record = record.unwrap();
        let of: i64 = record[session].parse().unwrap();
        rows[of as usize] += 1;
        assert_eq!(&record[counts], if [2, 4].contains(&of) { "1" } else { "0" });
        let says = match of {
            1 => "does not count: sat again after session 2, which counts",
            2 => "counts: the fullest of 3 sittings, or the first",
            3 => "does not count: session 2 holds more smiles and counts",
            _ => "the only sitting of this phase",
        };
        assert_eq!(&record[why], says);
    }
    assert_eq!(rows, [0, 64, 64, 5, 64], "every trial is exported");
}

#[test]
fn practice_is_no_sitting_and_several_courses_are_named() {
    let dir = tempdir().unwrap();
    let learners = SimulatedGroup { learners: 1, ..SimulatedGroup::default() }.draw(2);
    let file = hand_in(dir.path(), &learners[0], "2026-01-31T09:00:00Z", 8);
    let (store, _) = gathered(dir.path(), &[file]);
    let (plan, rows) = crate::shared::sessions::rows(20);
    let recording = store.begin(&crate::shared::sessions::info(&plan)).unwrap();
    crate::shared::sessions::store_rows(&store, recording, &rows);
    assert_eq!(store.counted_sittings().unwrap().len(), 1);
    assert_eq!(store.courses().unwrap(), ["student-practical"]);
    let mut csv = Vec::new();
    let practice = Selection { session: Some(recording.session), ..Selection::default() };
    store.export_table(Table::Trials, practice, b',', &mut csv).unwrap();
    let mut reader = csv::Reader::from_reader(&*csv);
    let place = reader.headers().unwrap().iter().position(|h| h == "sitting_counts").unwrap();
    assert!(reader.records().all(|record| &record.unwrap()[place] == "n/a"));
}
