//! The screens of courses and lectures: what must be seen on them, and pictures for people to look at.

use crate::stage::Drawn;
use crate::stage::rendered::{self, app_with, phase, update_until};
use bevy::prelude::*;
use bevy::time::TimeUpdateStrategy;
use second_glance::app::picture::source::ViewportSource;
use second_glance::app::room::lecture::LecturePort;
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::exercise::Stage;
use second_glance::lecture::Token;
use second_glance::play::intents::Intent;
use second_glance::play::intents::RoomIntent;
use second_glance::play::intents::{CourseIntent, SeatField};
use second_glance::play::intents::{ExerciseIntent, Page};
use second_glance::play::lecture::{Lecture, RoomStage};
use second_glance::play::round::Exercising;
use second_glance::play::session::Session;
use second_glance::play::start::SessionOptions;
use second_glance::trial::{InputDevice, Phase};
use std::path::{Path, PathBuf};
use std::time::Duration;

const EXAM: &str = r#"Course(
    format: 1, id: "practical", title: "Seeing value: a practical",
    teaches: "Value is seen before hue. Look for a tooth that is too dark first, and say \"none\" when nothing stands out.",
    minutes: 45, mode: Exam, tooth_names: ISO3950, exposure_s: 2.5, response_s: 6,
    accommodation: (most_response_factor: 4, may_be_untimed: true),
    forms: [(id: "a", seed: 450101, per_cell: 1), (id: "b", seed: 450202, per_cell: 1)],
    steps: [
        Talk(title: "How a smile is judged at a glance", minutes: 4),
        Form(forms: ["a", "b"], phase: Pre),
        Practice(level: "first-look", trials: 12),
        Form(forms: ["b", "a"], phase: Post),
    ],
    pass: (threshold_de00: 1.8, false_alarms: 0.25),
)"#;
const LECTURE: &str = r#"Course(
    format: 1, id: "block", title: "What does the room see?", teaches: "Look together.", minutes: 20,
    mode: Lecture, tooth_names: Places, exposure_s: 2.5, response_s: 10,
    accommodation: (most_response_factor: 1, may_be_untimed: false),
    forms: [(id: "a", seed: 200101, per_cell: 1), (id: "b", seed: 200202, per_cell: 1)],
    steps: [
        Form(forms: ["a"], phase: Pre), Talk(title: "Value first: why dark errors are missed", minutes: 7),
        Practice(level: "blend-value-first", trials: 4), Form(forms: ["b"], phase: Post),
    ],
)"#;

struct Shots {
    app: App,
    folder: PathBuf,
    size: [u32; 2],
    results: tempfile::TempDir,
}

impl Shots {
    fn new(size: [u32; 2], course: &str, id: &str) -> (Self, String) {
        let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
        let results = tempfile::tempdir().unwrap();
        let file = results.path().join(format!("{id}.ron"));
        std::fs::write(&file, course).unwrap();
        let mut app = app_with(&results.path().join("results"), size, |app| {
            app.add_plugins(ViewportSource);
        });
        let step = Duration::from_secs_f64(1.0 / 30.0);
        app.insert_resource(TimeUpdateStrategy::ManualDuration(step))
            .insert_resource(LecturePort(0));
        let shots = Self { app, folder: PathBuf::from(folder), size, results };
        (shots, file.display().to_string())
    }

    /// Frames last this long from now on: fewer frames, fewer minutes.
    fn frame_lasts(&mut self, seconds: f64) {
        let step = Duration::from_secs_f64(seconds);
        self.app.insert_resource(TimeUpdateStrategy::ManualDuration(step));
    }

    fn save(&mut self, name: &str) {
        let path = self.folder.join(format!("{name}-{}.png", self.size[0]));
        rendered::save(&mut self.app, &path, self.size, 4);
    }

    fn ask(&mut self, intent: Intent) {
        self.app.world_mut().write_message(intent);
        self.app.update();
        self.app.update();
    }

    fn course(&mut self, intent: CourseIntent) {
        self.ask(Intent::Course(intent));
    }

    fn room(&mut self, intent: RoomIntent) {
        self.ask(Intent::Room(intent));
    }

    fn write(&mut self, field: SeatField, text: &str) {
        self.course(CourseIntent::Write(field, text.to_owned()));
    }

