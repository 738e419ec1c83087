//! An exam at a seat, by keyboard, from the list of courses to the hand-in and the feedback.

use crate::harness::{FRAME_S, Walk};
use bevy::input::keyboard::{Key, KeyCode};
use bevy::prelude::*;
use bevy::window::{PrimaryWindow, WindowFocused, WindowMode};
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::course::{CourseData, FormTruth};
use second_glance::play::course::Seat;
use second_glance::play::course::SeatForm;
use second_glance::play::intents::Intent;
use second_glance::play::intents::{CourseIntent, SeatField};
use second_glance::play::mode::Mode;
use second_glance::play::records::{Records, WallClock};
use second_glance::play::session::Session;
use second_glance::results::{LogLine, SittingEvent, Store, hand_in_manifest};
use second_glance::trial::{InputDevice, Phase, Response};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, SystemTime};

const LEARNER: &str = "00aa11bb22cc";
const COURSE: &str = r#"Course(
    format: 1, id: "short-exam", title: "A short exam", teaches: "Say what you see.", minutes: 10,
    mode: Exam, tooth_names: ISO3950, exposure_s: 2.5, response_s: 6,
    accommodation: (most_response_factor: 3, may_be_untimed: true),
    forms: [(id: "only", seed: 909090, per_cell: 1)],
    steps: [Talk(title: "What is asked", minutes: 1), Form(forms: ["only"], phase: Only)],
    pass: (threshold_de00: 1.8, false_alarms: 0.25),
)
"#;

/// A clock that the test sets, ms since the Unix epoch.
#[derive(Clone)]
struct Hands(Arc<AtomicU64>);

impl Hands {
    fn new() -> Self {
        // 2026-01-31T09:30:00Z.
        Self(Arc::new(AtomicU64::new(1_769_851_800_000)))
    }

    fn clock(&self) -> WallClock {
        let hands = self.0.clone();
        WallClock::new(move || {
            SystemTime::UNIX_EPOCH + Duration::from_millis(hands.load(Ordering::Relaxed))
        })
    }

    fn move_on(&self, seconds: f64) {
        self.0.fetch_add((1000.0 * seconds) as u64, Ordering::Relaxed);
    }
}

struct Desk {
    folder: tempfile::TempDir,
    hands: Hands,
}

impl Desk {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("short-exam.ron"), COURSE).unwrap();
        Self { folder, hands: Hands::new() }
    }

    fn results(&self) -> PathBuf {
        self.folder.path().join("results")
    }

    /// The program started anew, with a window.
    fn start(&self) -> Walk {
        let results = self.results();
        let mut walk = Walk::in_folder(&results);
        let records = Records::open(Some(&results)).unwrap().with_clock(self.hands.clock());
        walk.app.insert_resource(records);
        walk.app.world_mut().spawn((Window::default(), PrimaryWindow));
        walk.frames(70);
        walk
    }

    /// From the level list to the steps of the course.
    fn take_seat(&self, walk: &mut Walk, seat: &str, times_to_the_right: usize) {
        let course = self.folder.path().join("short-exam.ron").display().to_string();
        walk.intend(Intent::OpenCourses);
        walk.intend(Intent::Course(CourseIntent::Choose(course)));
        walk.until("the seat form", |walk| walk.screen() == Screen::Seat);
        walk.intend(write(SeatField::Learner, LEARNER));
        walk.intend(write(SeatField::Seat, seat));
        for _ in 0..times_to_the_right {
            walk.intend(Intent::Course(CourseIntent::Accommodate(1)));
        }
        walk.enter();
    }

    fn log(&self, walk: &Walk) -> Vec<LogLine> {
        let session = walk.stored().last().expect("a sitting is stored").session;
        Store::open(&self.results()).unwrap().sitting_log(session).unwrap()
    }
}

/// What a field of the seat form asks for when this was typed into it.
fn write(field: SeatField, text: &str) -> Intent {
    Intent::Course(CourseIntent::Write(field, text.to_owned()))
}

fn fault(walk: &Walk) -> String {
    let form = walk.app.world().resource::<SeatForm>();
    form.fault().expect("something is wrong").to_owned()
}

fn seat(walk: &Walk) -> &Seat {
    walk.app.world().resource::<Seat>()
}

fn begin_form(walk: &mut Walk) {
    walk.enter();
    walk.until("the form", |walk| walk.screen() == Screen::Trial);
}

/// Answers the smile rightly.
fn answer(walk: &mut Walk) {
    walk.run_to_mask();
    let (code, key) = walk.right_key();
    walk.press(code, key);
}

fn focus(walk: &mut Walk, focused: bool) {
    let window = walk
        .app
        .world_mut()
        .query_filtered::<Entity, With<PrimaryWindow>>()
        .single(walk.app.world())
        .unwrap();
    walk.app.world_mut().write_message(WindowFocused { window, focused });
    walk.frames(1);
}

fn mode(walk: &mut Walk) -> WindowMode {
    let world = walk.app.world_mut();
    world.query_filtered::<&Window, With<PrimaryWindow>>().single(world).unwrap().mode
}

