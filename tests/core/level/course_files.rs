//! Course files: what ships is right, and every mistake is explained where it stands.

#![expect(clippy::unwrap_used, reason = "a test helper that fails fails its test")]

use second_glance::course::Form;
use second_glance::level::course_format::{ClassLimits, Course, Phase};
use second_glance::level::load::{check, load_materials, parse_course};
use second_glance::level::{KnownMaterials, Severity};
use std::path::Path;

const PRACTICAL: &str = include_str!("../../../assets/courses/student-practical.ron");
const LECTURE: &str = include_str!("../../../assets/courses/lecture-block.ron");

fn known() -> KnownMaterials {
    let levels = [
        "first-look",
        "dark-tooth-thin-veneer",
        "opaque-and-light",
        "four-incisors",
        "blend-value-first",
    ];
    KnownMaterials {
        levels: levels.map(str::to_owned).into(),
        question_levels: ["blend-value-first".to_owned()].into(),
        ..KnownMaterials::default()
    }
}

fn practical() -> Course {
    parse_course("student-practical.ron", PRACTICAL, &known()).unwrap().value
}

#[test]
fn shipped_courses_are_valid_and_keep_their_time() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let materials = load_materials(&root.join("assets/materials")).unwrap().value.known();
    let report = check(&[root.join("levels"), root.join("assets/courses")], &materials);
    // Levels may hold what is odd on purpose; courses hold nothing odd.
    let odd = report
        .diagnostics
        .iter()
        .filter(|d| d.file.parent().is_some_and(|p| p.ends_with("assets/courses")));
    assert_eq!((report.errors(), odd.count()), (0, 0), "{report}");
    assert_eq!(report.courses.len(), 2);
    for (_, course) in &report.courses {
        let minutes = course.expected_minutes();
        println!("{}: about {minutes:.1} of {} min", course.id, course.minutes);
        assert!(minutes <= course.minutes && minutes >= 0.6 * course.minutes);
        for entry in &course.forms {
            Form::new(entry.seed, entry.per_cell).unwrap();
        }
        assert_eq!(course.phases(), [Phase::Pre, Phase::Post]);
        for seat in 0..4 {
            let forms = course.phases().into_iter().map(|p| course.form_of(p, seat).unwrap());
            let seeds: Vec<u64> = forms.map(|form| form.seed).collect();
            assert_ne!(seeds[0], seeds[1], "seat {seat} sees the same smiles twice");
        }
    }
    let course = practical();
    let first = |seat| course.form_of(Phase::Pre, seat).unwrap().id.clone();
    assert_eq!([0, 1, 2].map(first), ["a", "b", "a"], "neighbours sit different forms");
    let limits = ClassLimits { least_catch_trials: 24, ..ClassLimits::default() };
    assert_eq!((course.class_limits(), course.catch_trials()), (limits, 32));
    let named = ron::ser::PrettyConfig::new().struct_names(true);
    let written = ron::ser::to_string_pretty(&course, named).unwrap();
    assert_eq!(parse_course("student-practical.ron", &written, &known()).unwrap().value, course);
}

/// Line, severity and words of everything found after one change.
fn after(text: &str, name: &str, old: &str, new: &str) -> Vec<(usize, Severity, String)> {
    assert!(text.contains(old), "no `{old}`");
    let changed = text.replacen(old, new, 1);
    let diagnostics = match parse_course(name, &changed, &known()) {
        Ok(loaded) => loaded.warnings,
        Err(error) => error.diagnostics,
    };
    let said = diagnostics
        .iter()
        .map(|d| (d.position.unwrap().line, d.severity, format!("{}; {}", d.message, d.help)));
    said.collect()
}

