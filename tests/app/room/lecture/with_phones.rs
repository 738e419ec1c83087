//! A lecture with simulated phones that speak to the real server.

use crate::stage::Walk;
use crate::stage::phones::{answer, join, state};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::room::lecture::LecturePort;
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::exercise::Stage;
use second_glance::play::intents::CourseIntent;
use second_glance::play::intents::Intent;
use second_glance::play::intents::RoomIntent;
use second_glance::play::lecture::code_of;
use second_glance::play::lecture::{Lecture, RoomStage};
use second_glance::trial::Phase;
use std::net::TcpListener;

const HEAD: &str = r#"Course(
    format: 1, id: "room", title: "What does the room see?", teaches: "Look together.", minutes: 20,
    mode: Lecture, tooth_names: Places, exposure_s: 2.5, response_s: 3,
    accommodation: (most_response_factor: 1, may_be_untimed: false),
"#;
const FORMS: &str = r#"    forms: [(id: "a", seed: 200101, per_cell: 1), (id: "b", seed: 200202, per_cell: 1)],
    steps: [
        Form(forms: ["a"], phase: Pre), Talk(title: "Value", minutes: 1),
        Form(forms: ["b"], phase: Post),
    ],
)"#;
const BLEND: &str = r#"    forms: [],
    steps: [Practice(level: "blend-value-first", trials: 4)],
)"#;

/// A lecture of a course with these steps, its room open.
fn open(steps: &str, port: u16) -> (Walk, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("room.ron");
    std::fs::write(&file, format!("{HEAD}{steps}")).unwrap();
    let mut walk = Walk::in_folder(&folder.path().join("results"));
    walk.app.insert_resource(LecturePort(port));
    walk.frames(70);
    walk.intend(Intent::Course(CourseIntent::Choose(file.display().to_string())));
    walk.until("the room", |walk| walk.screen() == Screen::Lecture);
    (walk, folder)
}

fn lecture(walk: &Walk) -> &Lecture {
    walk.app.world().resource::<Lecture>()
}

/// The place of the right answer to the smile under way.
fn right_choice(walk: &Walk) -> usize {
    let session = walk.session();
    let odd = session.current().unwrap().case.odd_tooth();
    let teeth = &session.plan().teeth;
    odd.and_then(|odd| teeth.iter().position(|t| *t == odd)).unwrap_or(teeth.len())
}

/// The summary is of what was asked and can be written down; nothing else is kept of the room.
fn has_ended(walk: &mut Walk, phones: &[String]) {
    assert!(lecture(walk).is_over());
    let parts = lecture(walk).record().parts();
    assert_eq!((parts.len(), parts[0].asked, parts[0].part.phase), (1, 2, Some("pre")));
    let counted = parts[0].hits.total + parts[0].false_alarms.total;
    assert_eq!(counted, 5);
    walk.press(KeyCode::KeyW, Key::Character("w".into()));
    let saved = lecture(walk).saved().expect("written").to_owned();
    #[cfg(unix)]
    for (path, wanted) in [(saved.as_path(), 0o600), (saved.parent().unwrap(), 0o700)] {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, wanted, "{} has {mode:o}", path.display());
    }
    let text = std::fs::read_to_string(saved).unwrap();
    assert_eq!(text.lines().count(), 3, "{text}");
    assert!(!phones.iter().any(|phone| text.contains(phone.as_str())), "{text}");
    assert!(walk.stored().is_empty(), "a room's answers are nobody's");
    walk.enter();
    walk.until("the level list", |walk| walk.screen() == Screen::Title);
}