    fn screen(&self) -> Screen {
        rendered::screen(&self.app)
    }

    fn until_screen(&mut self, screen: Screen) {
        update_until(&mut self.app, "screen", |app| rendered::screen(app) == screen);
    }

    fn until_stage(&mut self, stage: RoomStage) {
        update_until(&mut self.app, "stage of the room", |app| {
            app.world().resource::<Lecture>().stage() == stage
        });
    }

    /// So many phones answer, the first `right` of them rightly.
    fn phones_answer(&mut self, phones: u8, right: u8) {
        let lecture = self.app.world().resource::<Lecture>();
        let ballot = lecture.ballot().unwrap().clone();
        let mut poll = lecture.server().unwrap().poll();
        for phone in 0..phones {
            let choice = if phone < right {
                ballot.right[usize::from(phone) % ballot.right.len()]
            } else {
                usize::from(phone) * 5 % ballot.choices.len()
            };
            let number = poll.number();
            let _ = poll.answer(&Token::of_bytes([phone; 16]), number, choice);
        }
    }
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_an_exam() {
    for size in [[1280, 720], [832, 600]] {
        let (mut shots, course) = Shots::new(size, EXAM, "practical");
        shots.app.insert_resource(SessionOptions { adaptation_s: Some(60.0) });
        for _ in 0..70 {
            shots.app.update();
        }
        shots.save("title-with-courses");
        shots.ask(Intent::OpenCourses);
        shots.until_screen(Screen::Courses);
        shots.save("courses");
        shots.course(CourseIntent::Choose(course));
        shots.until_screen(Screen::Seat);
        shots.write(SeatField::Learner, "00aa11bb22cc");
        shots.course(CourseIntent::Enter);
        shots.save("seat-fault");
        shots.write(SeatField::Seat, "12");
        shots.course(CourseIntent::Accommodate(1));
        shots.save("seat");
        shots.course(CourseIntent::Enter);
        shots.until_screen(Screen::Course);
        shots.save("course-talk");
        shots.course(CourseIntent::Begin);
        shots.save("course-form");
        shots.frame_lasts(0.15);
        for form in 0..2 {
            shots.course(CourseIntent::Begin);
            shots.until_screen(Screen::Trial);
            if form == 0 {
                shots.save("exam-instructions");
            }
            shots.ask(Intent::StartNow);
            let mut answered = 0;
            while shots.screen() == Screen::Trial {
                update_until(&mut shots.app, "mask", |app| {
                    matches!(phase(app), Some(Phase::Mask | Phase::Debrief | Phase::Finished))
                        || rendered::screen(app) != Screen::Trial
                });
                if phase(&shots.app) == Some(Phase::Debrief) {
                    if form == 0 {
                        shots.save("exam-rest");
                    }
                    shots.ask(Intent::Continue);
                } else if phase(&shots.app) == Some(Phase::Mask) {
                    if answered == 2 && form == 0 {
                        for _ in 0..6 {
                            shots.app.update();
                        }
                        shots.save("exam-asked");
                        shots.ask(Intent::Pause);
                        shots.save("exam-pause");
                        shots.ask(Intent::Resume);
                        assert_eq!(
                            *shots.app.world().resource::<State<Pause>>().get(),
                            Pause::Running
                        );
                    }
                    let session = shots.app.world().resource::<Session>();
                    let odd = session.current().and_then(|trial| trial.case.odd_tooth());
                    // Every third smile is answered wrongly.
                    let answer = if answered % 3 == 2 { None } else { odd };
                    shots.ask(Intent::Answer(answer, InputDevice::Keyboard));
                    answered += 1;
                }
                shots.app.update();
            }
            shots.until_screen(Screen::Course);
            if form == 0 {
                shots.save("course-practice");
                shots.course(CourseIntent::Skip);
            }
        }
        shots.save("course-done");
        shots.course(CourseIntent::Begin);
        shots.until_screen(Screen::HandIn);
        shots.save("hand-in");
        let file = shots.results.path().join("practical.ron").display().to_string();
        shots.course(CourseIntent::Folder(file));
        shots.course(CourseIntent::HandIn);
        shots.save("hand-in-fault");
        let folder = shots.results.path().join("in").display().to_string();
        shots.course(CourseIntent::Folder(folder));
        shots.course(CourseIntent::HandIn);
        shots.save("handed-in");
    }
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_a_lecture() {
    for size in [[1280, 720], [832, 600]] {
        let (mut shots, course) = Shots::new(size, LECTURE, "block");
        for _ in 0..70 {
            shots.app.update();
        }
        shots.frame_lasts(0.15);
        shots.course(CourseIntent::Choose(course));
        shots.until_screen(Screen::Lecture);
        {
            let lecture = shots.app.world().resource::<Lecture>();
            let mut poll = lecture.server().unwrap().poll();
            for phone in 0..38 {
                poll.join(Token::of_bytes([phone; 16])).unwrap();
            }
        }
        shots.save("lecture-joining");
        for part in 0..2 {
            shots.room(RoomIntent::Begin);
            shots.until_screen(Screen::Trial);
            for smile in 0..3_u8 {
                shots.until_stage(RoomStage::Asked);
                if part == 0 && smile == 1 {
                    update_until(&mut shots.app, "response", |app| {
                        matches!(phase(app), Some(Phase::Response { .. }))
                    });
                    shots.phones_answer(23, 9);
                    shots.save("lecture-asked");
                }
                shots.phones_answer(36, 9 + 4 * smile + 6 * part);
                shots.room(RoomIntent::Close);
                if part == 0 && smile == 1 {
                    shots.save("lecture-closed");
                }
                shots.room(RoomIntent::Reveal);
                if part == 0 {
                    shots.save(&format!("lecture-revealed-{smile}"));
                }
                if part == 0 && smile == 1 {
                    shots.ask(Intent::ToggleSideBySide);
                    shots.save("lecture-pair");
                    shots.ask(Intent::ToggleSideBySide);
                    shots.ask(Intent::ToggleValueOnly);
                    shots.save("lecture-value");
                }
                if smile < 2 {
                    shots.ask(Intent::Continue);
                }
            }
            // The rest of the form is left out for the pictures.
            shots.ask(Intent::StopSession);
            shots.until_screen(Screen::Lecture);
            if part == 0 {
                shots.save("lecture-talk");
                shots.room(RoomIntent::Begin);
                shots.room(RoomIntent::Begin);
                shots.until_screen(Screen::Exercise);
                for question in 0..2 {
                    shots.until_stage(RoomStage::Asked);
                    update_until(&mut shots.app, "smiles", |app| {
                        let round = app.world().resource::<Exercising>();
                        round.is_up_to_date(app.world().resource())
                    });
                    shots.phones_answer(30, 18);
                    if question == 0 {
                        shots.save("lecture-options-asked");
                    }
                    shots.room(RoomIntent::Close);
                    if question == 0 {
                        shots.save("lecture-options-closed");
                    }
                    shots.room(RoomIntent::Reveal);
                    update_until(&mut shots.app, "marked", |app| {
                        let round = app.world().resource::<Exercising>();
                        round.sitting().stage() == Stage::Marked
                    });
                    if question == 0 {
                        shots.save("lecture-options-revealed");
                        let page = Intent::Exercise(ExerciseIntent::TogglePage(Page::Chart));
                        shots.ask(page);
                        update_until(&mut shots.app, "the chart", |app| {
                            app.world().resource::<Exercising>().study().is_done(Page::Chart)
                        });
                        shots.save("lecture-options-chart");
                    }
                    shots.ask(Intent::Continue);
                }
                shots.until_screen(Screen::Lecture);
            }
        }
        assert!(shots.app.world().resource::<Lecture>().is_over());
        shots.room(RoomIntent::Save);
        shots.save("lecture-summary");
    }
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_a_lecture_without_a_port() {
    let taken = std::net::TcpListener::bind(("0.0.0.0", 0)).unwrap();
    for size in [[1280, 720], [832, 600]] {
        let (mut shots, course) = Shots::new(size, LECTURE, "block");
        shots.app.insert_resource(LecturePort(taken.local_addr().unwrap().port()));
        shots.app.update();
        shots.course(CourseIntent::Choose(course));
        shots.until_screen(Screen::Lecture);
        shots.save("lecture-hands");
    }
}

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
