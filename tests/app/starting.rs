//! What was asked for last is what opens: plans that come late are dropped, and nothing that runs is
//! replaced by one.

use crate::harness::{LEVEL, Walk};
use second_glance::app::room::lecture::LecturePort;
use second_glance::app::shell::state::Screen;
use second_glance::exercise::CHOICE_ID;
use second_glance::play::intents::FormIntent;
use second_glance::play::intents::Intent;
use second_glance::play::intents::MeasureChoice;
use second_glance::play::intents::RoomIntent;
use second_glance::play::intents::SetupIntent;
use second_glance::play::intents::{CourseIntent, SeatField};
use second_glance::play::round::Exercising;
use second_glance::play::session::Session;
use second_glance::play::start::Origin;
use second_glance::play::start::PendingStart;
use std::path::Path;
use std::time::Duration;

/// Everything that can be started.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    Practice,
    Questions,
    FindIt,
    Measure,
    Choosing,
    Exam,
    Lecture,
    FreeBench,
    Clinic,
}

const ALL: [Kind; 9] = [
    Kind::Practice,
    Kind::Questions,
    Kind::FindIt,
    Kind::Measure,
    Kind::Choosing,
    Kind::Exam,
    Kind::Lecture,
    Kind::FreeBench,
    Kind::Clinic,
];

const COURSE: &str = r#"Course(
    format: 1, id: "short", title: "Short", teaches: "Say what you see.", minutes: 10,
    tooth_names: ISO3950, exposure_s: 2.5, response_s: 6,
    accommodation: (most_response_factor: 1, may_be_untimed: false),
    forms: [(id: "only", seed: 909090, per_cell: 1)],
    steps: [Form(forms: ["only"], phase: Only)],
"#;

fn choose_course(walk: &mut Walk, folder: &Path, rest: &str) {
    let file = folder.join("short.ron");
    std::fs::write(&file, format!("{COURSE}{rest})")).unwrap();
    walk.intend(Intent::Course(CourseIntent::Choose(file.display().to_string())));
    walk.frames(2);
}

/// Goes to where a kind is started, and asks for it.
fn ask(walk: &mut Walk, folder: &Path, kind: Kind) {
    match kind {
        Kind::Practice => walk.intend(Intent::StartLevel(LEVEL.to_owned())),
        Kind::Questions => walk.intend(Intent::StartLevel("value-ladder".to_owned())),
        Kind::FindIt => walk.intend(Intent::StartLevel("find".to_owned())),
        Kind::Measure => walk.intend(Intent::StartMeasure(MeasureChoice::Value)),
        Kind::Choosing => walk.intend(Intent::StartLevel(CHOICE_ID.to_owned())),
        Kind::FreeBench => walk.intend(Intent::Setup(SetupIntent::Start)),
        Kind::Clinic => {
            walk.intend(Intent::OpenClinicForm);
            walk.intend(Intent::Form(FormIntent::Example));
            walk.intend(Intent::Form(FormIntent::Bench));
        }
        Kind::Exam => {
            choose_course(
                walk,
                folder,
                "mode: Exam, pass: (threshold_de00: 1.8, false_alarms: 0.25),",
            );
            assert_eq!(walk.screen(), Screen::Seat, "{:?}", walk.problem());
            for (field, text) in [(SeatField::Learner, "00aa11bb22cc"), (SeatField::Seat, "1")] {
                walk.intend(Intent::Course(CourseIntent::Write(field, text.to_owned())));
            }
            walk.intend(Intent::Course(CourseIntent::Enter));
            walk.until("the course", |walk| walk.screen() == Screen::Course);
            walk.intend(Intent::Course(CourseIntent::Begin));
        }
        Kind::Lecture => {
            walk.app.insert_resource(LecturePort(0));
            choose_course(walk, folder, "mode: Lecture,");
            assert_eq!(walk.screen(), Screen::Lecture, "{:?}", walk.problem());
            walk.intend(Intent::Room(RoomIntent::Begin));
        }
    }
}