#[test]
fn a_room_answers_by_phone_and_sees_nothing_before_the_solution() {
    let (mut walk, _folder) = open(FORMS, 0);
    let port = lecture(&walk).server().unwrap().port();
    let phones: Vec<String> = (0..6).map(|_| join(lecture(&walk).server().unwrap())).collect();
    assert_eq!(lecture(&walk).phones(), (6, 0));
    let (address, code) = lecture(&walk).address().unwrap();
    assert!(address.ends_with(&format!(":{port}/")) && code.is_some(), "{address}");
    // The picture leads to the same page and brings the code along.
    let shown = lecture(&walk).join_code().unwrap();
    assert_eq!(code.cloned(), code_of(&format!("{address}?code={shown}")));

    walk.enter();
    walk.until("exposure", |walk| {
        walk.screen() == Screen::Trial && walk.phase() == Phase::Exposure
    });
    // While the smile is looked at, nobody can answer.
    assert_eq!(state(port, &phones[0])["stage"], "waiting");
    assert_eq!(answer(port, &phones[0], 1, 0).0, 410);
    walk.until("the question", |walk| lecture(walk).stage() == RoomStage::Asked);
    let asked = state(port, &phones[0]);
    assert_eq!((&asked["stage"], &asked["number"]), (&"open".into(), &1.into()));
    // Ten places from the left and "None".
    assert_eq!(asked["choices"].as_array().unwrap().len(), 11);
    assert_eq!((&asked["choices"][0], &asked["choices"][10]), (&"1".into(), &"None".into()));

    let right = right_choice(&walk);
    let wrong = (right + 1) % 11;
    for phone in &phones[..3] {
        assert_eq!(answer(port, phone, 1, right).0, 204);
    }
    assert_eq!(answer(port, &phones[3], 1, wrong).0, 204);
    walk.until("the answer window", |walk| matches!(walk.phase(), Phase::Response { .. }));
    assert_eq!(lecture(&walk).phones(), (6, 4));
    assert_eq!(lecture(&walk).tally(), None);
    // Keys that answer elsewhere do nothing here.
    walk.press(KeyCode::Digit1, Key::Character("1".into()));
    assert!(matches!(walk.phase(), Phase::Response { .. }));

    walk.enter();
    assert_eq!((walk.phase(), lecture(&walk).stage()), (Phase::Debrief, RoomStage::Closed));
    assert_eq!(answer(port, &phones[4], 1, right).0, 410, "too late");
    let told = state(port, &phones[0]);
    assert!(told.get("counts").is_none() && told.get("right").is_none(), "{told}");
    assert_eq!(lecture(&walk).tally(), None, "closed is not revealed");
    // A stray "next" does not skip the solution.
    walk.intend(Intent::Continue);
    assert_eq!(walk.phase(), Phase::Debrief);

    walk.enter();
    let tally = lecture(&walk).tally().cloned().expect("revealed");
    assert_eq!((tally.counts[right], tally.counts[wrong], tally.phones), (3, 1, 6));
    assert_eq!((tally.answers(), tally.right_answers()), (4, 3));
    let told = state(port, &phones[0]);
    assert_eq!((&told["stage"], &told["counts"][right]), (&"revealed".into(), &3.into()));
    walk.press(KeyCode::Space, Key::Space);
    walk.enter();
    walk.until("the next smile", |walk| walk.phase() == Phase::Exposure);
    assert_eq!(state(port, &phones[0])["stage"], "waiting");

    // The next question closes by its own clock, after three seconds.
    walk.until("the question", |walk| lecture(walk).stage() == RoomStage::Asked);
    let right = right_choice(&walk);
    assert_eq!(answer(port, &phones[5], 2, right).0, 204, "a phone answers again");
    walk.until("closed", |walk| lecture(walk).stage() == RoomStage::Closed);
    walk.enter();
    assert_eq!(lecture(&walk).tally().unwrap().answers(), 1);

    // Whoever instructs may end before the last smile.
    walk.press(KeyCode::Escape, Key::Escape);
    assert_eq!(walk.pause(), Pause::Paused);
    walk.intend(Intent::Room(RoomIntent::End));
    walk.until("the summary", |walk| walk.screen() == Screen::Lecture);
    has_ended(&mut walk, &phones);
    assert!(TcpListener::bind(("0.0.0.0", port)).is_ok(), "the page is no longer served");
}

