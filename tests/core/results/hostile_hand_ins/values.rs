//! Values that no sitting leaves behind: in a hand-in they are refused, in a store they are named.

use super::{Class, RESULTS, gather, said_in_turn};
use crate::shared::courses::practical;
use rusqlite::Connection;
use second_glance::course::CourseData;
use second_glance::report::{CourseReportOptions, course_report};
use second_glance::results::{Selection, Store, Table};
use std::path::PathBuf;
use tempfile::tempdir;

/// An SQL statement, and what is said of the hand-in that it was done to.
type Change = (String, &'static str);

fn set(what: &str) -> String {
    format!("UPDATE trial SET {what} WHERE session = 1 AND trial = 5")
}

fn session(what: &str) -> String {
    format!("UPDATE session SET {what} WHERE id = 1")
}

fn of_signal(what: &str) -> String {
    format!(
        "UPDATE trial SET {what} WHERE session = 1 AND trial = (SELECT min(trial) FROM trial
        WHERE session = 1 AND trial_kind = 'signal')"
    )
}

fn changed_answers() -> Vec<Change> {
    let deep = "'[' || replace(hex(zeroblob(50000)), '0', '[')";
    vec![
        (set("n_teeth = -1"), "session 1, trial 5: n_teeth is -1, not a whole number from 1 to 32"),
        (set("n_teeth = 2000000000"), "trial 5: n_teeth is 2000000000"),
        (set("target_pos = 4294967297"), "target_pos is 4294967297"),
        (set("block = 9223372036854775807"), "block is 9223372036854775807"),
        (of_signal("x_de00 = -5"), "x_de00 is -5e0, not a number from 0 to 200"),
        (of_signal("x_de00 = 1e308"), "x_de00 is 1e308"),
        (of_signal("x_de00 = 5e-324"), "x_de00 is 5e-324"),
        (of_signal("dl00 = -9e999"), "dl00 is -inf"),
        (set("t_on = 9e999"), "t_on is inf"),
        (set("t_fix = -0.5"), "t_fix is -5e-1"),
        (set("t_mask = t_on - 1"), "its times run backwards"),
        (set("exposure_actual = -150"), "exposure_actual is -150"),
        (set("dropped = -1"), "dropped is -1"),
        (set("refresh_hz = 0"), "refresh_hz is 0e0"),
        (set("u_resid = '[0.5, 1'"), "u_resid is not what it can be: EOF"),
        (set("u_resid = '[NaN]'"), "u_resid is not what it can be"),
        (set("u_resid = '[1e999]'"), "u_resid is not what it can be: number out of range"),
        (set("u_resid = '[1,2]'"), "a form shows 10 teeth"),
        (set(&format!("u_resid = {deep}")), "u_resid is not what it can be: it is"),
        (set(&format!("recipe = substr({deep}, 1, 9000)")), "recursion limit"),
        (set("recipe = '{\"a\": 1, \"a\": 2}'"), "two fields of one name"),
        (set("recipe = hex(zeroblob(100000))"), "recipe is 200000 bytes long"),
        (set("recipe = hex(zeroblob(3000000))"), "larger than any of this program"),
        (set("light = 'D65' || char(27) || '[2J'"), "light is \"D65\\u{1b}[2J\""),
        (set("light = CAST(x'ff4142' AS TEXT)"), "light is"),
        (set("seed_key = seed_key || char(10)"), "seed_key is"),
        (set("scene_seed = '18446744073709551616'"), "scene_seed is"),
        (set("response = 'maybe'"), "CHECK constraint failed in trial"),
        (set("verdict = CASE verdict WHEN 'missed' THEN 'found' ELSE 'missed' END"), "its verdict"),
        (set("timeout = 1 - timeout"), "timed out and answered"),
        (set("response_pos = 11, n_teeth = 10, response = 'tooth'"), "trial 5: "),
        (set("input_device = 'telepathy'"), "input_device is \"telepathy\""),
    ]
}

