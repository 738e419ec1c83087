//! Keys in a course and in a lecture do what their labels say.

use super::{act, check, check_debrief, hands_in};
use crate::stage::Hands;
use crate::stage::phones::{answer, join};
use second_glance::app::room::lecture::LecturePort;
use second_glance::app::shell::state::Screen;
use second_glance::play::course::Seat;
use second_glance::play::intents::{Act, CourseIntent, Intent, RoomIntent, SeatField};
use second_glance::play::lecture::{Lecture, RoomStage};
use second_glance::play::view::DebriefView;
use second_glance::trial::{InputDevice, Phase};
use std::path::Path;

const HEAD: &str = r#"    format: 1, teaches: "Look.", minutes: 20, tooth_names: Places, exposure_s: 2.5, response_s: 30,
    accommodation: (most_response_factor: 1, may_be_untimed: false),
"#;

/// A course in a folder of its own, chosen.
fn course(folder: &Path, name: &str, rest: &str) -> Hands {
    let file = folder.join(format!("{name}.ron"));
    std::fs::write(
        &file,
        format!("Course(\n    id: \"{name}\", title: \"{name}\",\n{HEAD}{rest})"),
    )
    .unwrap();
    let mut hands = hands_in(&folder.join("results"));
    hands.walk.app.insert_resource(LecturePort(0));
    hands.walk.intend(Intent::Course(CourseIntent::Choose(file.display().to_string())));
    hands.walk.until("the course", |walk| walk.screen() != Screen::Title);
    hands.walk.frames(2);
    hands
}

#[test]
fn in_a_course() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = course(
        folder.path(),
        "seat",
        "    mode: Exam,
    forms: [(id: \"a\", seed: 7, per_cell: 1)],
    steps: [Talk(title: \"Value\", minutes: 1), Practice(level: \"value-ladder\"),
        Form(forms: [\"a\"], phase: Only)],\n",
    );
    assert_eq!(hands.walk.screen(), Screen::Seat);
    // Letters and digits are typed into the field.
    for letter in ['a', 'z', '7', 'Q'] {
        let asked = hands.asked_by(|hands| {
            hands.write(letter);
            hands.frame();
        });
        let typed = CourseIntent::Write(SeatField::Learner, letter.to_string());
        assert_eq!(asked, [Intent::Course(typed)]);
    }
    for (field, text) in [(SeatField::Learner, "00aa11bb22cc"), (SeatField::Seat, "4")] {
        hands.walk.intend(Intent::Course(CourseIntent::Write(field, text.to_owned())));
    }
    hands.walk.intend(Intent::Course(CourseIntent::Enter));
    hands.walk.until("the steps", |walk| walk.screen() == Screen::Course);
    hands.walk.frames(2);
    let next = |hands: &mut Hands| {
        hands.walk.intend(Intent::Course(CourseIntent::Begin));
        hands.walk.frames(2);
    };
    assert_eq!(check(&mut hands, "a talk"), ["Enter", "Escape"]);
    next(&mut hands);
    assert_eq!(check(&mut hands, "practice in a course"), ["Enter", "Escape", "S"]);
    hands.walk.intend(Intent::Course(CourseIntent::Skip));
    assert_eq!(check(&mut hands, "a form"), ["Enter", "Escape"]);
    next(&mut hands);
    hands.walk.until("the form", |walk| walk.screen() == Screen::Trial);
    hands.walk.intend(Intent::StartNow);
    let total = hands.walk.session().progress().total;
    for number in 0..total {
        hands.walk.until("the row", |walk| {
            walk.screen() != Screen::Trial
                || matches!(walk.phase(), Phase::Mask | Phase::Response { .. })
        });
        if number == 0 {
            check(&mut hands, "an answer in an exam");
        }
        hands.walk.intend(Intent::Answer(None, InputDevice::Keyboard));
        if hands.walk.screen() == Screen::Trial && hands.walk.phase() == Phase::Debrief {
            check(&mut hands, "a rest in an exam");
            hands.walk.intend(Intent::Continue);
        }
    }
    hands.walk.until("the steps", |walk| walk.screen() == Screen::Course);
    assert!(hands.walk.app.world().resource::<Seat>().may_hand_in());
    check(&mut hands, "all forms done");
    next(&mut hands);
    hands.walk.until("handing in", |walk| walk.screen() == Screen::HandIn);
    let asked = hands.asked_by(|hands| {
        hands.write('s');
        hands.frame();
    });
    let [Intent::Course(CourseIntent::Folder(folder))] = &asked[..] else {
        panic!("a letter asked for {asked:?}");
    };
    assert!(folder.contains('s'), "{folder}");
}

fn room(hands: &Hands) -> &Lecture {
    hands.walk.app.world().resource::<Lecture>()
}

#[test]
fn in_a_lecture() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = course(
        folder.path(),
        "room",
        "    mode: Lecture,
    forms: [(id: \"a\", seed: 7, per_cell: 1)],
    steps: [Form(forms: [\"a\"], phase: Only), Practice(level: \"blend-value-first\", trials: 4)],\n",
    );
    assert_eq!(hands.walk.screen(), Screen::Lecture);
    let port = room(&hands).server().unwrap().port();
    let phone = join(room(&hands).server().unwrap());
    assert_eq!(check(&mut hands, "joining"), ["Enter", "Escape", "F11"]);
    hands.walk.intend(Intent::Room(RoomIntent::Begin));
    hands.walk.until("the question", |walk| {
        walk.screen() == Screen::Trial && matches!(walk.phase(), Phase::Response { .. })
    });
    assert_eq!(check(&mut hands, "a room is asked"), ["Enter", "Escape"]);
    assert_eq!(answer(port, &phone, 1, 0).0, 204);
    hands.walk.intend(Intent::Room(RoomIntent::Close));
    assert_eq!(check(&mut hands, "closed"), ["Enter", "Escape"]);
    hands.walk.intend(Intent::Room(RoomIntent::Reveal));
    check(&mut hands, "the solution");
    hands.walk.intend(Intent::Pause);
    hands.walk.frames(2);
    assert!(check(&mut hands, "pause in a lecture").is_empty());
    hands.walk.intend(Intent::StopSession);
    hands.walk.until("the room", |walk| walk.screen() == Screen::Lecture);
    hands.walk.intend(Intent::Room(RoomIntent::Begin));
    hands.walk.until("the options", |walk| {
        walk.screen() == Screen::Exercise && room_stage(walk) == RoomStage::Asked
    });
    hands.walk.frames(2);
    let keys = check(&mut hands, "a room is asked about options");
    assert!(keys.contains(&"G".to_owned()) && keys.contains(&"V".to_owned()), "{keys:?}");
    act(&mut hands, Act::Choose(1));
    check(&mut hands, "one option before a room");
    hands.walk.intend(Intent::Room(RoomIntent::Close));
    check(&mut hands, "options, closed");
    hands.walk.intend(Intent::Room(RoomIntent::Reveal));
    check_debrief(&mut hands, "options before a room");
    hands.walk.intend(Intent::StopSession);
    hands.walk.until("the room", |walk| walk.screen() == Screen::Lecture);
    check(&mut hands, "after the last step");
    hands.walk.intend(Intent::Room(RoomIntent::End));
    hands.walk.frames(2);
    assert!(room(&hands).is_over());
    check(&mut hands, "the end of a lecture");
    let view = *hands.walk.app.world().resource::<DebriefView>();
    assert!(!view.value_only, "nothing was done while keys were compared");
}

fn room_stage(walk: &crate::stage::Walk) -> RoomStage {
    walk.app.world().resource::<Lecture>().stage()
}
