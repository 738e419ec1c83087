//! The screens of a course or a lecture, rendered and kept as pictures.

use super::rendered::{self, app_with, update_until};
use bevy::prelude::*;
use bevy::time::TimeUpdateStrategy;
use second_glance::app::picture::source::ViewportSource;
use second_glance::app::room::lecture::LecturePort;
use second_glance::app::shell::state::Screen;
use second_glance::lecture::Token;
use second_glance::play::intents::{CourseIntent, Intent, RoomIntent, SeatField};
use second_glance::play::lecture::{Lecture, RoomStage};
use std::path::PathBuf;
use std::time::Duration;

pub struct Shots {
    pub app: App,
    folder: PathBuf,
    size: [u32; 2],
    pub results: tempfile::TempDir,
}

impl Shots {
    pub fn new(size: [u32; 2], course: &str, id: &str) -> (Self, String) {
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
    pub fn frame_lasts(&mut self, seconds: f64) {
        let step = Duration::from_secs_f64(seconds);
        self.app.insert_resource(TimeUpdateStrategy::ManualDuration(step));
    }

    pub fn save(&mut self, name: &str) {
        let path = self.folder.join(format!("{name}-{}.png", self.size[0]));
        rendered::save(&mut self.app, &path, self.size, 4);
    }

    pub fn ask(&mut self, intent: Intent) {
        self.app.world_mut().write_message(intent);
        self.app.update();
        self.app.update();
    }

    pub fn course(&mut self, intent: CourseIntent) {
        self.ask(Intent::Course(intent));
    }

    pub fn room(&mut self, intent: RoomIntent) {
        self.ask(Intent::Room(intent));
    }

    pub fn write(&mut self, field: SeatField, text: &str) {
        self.course(CourseIntent::Write(field, text.to_owned()));
    }

    pub fn screen(&self) -> Screen {
        rendered::screen(&self.app)
    }

    pub fn until_screen(&mut self, screen: Screen) {
        update_until(&mut self.app, "screen", |app| rendered::screen(app) == screen);
    }

    pub fn until_stage(&mut self, stage: RoomStage) {
        update_until(&mut self.app, "stage of the room", |app| {
            app.world().resource::<Lecture>().stage() == stage
        });
    }

    /// So many phones answer, the first `right` of them rightly.
    pub fn phones_answer(&mut self, phones: u8, right: u8) {
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