/// What an item shows follows from its form.
fn changed_items() -> Vec<Change> {
    vec![
        (of_signal("x_de00 = x_de00 + 1"), "of its form is"),
        (of_signal("dl00 = -dl00, dc00 = -dc00, dh00 = -dh00"), "of its form is"),
        (of_signal("x_de00 = NULL, dl00 = NULL, dc00 = NULL, dh00 = NULL"), "not nothing"),
        (
            of_signal(
                "target_pos = 1 + target_pos % 10, target_tooth = CASE target_pos WHEN 10 THEN 15
                 WHEN 5 THEN 21 ELSE target_tooth + CASE WHEN target_pos < 5 THEN -1 ELSE 1 END END,
                 response = 'none', response_pos = NULL, response_tooth = NULL, verdict = 'missed',
                 timeout = 0",
            ),
            "of its form restores tooth",
        ),
        (
            "UPDATE trial SET seed_key = (SELECT seed_key FROM trial WHERE session = 1 AND
                trial_kind = 'catch' AND trial.block = 0 LIMIT 1)
             WHERE session = 1 AND block = 0 AND trial_kind = 'catch'"
                .to_owned(),
            "of its form was shown before",
        ),
        (set("seed_key = 'exam:form/7/' || block || '/3'"), "of form seed 7, and its session of"),
        (set("seed_key = 'exam:form/+1/0/3', block = 0"), "seed key names no item"),
        (set("seed_key = 'first-look/1/0/3'"), "seed key names no item"),
        (session("seed = '12345'"), "its session of 12345"),
        (session("planned_trials = 63"), "no form has the 63 items"),
        (session("started_at = 'yesterday'"), "started_at is \"yesterday\""),
        (session("finished_at = '2026-01-31'"), "finished_at is \"2026-01-31\""),
    ]
}

fn changed_sessions() -> Vec<Change> {
    vec![
        (session("planned_trials = -1"), "session 1: planned_trials is -1"),
        (session("settings = '{'"), "session 1: settings is not what it can be"),
        (session("settings = '{}'"), "it says nothing of a course"),
        (
            session("settings = json_set(settings, '$.course.learner', '00000000ffff')"),
            "session 1: it is not of the learner and course of the manifest",
        ),
        (
            // The first of two fields would be read by SQLite, the last by others.
            session("settings = '{\"course\":{\"learner\":\"00000000ffff\"},' || substr(settings, 2)"),
            "two fields of one name",
        ),
        (
            session("settings = json_set(settings, '$.course.response_factor', 1e6)"),
            "its time to answer is 1e6 times",
        ),
        (
            session("settings = json_set(settings, '$.course.form', 'z')"),
            "has no form \"z\"",
        ),
        (
            session("settings = json_set(settings, '$.course.phase', 'whenever')"),
            "its phase is none of",
        ),
        (
            "INSERT INTO session (started_at, finished_at, build, task, mode, level, seed, refresh_hz,
                planned_trials, settings)
             SELECT started_at, finished_at, build, task, mode, level, seed, refresh_hz,
                planned_trials, settings FROM session WHERE id = 1"
                .to_owned(),
            "session 3: it is there twice",
        ),
        ("PRAGMA foreign_keys = OFF; UPDATE trial SET session = 99 WHERE session = 1".to_owned(),
            "session 99, trial 0: there is no such session"),
        ("DELETE FROM trial WHERE session = 1 AND trial > 9".to_owned(), "and its manifest says"),
        (
            "WITH RECURSIVE n(i) AS (SELECT 0 UNION ALL SELECT i + 1 FROM n LIMIT 99999)
             INSERT INTO sitting_log SELECT 1, i, '2026-01-31T09:00:00Z', 'shown', NULL, NULL FROM n"
                .to_owned(),
            "more than 100000 rows",
        ),
    ]
}

#[test]
fn values_that_no_sitting_leaves_behind_are_refused_with_their_place() {
    let class = Class::new();
    let cases = [changed_answers(), changed_items(), changed_sessions()].concat();
    let files: Vec<PathBuf> = cases
        .iter()
        .enumerate()
        .map(|(i, (sql, _))| class.altered(&format!("case {i}"), sql))
        .collect();
    let expected: Vec<&str> = cases.iter().map(|(_, said)| *said).collect();
    said_in_turn(&class.gather(&files), &expected);
}