/// What runs, told apart by what cannot be that of another kind.
fn running(walk: &Walk) -> Option<Kind> {
    let world = walk.app.world();
    match walk.screen() {
        Screen::Trial => {
            let session = world.resource::<Session>();
            let level = session.plan().level_id.as_str();
            Some(match level {
                _ if session.mode().measuring().is_some() => Kind::Measure,
                LEVEL => Kind::Practice,
                "find" => Kind::FindIt,
                _ if session.course().is_some() => Kind::Exam,
                _ => Kind::Lecture,
            })
        }
        Screen::Exercise => {
            let exercising = world.resource::<Exercising>();
            let back = exercising.mode().free().map(|free| free.back);
            Some(match back {
                _ if exercising.mode().choosing().is_some() => Kind::Choosing,
                Some(Origin::Case) => Kind::Clinic,
                Some(_) => Kind::FreeBench,
                None => Kind::Questions,
            })
        }
        _ => None,
    }
}

fn is_starting(walk: &Walk) -> bool {
    walk.app.world().resource::<PendingStart>().waits()
}

/// Time for whatever comes late.
fn let_come(walk: &mut Walk) {
    for _ in 0..40 {
        walk.frames(1);
        std::thread::sleep(Duration::from_millis(5));
    }
}

/// Asks for `first`, and for `last` while the first is being laid out; the last must run, and go on.
fn ask_in_turn(first: Kind, last: Kind) {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::in_folder(&folder.path().join("results"));
    // The refresh rate and what the display can hold are known by then.
    walk.frames(130);
    walk.gate.hold();
    ask(&mut walk, folder.path(), first);
    walk.until("the first plan under way", |walk| walk.gate.is_reached());
    ask(&mut walk, folder.path(), last);
    if last == Kind::Measure {
        // It needs no plan, so it opens while the first is still being laid out.
        walk.until("the measurement", |walk| running(walk).is_some());
    }
    walk.gate.open();
    walk.until("something", |walk| running(walk).is_some());
    assert_eq!(running(&walk), Some(last), "after {first:?}");
    let_come(&mut walk);
    assert_eq!(running(&walk), Some(last), "{first:?} came late");
    assert!(!is_starting(&walk));
    assert_eq!(walk.problem(), None);
    // What is asked for while something runs, as by a second click, is not opened behind its back.
    walk.intend(Intent::StartLevel(
        if last == Kind::Practice { "value-ladder" } else { LEVEL }.to_owned(),
    ));
    let_come(&mut walk);
    assert_eq!(running(&walk), Some(last), "replaced while it ran");
}

#[test]
fn whatever_was_asked_for_last_opens() {
    for last in ALL.into_iter().filter(|last| *last != Kind::Practice) {
        ask_in_turn(Kind::Practice, last);
    }
    ask_in_turn(Kind::Questions, Kind::Practice);
}

#[test]
fn a_measurement_started_meanwhile_leaves_no_plan_behind() {
    // All but a measurement itself, which is not laid out.
    for first in ALL.into_iter().filter(|first| *first != Kind::Measure) {
        ask_in_turn(first, Kind::Measure);
    }
    // And the next start is what was asked for then.
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::in_folder(folder.path());
    walk.frames(130);
    walk.gate.hold();
    ask(&mut walk, folder.path(), Kind::Questions);
    walk.until("the plan under way", |walk| walk.gate.is_reached());
    ask(&mut walk, folder.path(), Kind::Measure);
    walk.until("the measurement", |walk| running(walk) == Some(Kind::Measure));
    walk.gate.open();
    walk.intend(Intent::StopSession);
    walk.until("its end", |walk| running(walk).is_none());
    ask(&mut walk, folder.path(), Kind::Practice);
    walk.until("the next", |walk| running(walk).is_some());
    assert_eq!(running(&walk), Some(Kind::Practice));
}

#[test]
fn whoever_goes_elsewhere_no_longer_waits() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::in_folder(folder.path());
    walk.frames(70);
    for elsewhere in [Intent::OpenAbout, Intent::OpenCourses, Intent::OpenMeasure] {
        walk.gate.hold();
        ask(&mut walk, folder.path(), Kind::Practice);
        walk.until("the plan under way", |walk| walk.gate.is_reached());
        walk.intend(elsewhere);
        walk.gate.open();
        let_come(&mut walk);
        assert_eq!(running(&walk), None);
        walk.intend(Intent::BackToTitle);
        walk.frames(2);
    }
}