#[test]
fn a_form_that_cannot_be_made_is_said_before_the_room_opens() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("room.ron");
    std::fs::write(&file, format!("{HEAD}{FORMS}").replace("200101", "11")).unwrap();
    let mut walk = Walk::in_folder(&folder.path().join("results"));
    walk.intend(Intent::Course(CourseIntent::Choose(file.display().to_string())));
    let problem = walk.problem().expect("seed 11 cannot be balanced in so small a form");
    assert!(problem.contains("form \"a\"") && problem.contains("choose another seed"), "{problem}");
    walk.frames(2);
    assert_eq!(walk.screen(), Screen::Title);
}

#[test]
fn a_port_in_use_is_said_and_the_lecture_goes_on_by_show_of_hands() {
    let taken = TcpListener::bind(("0.0.0.0", 0)).unwrap();
    let port = taken.local_addr().unwrap().port();
    let (mut walk, _folder) = open(FORMS, port);
    assert!(lecture(&walk).address().is_none());
    let trouble = lecture(&walk).trouble().expect("it is said");
    assert!(trouble.contains(&port.to_string()) && trouble.contains("show of hands"), "{trouble}");
    walk.enter();
    walk.until("the question", |walk| lecture(walk).stage() == RoomStage::Asked);
    walk.enter();
    assert_eq!(lecture(&walk).stage(), RoomStage::Closed);
    walk.enter();
    assert_eq!((lecture(&walk).stage(), lecture(&walk).tally()), (RoomStage::Revealed, None));
    walk.enter();
    walk.until("the next smile", |walk| walk.phase() == Phase::Exposure);
    walk.press(KeyCode::Escape, Key::Escape);
    walk.intend(Intent::Room(RoomIntent::End));
    walk.until("the summary", |walk| walk.screen() == Screen::Lecture);
    assert_eq!(lecture(&walk).record().items()[0].tally, None);

    let (mut walk, _folder) = open(FORMS, port);
    walk.press(KeyCode::KeyP, Key::Character("p".into()));
    assert!(lecture(&walk).address().is_some(), "another port is free");
}

#[test]
fn a_room_chooses_among_options_and_several_can_be_right() {
    let (mut walk, _folder) = open(BLEND, 0);
    let port = lecture(&walk).server().unwrap().port();
    let phones: Vec<String> = (0..3).map(|_| join(lecture(&walk).server().unwrap())).collect();
    walk.enter();
    for number in 1..=2 {
        walk.until("the question", |walk| lecture(walk).stage() == RoomStage::Asked);
        let ballot = lecture(&walk).ballot().unwrap().clone();
        let right = ballot.right[0];
        let wrong = (0..ballot.choices.len()).find(|c| !ballot.right.contains(c)).unwrap();
        assert_eq!(answer(port, &phones[0], number, right).0, 204);
        assert_eq!(answer(port, &phones[1], number, right).0, 204);
        assert_eq!(answer(port, &phones[2], number, wrong).0, 204);
        // The instructor puts options in the mouth by digits.
        walk.press(KeyCode::Digit2, Key::Character("2".into()));
        assert_eq!(walk.exercising().in_view(), 1);
        walk.enter();
        assert_eq!(lecture(&walk).stage(), RoomStage::Closed);
        assert!(walk.exercising().marked().is_none(), "nothing of the solution yet");
        walk.enter();
        walk.until("the solution", |walk| walk.exercising().sitting().stage() == Stage::Marked);
        assert_eq!(lecture(&walk).tally().unwrap().right_answers(), 2);
        walk.enter();
    }
    walk.until("the summary", |walk| walk.screen() == Screen::Lecture);
    assert!(lecture(&walk).is_over());
    assert_eq!(lecture(&walk).record().items().len(), 2);
    assert!(walk.stored().is_empty());
}