/// Rows that got into a store all the same: from an earlier version, or by somebody's hand.
#[test]
fn a_report_names_stored_rows_that_cannot_be_and_goes_on_with_the_others() {
    let class = Class::new();
    let folder = tempdir().unwrap();
    let mut store = Store::open(folder.path()).unwrap();
    gather(&mut store, &class.honest);
    let course = practical();
    let read = |store: &Store| CourseData::read(store, Some(&course.id), &|_| {}).unwrap();
    let sound = read(&store);
    assert_eq!((sound.sittings.len(), sound.left_out.len()), (4, 0));
    let learner = sound.sittings.iter().find(|s| s.session == 1).unwrap().learner.clone();
    let unhurt: Vec<_> = sound.sittings.iter().filter(|s| s.learner != learner).collect();
    let connection = Connection::open(folder.path().join(RESULTS)).unwrap();
    connection
        .execute_batch(
            "DROP TRIGGER trial_rows_stand; PRAGMA ignore_check_constraints = ON;
             UPDATE trial SET n_teeth = -1 WHERE session = 1 AND trial = 5;
             UPDATE trial SET n_teeth = 2000000000 WHERE session = 1 AND trial = 6;
             UPDATE trial SET x_de00 = 1e308 WHERE session = 1 AND trial IN
                (SELECT trial FROM trial WHERE session = 1 AND trial_kind = 'signal' AND trial > 6
                 ORDER BY trial LIMIT 1);
             UPDATE trial SET u_resid = '[' WHERE session = 1 AND trial = 40;
             UPDATE trial SET response_time = 9e999 WHERE session = 1 AND trial = 41;
             INSERT INTO answer (session, run, number, task, mode, level, seed_key, is_catch, sights,
                truth, answer, score, t_shown, t_answer, response_time, input_device)
             VALUES (1, 1, 0, 'blend', 'practice', 'l', 'l/1/0/0', 0, '[]', '{', '{}', 1e308, 0.0, 1.0,
                1.0, 'pointer');
             UPDATE session SET settings = '{' WHERE id = 2",
        )
        .unwrap();
    let data = read(&store);
    let said: Vec<String> = data.left_out.iter().map(ToString::to_string).collect();
    let trial = |rest: &str| format!("learner {learner}, session 1, {rest}");
    assert_eq!(said.len(), 7, "{said:#?}");
    assert!(said[0].starts_with("learner unknown, session 2: "), "{}", said[0]);
    assert_eq!(said[1], trial("trial 5: n_teeth is -1, not a whole number from 1 to 32"));
    assert!(said[2].starts_with(&trial("trial 6: n_teeth is 2000000000")), "{}", said[2]);
    assert!(said[3].contains("x_de00 is 1e308"), "{}", said[3]);
    assert!(said[4].starts_with(&trial("trial 40: u_resid")), "{}", said[4]);
    assert!(said[5].starts_with(&trial("trial 41: response_time is inf")), "{}", said[5]);
    assert!(said[6].starts_with(&trial("question 0: ")), "{}", said[6]);
    // The others are as they were.
    let left: Vec<_> = data.sittings.iter().filter(|s| s.learner != learner).collect();
    assert_eq!(left, unhurt);
    assert_eq!(data.sittings.iter().find(|s| s.session == 1).unwrap().shown(), 64 - 5);
    let options = CourseReportOptions {
        course: Some(&course),
        shared: false,
        pages: false,
        day: "2026-02-01",
    };
    let page = course_report(&data, &options, &|_| {});
    assert!(page.contains(&said[1]) && page.contains("gather the hand-in again"), "remedy");
    let shared = course_report(&data, &CourseReportOptions { shared: true, ..options }, &|_| {});
    assert!(!shared.contains(&learner), "a shared report names nobody");
    // Exports go on, and the learner can be forgotten whole, whatever the rows hold.
    let mut table = Vec::new();
    let rows = store.export_table(Table::Trials, Selection::default(), b',', &mut table).unwrap();
    assert_eq!(rows, 256);
    let gone = store.forget(&learner).unwrap();
    assert_eq!((gone.sessions, gone.trials, gone.answers), (2, 128, 1));
    assert_eq!(read(&store).left_out, []);
}