#[test]
fn every_mistake_is_explained_at_its_place() {
    let line_of =
        |needle: &str| PRACTICAL[..PRACTICAL.find(needle).unwrap()].matches('\n').count() + 1;
    for (old, new, place, says) in [
        ("format: 1", "format: 2", "format:", "newer than the program"),
        ("id: \"student-practical\"", "id: \"practical\"", "id: \"student", "rename the file"),
        ("minutes: 45", "minutes: 0", "minutes: 45", "outside 1 to 480 min"),
        ("mode: Exam", "mode: Examm", "mode:", "Exam"),
        ("tooth_names: ISO3950", "tooth_names: Letters", "tooth_names", "ISO3950"),
        ("exposure_s: 2.5", "exposure_s: 25", "exposure_s", "outside 0.25 to 8 s"),
        ("response_s: 6", "response_s: 1", "response_s", "outside 2 to 60 s"),
        ("most_response_factor: 4", "most_response_factor: 40", "accommodation", "outside 1 to 10"),
        ("seed: 450202", "seed: 450101", "id: \"b\"", "used by another form"),
        ("(id: \"b\"", "(id: \"a\"", "id: \"b\"", "used twice"),
        ("per_cell: 3", "per_cell: 4", "id: \"a\"", "outside 1 to 3"),
        ("[\"a\", \"b\"], phase: Pre", "[\"a\", \"c\"], phase: Pre", "phase: Pre", "no form \"c\""),
        (
            "[\"a\", \"b\"], phase: Pre",
            "[\"b\", \"a\"], phase: Pre",
            "phase: Post",
            "the same form",
        ),
        ("phase: Post", "phase: Pre", "phase: Post", "has a form already"),
        ("phase: Pre", "phase: Delayed", "phase: Post", "comes after Delayed"),
        ("level: \"first-look\"", "level: \"frist-look\"", "first-look", "mean \"first-look\""),
        ("trials: 12", "trials: 13", "first-look", "a quarter of the smiles"),
        ("least_catch_trials: 24", "least_catch_trials: 40", "least_catch", "have 32 smiles"),
        ("minutes: 45", "minutes: 10", "minutes: 45", "for who answers at once"),
        (
            "        Form(forms: [\"b\", \"a\"], phase: Post),\n",
            "",
            "phase: Pre",
            "there is none after it",
        ),
        (
            "        Form(forms: [\"a\", \"b\"], phase: Pre),\n",
            "        Talk(title: \"So\", minutes: 1),\n",
            "phase: Post",
            "there is none before it",
        ),
        ("threshold_de00: 1.8", "threshold_de00: 0.1", "pass:", "outside 0.3 to 7.5"),
        ("fine_de00: 1.2", "fine_de00: 2.2", "classes:", "do not rise"),
        ("mode: Exam", "mode: Lecture", "pass:", "not anyone's own"),
        ("title: \"Seeing value: a practical\"", "title: \" \"", "title: \"Seeing", "is empty"),
        ("minutes: 45,", "minutes: 45, colour: 3,", "minutes: 45", "colour"),
    ] {
        let said = after(PRACTICAL, "student-practical.ron", old, new);
        let (line, severity, message) = said.first().unwrap();
        assert!(message.contains(says), "`{new}`: {message}");
        assert_eq!(*line, line_of(place), "`{new}`: {message}");
        assert_eq!(*severity, Severity::Error, "`{new}`: {message}");
    }
    for (old, new, says) in [
        ("exposure_s: 2.5", "exposure_s: 1.0", "stated at 2.5 s"),
        ("minutes: 20", "minutes: 12", "shorten the forms"),
        ("forms: [\"before\"]", "forms: [\"after\"]", "the same form"),
    ] {
        let said = after(LECTURE, "lecture-block.ron", old, new);
        assert!(said.iter().any(|(_, _, message)| message.contains(says)), "`{new}`: {said:?}");
    }
    // Questions are no smiles: any number of them can be asked.
    let asked = |trials: &str| {
        let new = format!("level: \"blend-value-first\", trials: {trials}");
        after(LECTURE, "lecture-block.ron", "level: \"blend-value-first\", trials: 4", &new)
    };
    assert_eq!(asked("5"), []);
    let none = asked("0");
    let message = &none.first().unwrap().2;
    assert!(message.contains("number of questions") && !message.contains("smile"), "{message}");
    let spare = "forms: [\n        (id: \"spare\", seed: 5, per_cell: 1),";
    let said = after(LECTURE, "lecture-block.ron", "forms: [\n", &format!("{spare}\n"));
    let (_, severity, message) = said.first().unwrap();
    assert!(message.contains("used by no step") && *severity == Severity::Warning, "{message}");
}