#[test]
fn an_exam_is_sat_left_taken_up_and_handed_in_by_keyboard() {
    let desk = Desk::new();
    let mut walk = desk.start();

    // Half an id is none; then seat 3 with twice the time to answer.
    let course = desk.folder.path().join("short-exam.ron").display().to_string();
    walk.intend(Intent::Course(CourseIntent::Choose(course)));
    walk.until("the seat form", |walk| walk.screen() == Screen::Seat);
    walk.intend(write(SeatField::Learner, "xyz 00aa"));
    walk.enter();
    assert!(fault(&walk).contains("8 to 32 digits"), "{}", fault(&walk));
    walk.press(KeyCode::Escape, Key::Escape);
    desk.take_seat(&mut walk, "3", 2);
    walk.until("the steps", |walk| walk.screen() == Screen::Course);
    assert!(matches!(mode(&mut walk), WindowMode::BorderlessFullscreen(_)));

    // Sealed: after the talk nothing is laid out, drawn or stored until the start.
    walk.enter();
    walk.frames(60);
    assert_eq!((seat(&walk).step(), walk.asked(), walk.stored().len()), (1, 0, 0));
    assert!(!walk.app.world().contains_resource::<Session>());
    begin_form(&mut walk);
    assert_eq!(walk.session().progress().total, 21);
    assert_eq!(walk.session().plan().timing.response_s, 12.0);

    for trial in 0..3 {
        answer(&mut walk);
        // No feedback: the grey before the next smile follows at once.
        assert_eq!(walk.phase(), Phase::Preparing);
        assert_eq!(walk.session().cause(), None);
        assert_eq!(walk.rows().len(), trial + 1);
        desk.hands.move_on(10.0);
    }
    walk.run_to_mask();
    focus(&mut walk, false);
    desk.hands.move_on(2.5);
    focus(&mut walk, true);
    focus(&mut walk, true);
    // The clock of the answer ran on; twice the usual time is granted.
    walk.frames((7.0 / FRAME_S) as usize);
    assert!(matches!(walk.phase(), Phase::Response { .. }), "{:?}", walk.phase());
    let (code, key) = walk.right_key();
    walk.press(code, key);
    let lost: Vec<LogLine> = desk.log(&walk);
    let lost: Vec<&LogLine> = lost
        .iter()
        .filter(|l| matches!(l.event, SittingEvent::FocusLost | SittingEvent::FocusBack))
        .collect();
    assert_eq!(lost.len(), 2, "{lost:?}");
    assert_eq!((lost[0].trial, lost[1].away_s), (Some(3), Some(2.5)));

    // The program ends while a smile is looked at.
    walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    drop(walk);
    desk.hands.move_on(120.0);
    let mut walk = desk.start();
    desk.take_seat(&mut walk, "4", 2);
    assert!(fault(&walk).contains("at seat 3, not at 4"), "{}", fault(&walk));
    walk.press(KeyCode::Escape, Key::Escape);
    desk.take_seat(&mut walk, "3", 0);
    assert!(fault(&walk).contains("given 2 times"), "{}", fault(&walk));
    walk.press(KeyCode::Escape, Key::Escape);
    desk.take_seat(&mut walk, "3", 2);
    walk.until("the steps", |walk| walk.screen() == Screen::Course);
    assert_eq!(seat(&walk).begun().map(|begun| begun.answered), Some(4));
    begin_form(&mut walk);

    // That smile is over; the next one follows; the time away is written down.
    let rows = walk.rows();
    assert_eq!(rows.len(), 5);
    let cut_off = &rows[4].outcome;
    assert_eq!((cut_off.response, cut_off.exposure.shown_frames), (Response::Timeout, 0));
    assert_eq!(walk.session().progress().answered, 5);
    let log = desk.log(&walk);
    let resumed = log.iter().find(|line| line.event == SittingEvent::Resumed).unwrap();
    assert_eq!(resumed.trial, Some(4));
    // From the cross of the fifth smile on: 120 s.
    assert_eq!(resumed.away_s, Some(120.0));
    assert!(log.iter().any(|l| l.event == SittingEvent::CutOff && l.trial == Some(4)));
    let Mode::Exam(kept) = walk.session().mode() else { panic!("an exam") };
    let now = walk.app.world().resource::<Records>().now();
    // 30 s of answers, 2.5 s elsewhere, 120 s away: since the first smile's cross.
    assert_eq!((kept.elapsed_s(now), kept.away_s(), kept.focus_losses()), (152.5, 120.0, 1));

    // Left by the menu between two smiles: nothing is lost.
    answer(&mut walk);
    walk.press(KeyCode::Escape, Key::Escape);
    assert_eq!(walk.pause(), Pause::Paused);
    walk.intend(Intent::StopSession);
    walk.until("the steps", |walk| walk.screen() == Screen::Course);
    assert_eq!(walk.rows().len(), 6);
    let last = desk.log(&walk).last().cloned().unwrap();
    assert_eq!((last.event, last.trial), (SittingEvent::Left, Some(6)));
    desk.hands.move_on(30.0);
    begin_form(&mut walk);
    assert_eq!(walk.rows().len(), 6, "no cross had come");

    let mut rests = 0;
    while walk.screen() == Screen::Trial {
        answer(&mut walk);
        if walk.screen() == Screen::Trial && walk.phase() == Phase::Debrief {
            rests += 1;
            walk.enter();
        }
    }
    assert_eq!(rests, 1, "21 smiles are two blocks");
    walk.until("the steps", |walk| walk.screen() == Screen::Course);
    let rows = walk.rows();
    assert_eq!(rows.len(), 21);
    assert!(rows.iter().all(|row| row.mode == "exam" && row.level == "exam:form"));
    assert!(rows[0].seed_key.starts_with("exam:form/909090/0/"), "{}", rows[0].seed_key);
    let right = rows.iter().filter(|row| row.outcome.verdict.is_right()).count();
    assert_eq!(right, 20);
    let by_key = rows.iter().filter(|r| r.outcome.input_device == Some(InputDevice::Keyboard));
    assert_eq!(by_key.count(), 20);
    let stored = walk.stored();
    assert_eq!(stored.len(), 1, "one sitting, however often it was left");
    assert!(stored[0].finished_at.is_some());
    assert_eq!(stored[0].info.settings["course"]["response_factor"], 2.0);

    hand_in(&desk, &mut walk);
}

