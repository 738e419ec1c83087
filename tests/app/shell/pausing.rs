//! Pausing and leaving by pointer alone, in everything that can be under way.

use crate::stage::{Drawn, LEVEL};
use second_glance::app::room::lecture::LecturePort;
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::exercise::Stage;
use second_glance::play::intents::Intent;
use second_glance::play::intents::MeasureChoice;
use second_glance::play::intents::{CourseIntent, SeatField};
use second_glance::play::lecture::{Lecture, RoomStage};
use second_glance::trial::Phase;
use std::path::Path;

const PAUSE: &str = "Pause";
/// The window that most people have least of, points: common practice, no source.
const SIZE: [f32; 2] = [1280.0, 720.0];

/// Pauses and goes on, by pointer.
fn pause_and_resume(drawn: &mut Drawn) {
    let words = drawn.words();
    let label = words.iter().find(|words| words.text.starts_with(PAUSE)).unwrap();
    // 15 points of type take 18 to 20: one line, wherever there is little room.
    assert!(label.place.height() < 24.0, "{label:?}");
    drawn.click(PAUSE);
    assert_eq!(drawn.walk.pause(), Pause::Paused);
    drawn.click("Resume");
    assert_eq!(drawn.walk.pause(), Pause::Running);
}

/// Waits for a phase; says whether anything could be paused by pointer in the frames of each.
fn until_phase(drawn: &mut Drawn, what: &str, reached: impl Fn(Phase) -> bool) {
    for _ in 0..4000 {
        if reached(drawn.walk.phase()) {
            drawn.walk.frames(1);
            return;
        }
        if matches!(drawn.walk.phase(), Phase::Fixation | Phase::Exposure | Phase::Mask) {
            drawn.walk.frames(1);
            let now = drawn.walk.phase();
            if matches!(now, Phase::Fixation | Phase::Exposure | Phase::Mask) {
                assert_eq!(drawn.find(PAUSE), None, "in {now:?}");
            }
        } else {
            drawn.walk.frames(1);
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
    }
    panic!("never reached: {what}; {:?}", drawn.walk.problem());
}

fn to_the_answer(drawn: &mut Drawn) {
    if matches!(drawn.walk.phase(), Phase::Adaptation { .. }) {
        drawn.click("Start now");
    }
    until_phase(drawn, "the answer", |phase| matches!(phase, Phase::Response { .. }));
}

#[test]
fn a_session_is_paused_and_left_by_pointer_and_never_beside_a_smile() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(folder.path(), SIZE);
    drawn.walk.intend(Intent::StartLevel(LEVEL.to_owned()));
    drawn.walk.until("the session", |walk| walk.screen() == Screen::Trial);
    drawn.walk.frames(2);
    pause_and_resume(&mut drawn);
    to_the_answer(&mut drawn);
    pause_and_resume(&mut drawn);
    let (code, key) = drawn.walk.right_key();
    drawn.walk.press(code, key);
    assert_eq!(drawn.walk.phase(), Phase::Debrief);
    drawn.walk.frames(1);
    pause_and_resume(&mut drawn);
    drawn.click(PAUSE);
    drawn.click("Stop and keep results");
    assert_eq!(drawn.walk.screen(), Screen::Summary);
}

#[test]
fn a_measurement_is_paused_and_left_by_pointer() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(folder.path(), SIZE);
    drawn.walk.frames(130);
    drawn.walk.intend(Intent::StartMeasure(MeasureChoice::Value));
    drawn.walk.until("the measurement", |walk| walk.screen() == Screen::Trial);
    drawn.walk.frames(2);
    pause_and_resume(&mut drawn);
    to_the_answer(&mut drawn);
    drawn.click(PAUSE);
    drawn.click("Stop and keep results");
    assert_eq!(drawn.walk.screen(), Screen::Measured);
}

#[test]
fn a_search_is_paused_and_left_by_pointer() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(folder.path(), SIZE);
    drawn.walk.frames(130);
    drawn.walk.intend(Intent::StartLevel("find".to_owned()));
    drawn.walk.until("the search", |walk| walk.screen() == Screen::Trial);
    drawn.walk.frames(2);
    drawn.click("Start now");
    drawn.walk.until("a smile", |walk| walk.phase() == Phase::Exposure);
    drawn.walk.frames(1);
    pause_and_resume(&mut drawn);
    drawn.click(PAUSE);
    drawn.click("Stop and keep results");
    assert_eq!(drawn.walk.screen(), Screen::Summary);
}

