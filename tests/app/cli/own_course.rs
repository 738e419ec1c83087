//! A course of one's own on the command line, with a form and a level of one's own in it.

use super::program::{Ran, program, run};
use std::fs;
use std::path::Path;

const COURSE: &str = r#"Course(
    format: 1, id: "own-course", title: "A course of our own", teaches: "Say what you see.",
    minutes: 20, mode: Exam, tooth_names: ISO3950, exposure_s: 2.5, response_s: 6,
    accommodation: (most_response_factor: 1, may_be_untimed: false),
    forms: [(id: "first", seed: 909091, per_cell: 1), (id: "second", seed: 909092, per_cell: 1)],
    steps: [
        Form(forms: ["first", "second"], phase: Pre),
        Practice(level: "own-level", trials: 8),
        Form(forms: ["second", "first"], phase: Post),
    ],
    pass: (threshold_de00: 1.8, false_alarms: 0.5),
)
"#;

/// The course in one folder and its level in another; they may be the same.
fn write(courses: &Path, levels: &Path) {
    fs::create_dir_all(courses).unwrap();
    fs::create_dir_all(levels).unwrap();
    fs::write(courses.join("own-course.ron"), COURSE).unwrap();
    let level = include_str!("../../../levels/first-look.ron");
    let own = level.replacen("id: \"first-look\"", "id: \"own-level\"", 1);
    assert_ne!(level, own);
    fs::write(levels.join("own-level.ron"), own).unwrap();
}

#[track_caller]
fn went_well(ran: &Ran) {
    assert_eq!((ran.code, ran.complained.as_str()), (Some(0), ""), "{ran:?}");
}

/// Simulates the course and reports it from what was gathered, with these options.
fn simulated_and_reported(home: &Path, options: &[&str]) {
    let simulate =
        [&["course", "simulate", "own-course", "--learners", "4", "--out", "simulated"], options];
    let ran = run(program(home), &simulate.concat());
    went_well(&ran);
    assert!(
        ran.said.contains("pre: 4 sittings") && ran.said.contains("post: 4 sittings"),
        "{ran:?}"
    );
    let first = fs::read_to_string(home.join("simulated/report.html")).unwrap();
    let report = ["report", "--course", "own-course", "--data-dir", "simulated/gathered"];
    let ran = run(program(home), &[&report[..], options].concat());
    went_well(&ran);
    assert!(ran.said.contains("8 sittings in report.html"), "{ran:?}");
    let again = fs::read_to_string(home.join("report.html")).unwrap();
    for html in [&first, &again] {
        // Its title, its own form names and the bounds that it asks for, and no other course's.
        assert!(html.contains("A course of our own"));
        assert!(!html.contains("Seeing value: a practical"));
    }
    assert_eq!(first, again, "the report that simulating writes is the one of what it gathered");
}

#[test]
fn a_course_is_simulated_and_reported_with_its_level_in_another_folder() {
    let home = tempfile::tempdir().unwrap();
    write(&home.path().join("courses"), &home.path().join("levels"));
    let options = ["--courses", "courses", "--levels", "levels"];
    simulated_and_reported(home.path(), &options);
    // Options may stand before the command, too.
    let ran = run(program(home.path()), &[&options[..], &["check"]].concat());
    went_well(&ran);
    assert!(ran.said.contains("2 files"), "{ran:?}");
}

#[test]
fn a_course_is_simulated_and_reported_with_its_level_beside_it() {
    let home = tempfile::tempdir().unwrap();
    let own = home.path().join("own");
    write(&own, &own);
    simulated_and_reported(home.path(), &["--courses", "own"]);
    went_well(&run(program(home.path()), &["check", "own"]));
    // Both options may name the one folder.
    let twice = ["check", "--courses", "own", "--levels", "own"];
    went_well(&run(program(home.path()), &twice));
    // The level that stands beside the course can be played, as the course will.
    let questions = ["course", "simulate", "own-course", "--learners", "2", "--out", "again"];
    let options = ["--courses", "own", "--levels", "own"];
    went_well(&run(program(home.path()), &[&questions[..], &options].concat()));
    let rehearse = ["rehearse", "own-level", "--trials", "2", "--courses", "own"];
    let ran = run(program(home.path()), &rehearse);
    assert_eq!(ran.code, Some(0), "{ran:?}");
}

#[test]
fn without_its_folder_a_course_is_not_known_and_what_to_do_is_said() {
    let home = tempfile::tempdir().unwrap();
    let own = home.path().join("own");
    write(&own, &own);
    let simulate = ["course", "simulate", "own-course", "--learners", "2", "--out", "none"];
    let report = ["report", "--course", "own-course", "--data-dir", "none"];
    for arguments in [&simulate[..], &report] {
        let ran = run(program(home.path()), arguments);
        assert_eq!((ran.code, ran.said.as_str()), (Some(1), ""), "{ran:?}");
        for words in ["no course `own-course`", "student-practical", "--courses DIR"] {
            assert!(ran.complained.contains(words), "{words}: {ran:?}");
        }
        assert!(!home.path().join("none").exists(), "a refused command made a folder");
    }
    // A course whose level is nowhere is refused by its place in the file.
    fs::remove_file(own.join("own-level.ron")).unwrap();
    let ran = run(program(home.path()), &[&simulate[..], &["--courses", "own"]].concat());
    assert_eq!(ran.code, Some(1), "{ran:?}");
    for words in ["own-course.ron:", "own-level", "help:"] {
        assert!(ran.complained.contains(words), "{words}: {ran:?}");
    }
    let ran = run(program(home.path()), &["check", "own"]);
    assert!(ran.code == Some(1) && ran.said.contains("own-level"), "{ran:?}");
}