/// What is said of a whole file: line, column and message with help, in the order of the file.
fn said(text: &str) -> Vec<(usize, usize, String)> {
    let diagnostics = match parse_course("lecture-block.ron", text, &known()) {
        Ok(loaded) => loaded.warnings,
        Err(error) => error.diagnostics,
    };
    let place = |d: &second_glance::level::Diagnostic| {
        let position = d.position.unwrap();
        (position.line, position.column, format!("{}; {}", d.message, d.help))
    };
    diagnostics.iter().map(place).collect()
}

/// Fourteen files as a hand leaves them: every mistake is found, where it is, and nothing else is
/// said. Lines and columns are counted by hand in `assets/courses/lecture-block.ron`.
#[test]
fn broken_files_are_explained_to_the_column() {
    assert_eq!(said(LECTURE), [], "the file without mistakes");
    let change = |old: &str, new: &str| {
        assert!(LECTURE.contains(old), "no `{old}`");
        LECTURE.replacen(old, new, 1)
    };
    let several = change("minutes: 20", "minutes: 0")
        .replacen("response_s: 10", "response_s: 600", 1)
        .replacen("level: \"four-incisors\"", "level: \"four-incisor\"", 1)
        .replacen("phase: Post", "phase: Pots", 1);
    for (text, expected) in [
        (String::new(), vec![(1, 1, "the file is empty")]),
        (change("Course(", "Curse("), vec![(3, 1, "did you mean `Course`")]),
        (change("minutes: 20,", "minutes: 20"), vec![(8, 16, "a comma is missing here")]),
        (change("minutes: 20", "minutes = 20"), vec![(8, 13, "`=` after the field name")]),
        (change("room see?\",", "room see?,"), vec![(6, 12, "no end in its line")]),
        (
            change("    response_s: 10,\n", ""),
            vec![(3, 1, "field `response_s` of `Course` is missing")],
        ),
        (
            change("    response_s: 10,\n", "    response_s: 10,\n    response_s: 12,\n"),
            vec![(13, 5, "given twice")],
        ),
        (change("2.5", "\"2.5\""), vec![(11, 17, "should be a number")]),
        (change("\"What does the room see?\"", "7"), vec![(6, 12, "should be a text")]),
        (change("200101", "-1"), vec![(15, 30, "whole number from 0")]),
        (
            change("Talk(title: \"What", "Speech(title: \"What"),
            vec![(24, 9, "write `Talk`, `Form`, `Practice`")],
        ),
        (change("per_cell", "percell"), vec![(15, 38, "did you mean `per_cell`?")]),
        (format!("{LECTURE}\nmore"), vec![(28, 1, "text after the end of the value")]),
        (
            several,
            vec![
                (8, 14, "outside 1 to 480 min"),
                (12, 17, "outside 2 to 60 s"),
                (21, 25, "did you mean \"four-incisors\"?"),
                (23, 39, "did you mean `Post`?"),
            ],
        ),
    ] {
        let found = said(&text);
        assert_eq!(found.len(), expected.len(), "{found:#?}");
        for ((line, column, message), (at_line, at_column, says)) in found.iter().zip(expected) {
            assert_eq!((*line, *column), (at_line, at_column), "{message}");
            assert!(message.contains(says), "{message}");
        }
    }
}