#[test]
fn questions_are_paused_and_left_by_pointer() {
    for level in ["value-ladder", "at-a-glance"] {
        let folder = tempfile::tempdir().unwrap();
        let mut drawn = Drawn::new(folder.path(), SIZE);
        drawn.walk.intend(Intent::StartLevel(level.to_owned()));
        drawn.walk.until("the round", |walk| walk.screen() == Screen::Exercise);
        drawn.walk.frames(2);
        pause_and_resume(&mut drawn);
        drawn.click("Begin");
        drawn.walk.until_asked();
        drawn.walk.frames(1);
        if level == "at-a-glance" {
            assert_eq!(drawn.find(PAUSE), None, "beside a brief view");
            drawn.walk.until("the end of the view", |walk| !walk.exercising().may_look());
            drawn.walk.frames(2);
        }
        pause_and_resume(&mut drawn);
        drawn.click(if level == "at-a-glance" { "Accept" } else { "Done" });
        assert_eq!(drawn.walk.exercising().sitting().stage(), Stage::Marked);
        pause_and_resume(&mut drawn);
        drawn.click(PAUSE);
        drawn.click("Stop and keep results");
        assert_eq!(drawn.walk.screen(), Screen::Summary);
    }
}

#[test]
fn a_bench_is_paused_and_left_by_pointer_in_every_window() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(folder.path(), SIZE);
    drawn.walk.intend(Intent::StartLevel("bench-dark-central".to_owned()));
    drawn.walk.until("the round", |walk| walk.screen() == Screen::Exercise);
    drawn.walk.frames(2);
    drawn.click("Begin");
    drawn.walk.until_asked();
    for size in [[1280.0, 800.0], SIZE, [1920.0, 1080.0]] {
        drawn.resize(size);
        pause_and_resume(&mut drawn);
    }
    drawn.click(PAUSE);
    drawn.click("Stop and keep results");
    assert_eq!(drawn.walk.screen(), Screen::Summary);
}

const HEAD: &str = r#"Course(
    format: 1, id: "short", title: "Short", teaches: "Say what you see.", minutes: 10,
    tooth_names: ISO3950, exposure_s: 2.5, response_s: 6,
    accommodation: (most_response_factor: 1, may_be_untimed: false),
    forms: [(id: "only", seed: 909090, per_cell: 1)],
    steps: [Form(forms: ["only"], phase: Only)],
"#;

/// At the course that `rest` completes.
fn at_course(drawn: &mut Drawn, folder: &Path, rest: &str) {
    let file = folder.join("short.ron");
    std::fs::write(&file, format!("{HEAD}{rest})")).unwrap();
    drawn.walk.frames(70);
    let course = CourseIntent::Choose(file.display().to_string());
    drawn.walk.intend(Intent::Course(course));
    drawn.walk.frames(2);
}

#[test]
fn an_exam_is_paused_and_left_by_pointer() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(&folder.path().join("results"), SIZE);
    let exam = "mode: Exam, pass: (threshold_de00: 1.8, false_alarms: 0.25),";
    at_course(&mut drawn, folder.path(), exam);
    for (field, text) in [(SeatField::Learner, "00aa11bb22cc"), (SeatField::Seat, "1")] {
        drawn.walk.intend(Intent::Course(CourseIntent::Write(field, text.to_owned())));
    }
    drawn.click("Take the seat");
    drawn.click("Start the form");
    drawn.walk.until("the form", |walk| walk.screen() == Screen::Trial);
    drawn.walk.frames(2);
    pause_and_resume(&mut drawn);
    to_the_answer(&mut drawn);
    pause_and_resume(&mut drawn);
    drawn.click(PAUSE);
    drawn.click("Leave the form");
    assert_eq!(drawn.walk.screen(), Screen::Course);
}

fn stage(drawn: &Drawn) -> RoomStage {
    drawn.walk.app.world().resource::<Lecture>().stage()
}

#[test]
fn a_lecture_is_paused_and_ended_by_pointer() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(&folder.path().join("results"), SIZE);
    drawn.walk.app.insert_resource(LecturePort(0));
    at_course(&mut drawn, folder.path(), "mode: Lecture,");
    pause_and_resume(&mut drawn);
    drawn.click("Start");
    drawn.walk.until("the smiles", |walk| walk.screen() == Screen::Trial);
    until_phase(&mut drawn, "the question", |phase| matches!(phase, Phase::Response { .. }));
    assert_eq!(stage(&drawn), RoomStage::Asked);
    pause_and_resume(&mut drawn);
    drawn.click("Close");
    assert_eq!(stage(&drawn), RoomStage::Closed);
    pause_and_resume(&mut drawn);
    drawn.click("Reveal");
    assert_eq!(stage(&drawn), RoomStage::Revealed);
    pause_and_resume(&mut drawn);
    drawn.click(PAUSE);
    drawn.click("End the lecture");
    assert!(drawn.walk.app.world().resource::<Lecture>().is_over());
}