fn name_folder(walk: &mut Walk, folder: &Path) {
    walk.intend(Intent::Course(CourseIntent::Folder(folder.display().to_string())));
}

/// Hands in: first where nothing can be written, then where it can.
fn hand_in(desk: &Desk, walk: &mut Walk) {
    walk.enter();
    walk.until("handing in", |walk| walk.screen() == Screen::HandIn);
    assert!(seat(walk).hand_in().feedback.is_empty(), "no feedback before the hand-in");
    let default = seat(walk).hand_in().folder.clone();
    assert!(default.ends_with("hand-ins"), "{default}");
    // A file where the folder should be: nobody can write there, not even root.
    let no_folder = desk.folder.path().join("short-exam.ron");
    name_folder(walk, &no_folder);
    walk.enter();
    let fault = seat(walk).hand_in().fault.clone().expect("it cannot be written");
    assert!(fault.contains("short-exam.ron") && fault.contains("answers are safe"), "{fault}");
    assert!(seat(walk).hand_in().feedback.is_empty());
    let folder = desk.folder.path().join("in");
    name_folder(walk, &folder);
    walk.enter();
    let state = seat(walk).hand_in().clone();
    let file = state.written.expect("handed in");
    assert_eq!(file, folder.join(format!("short-exam-{LEARNER}.handin")));
    #[cfg(unix)]
    for (path, wanted) in [(file.as_path(), 0o600), (file.parent().unwrap(), 0o700)] {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(path).unwrap().permissions().mode() & 0o777;
        assert_eq!(mode, wanted, "{} has {mode:o}", path.display());
    }
    let manifest = hand_in_manifest(&file).unwrap();
    assert_eq!((manifest.sessions, manifest.trials, manifest.day.as_str()), (1, 21, "2026-01-31"));
    let told: Vec<String> = state.feedback.iter().flat_map(|f| f.lines.clone()).collect();
    // 20 of 21.
    assert!(told[0].starts_with("95 % of 21 smiles"), "{told:?}");
    assert!(told.iter().any(|line| line.contains("ΔE00 (95 % interval")), "{told:?}");
    assert!(told.iter().any(|line| line.contains("colour vision")), "{told:?}");

    gathered(&file, desk);
    walk.press(KeyCode::Escape, Key::Escape);
    walk.until("the level list", |walk| walk.screen() == Screen::Title);
    assert_eq!(mode(walk), WindowMode::Windowed);
}

/// What the instructor gets: the sitting with its accommodation, and the log.
fn gathered(file: &Path, desk: &Desk) {
    let mut store = Store::open(&desk.folder.path().join("gathered")).unwrap();
    for _ in 0..2 {
        let taken = store
            .gather(&[file.to_owned()], Some("short-exam"), &FormTruth::default(), &mut |_| {})
            .unwrap();
        assert!(taken.refused.is_empty(), "{:?}", taken.refused);
    }
    let data = CourseData::read(&store, Some("short-exam"), &|_| {}).unwrap();
    let sitting = &data.sittings[0];
    assert_eq!((sitting.seat, sitting.response_factor, sitting.spoilt), (3, 2.0, 0));
    // What was cut off counts as not answered, not as spoilt.
    assert_eq!((sitting.shown(), data.score(sitting).round()), (21, 95.0));
    let log = store.sitting_log(sitting.session).unwrap();
    let count = |event| log.iter().filter(|line| line.event == event).count();
    assert_eq!(count(SittingEvent::FocusLost), 1);
    assert_eq!(count(SittingEvent::Resumed), 2);
    assert_eq!(count(SittingEvent::CutOff), 1);
}
