//! Who comes late to a lecture sees how to join while a question is on.

use super::LECTURE;
use crate::stage::Drawn;
use bevy::prelude::*;
use second_glance::app::room::lecture::LecturePort;
use second_glance::app::shell::state::Screen;
use second_glance::play::intents::{CourseIntent, Intent};
use second_glance::play::lecture::{Lecture, RoomStage};
use second_glance::trial::Phase;
use std::path::Path;

/// The smallest window that a room's screen must fit, and the size that type is meant for.
const WINDOWS: [[f32; 2]; 2] = [[832.0, 600.0], [1280.0, 720.0]];

fn stage(drawn: &Drawn) -> RoomStage {
    drawn.walk.app.world().resource::<Lecture>().stage()
}

/// A lecture with these steps, its first question asked.
fn asked(folder: &Path, steps: &str) -> Drawn {
    let file = folder.join("block.ron");
    let head = LECTURE.split_once("    steps:").unwrap().0;
    std::fs::write(&file, format!("{head}    steps: [{steps}],\n)")).unwrap();
    let mut drawn = Drawn::new(&folder.join("results"), [1280.0, 720.0]);
    drawn.walk.app.insert_resource(LecturePort(0));
    drawn.walk.frames(70);
    let course = CourseIntent::Choose(file.display().to_string());
    drawn.walk.intend(Intent::Course(course));
    drawn.walk.until("the room", |walk| walk.screen() == Screen::Lecture);
    drawn.walk.frames(3);
    drawn.click("Start");
    drawn.walk.until("the question", |walk| {
        walk.app.world().resource::<Lecture>().stage() == RoomStage::Asked
    });
    drawn.walk.frames(3);
    drawn
}

/// Address and code stand in one line, within every window and over nothing else.
fn can_be_joined(drawn: &mut Drawn, what: &str) {
    let lecture = drawn.walk.app.world().resource::<Lecture>();
    let address = lecture.address().unwrap().0.to_owned();
    let code = format!("Code: {}", lecture.join_code().unwrap());
    for size in WINDOWS {
        drawn.resize(size);
        let words = drawn.words();
        let how = words.iter().position(|words| words.text.contains(&code));
        let how = how.unwrap_or_else(|| panic!("{what} in {size:?}: no code in {words:#?}"));
        let at = &words[how];
        assert!(at.text.contains(&address), "{what}: {at:?}");
        assert!(at.are_whole(drawn.window()), "{what} in {size:?}: {at:?}");
        // Large enough to be read: the small type of the program is 13 points or more.
        assert!(
            at.place.height() >= 13.0 && at.place.height() < 40.0,
            "{what} in {size:?}: {at:?}"
        );
        for (other, over) in words.iter().enumerate().filter(|(other, _)| *other != how) {
            let shared = at.place.intersect(over.place);
            assert!(!shared.is_positive(), "{what} in {size:?}: {at:?} over {other}, {over:?}");
        }
    }
}

#[test]
fn who_comes_late_sees_address_and_code_while_a_question_is_on() {
    let folder = tempfile::tempdir().unwrap();
    let steps = "Form(forms: [\"a\"], phase: Pre), Form(forms: [\"b\"], phase: Post)";
    let mut drawn = asked(folder.path(), steps);
    drawn.walk.until("the answer", |walk| matches!(walk.phase(), Phase::Response { .. }));
    can_be_joined(&mut drawn, "a smile asked");
    drawn.click("Close");
    assert_eq!(stage(&drawn), RoomStage::Closed);
    can_be_joined(&mut drawn, "a smile closed");
}

#[test]
fn who_comes_late_sees_address_and_code_at_a_question_about_options() {
    let folder = tempfile::tempdir().unwrap();
    let steps = "Practice(level: \"blend-value-first\", trials: 2)";
    let mut drawn = asked(folder.path(), steps);
    can_be_joined(&mut drawn, "options asked");
    drawn.click("Close");
    assert_eq!(stage(&drawn), RoomStage::Closed);
    can_be_joined(&mut drawn, "options closed");
}
