//! All that intents about courses change, in one parameter.

use super::{CourseIntent, FullScreen, HandInFolder, LectureAddress, LecturePort, Seat, SeatForm};
use crate::app::content::ActiveContent;
use crate::app::exercising::Exercising;
use crate::app::lecture::{Lecture, RoomIntent};
use crate::app::persist::Records;
use crate::app::session::Session;
use crate::app::shipped::faults_of_forms;
use crate::app::start::{PendingStart, Start};
use crate::app::{Problem, Screen};
use crate::level::course_format::CourseMode;
use bevy::ecs::system::SystemParam;
use bevy::prelude::*;
use std::path::{Path, PathBuf};

/// What courses consist of while the app runs.
#[derive(SystemParam)]
pub struct Courses<'w> {
    form: Option<ResMut<'w, SeatForm>>,
    seat: Option<ResMut<'w, Seat>>,
    lecture: Option<ResMut<'w, Lecture>>,
    pending: ResMut<'w, PendingStart>,
    full: ResMut<'w, FullScreen>,
    folder: Res<'w, HandInFolder>,
    port: Res<'w, LecturePort>,
    address: Res<'w, LectureAddress>,
    content: Res<'w, ActiveContent>,
    on: Res<'w, State<Screen>>,
}

impl Courses<'_> {
    /// The screen that the level list stands for where a course is on, and what leaving ends.
    pub(in crate::app) fn back(&mut self, commands: &mut Commands) -> Screen {
        let came_from_a_step = matches!(self.on.get(), Screen::Summary | Screen::Measured);
        if came_from_a_step && self.seat.is_some() {
            return Screen::Course;
        }
        if came_from_a_step && self.lecture.is_some() {
            return Screen::Lecture;
        }
        self.full.set_if_neq(FullScreen(false));
        self.pending.withdraw();
        commands.remove_resource::<SeatForm>();
        commands.remove_resource::<Seat>();
        commands.remove_resource::<Lecture>();
        Screen::Title
    }

    /// What is asked to be started.
    pub(in crate::app) fn pending(&mut self) -> &mut PendingStart {
        &mut self.pending
    }

    pub(in crate::app) fn toggle_full_screen(&mut self) {
        self.full.0 = !self.full.0;
    }

    /// Opens a course: asks who sits where, or opens the room.
    pub(super) fn choose(
        &mut self,
        name: &str,
        commands: &mut Commands,
        screen: &mut NextState<Screen>,
        problem: &mut Problem,
    ) {
        self.pending.withdraw();
        let course = match self.content.0.course(name) {
            Ok(course) => course,
            Err(error) => return problem.report(error.to_string()),
        };
        // Better now than when everyone sits.
        if let Some(fault) = faults_of_forms(&course).first() {
            return problem.report(fault);
        }
        match course.mode {
            CourseMode::Exam => {
                commands.insert_resource(SeatForm::new(course));
                screen.set(Screen::Seat);
            }
            CourseMode::Lecture => {
                let seed = rand::random();
                let lecture = Lecture::open(course, self.port.0, self.address.0, seed);
                commands.insert_resource(lecture);
                self.full.0 = true;
                screen.set(Screen::Lecture);
            }
        }
    }

    /// A form with what the command line says; `None` for what is no exam.
    pub(super) fn prefilled(
        &self,
        course: &str,
        learner: &str,
        seat: &str,
        response_factor: f64,
    ) -> Option<SeatForm> {
        let course = self.content.0.course(course).ok()?;
        (course.mode == CourseMode::Exam)
            .then(|| SeatForm::filled(course, learner, seat, response_factor))
    }

    /// Does what a learner or an instructor asks for.
    pub(in crate::app) fn handle(
        &mut self,
        intent: CourseIntent,
        commands: &mut Commands,
        records: &Records,
        screen: &mut NextState<Screen>,
        problem: &mut Problem,
    ) {
        let on = *self.on.get();
        match (intent, on) {
            (CourseIntent::Choose(name), _) => self.choose(&name, commands, screen, problem),
            (CourseIntent::Enter, Screen::Seat) => self.enter(commands, records, screen),
            (intent, Screen::Seat) => {
                if let Some(form) = self.form.as_deref_mut() {
                    fill_in(form, intent);
                }
            }
            (CourseIntent::Begin, Screen::Course) => self.begin(screen),
            (CourseIntent::Skip, Screen::Course) => {
                self.pending.withdraw();
                if let Some(seat) = self.seat.as_deref_mut() {
                    seat.pass_over();
                }
            }
            (intent, Screen::HandIn) => {
                let Some(seat) = self.seat.as_deref_mut() else { return };
                match intent {
                    CourseIntent::Folder(folder) => seat.set_folder(&folder),
                    CourseIntent::HandIn => seat.write_hand_in(records),
                    _ => {}
                }
            }
            _ => {}
        }
    }

    fn enter(
        &mut self,
        commands: &mut Commands,
        records: &Records,
        screen: &mut NextState<Screen>,
    ) {
        let Some(form) = self.form.as_deref_mut() else { return };
        let folder = self.folder.0.clone().unwrap_or_else(|| {
            let results = PathBuf::from(records.location());
            results.parent().unwrap_or(Path::new(".")).join("hand-ins")
        });
        let taken = form.read().and_then(|(learner, seat)| {
            let course = form.course().clone();
            Seat::take(course, learner, seat, form.response_factor(), &folder, records)
        });
        match taken {
            Ok(seat) => {
                commands.insert_resource(seat);
                self.full.0 = true;
                screen.set(Screen::Course);
            }
            Err(fault) => form.refuse(fault),
        }
    }

    fn begin(&mut self, screen: &mut NextState<Screen>) {
        let Some(seat) = self.seat.as_deref_mut() else { return };
        if self.pending.waits() {
            return;
        }
        match seat.wanted() {
            Some(wanted) => self.pending.ask(Start::Part(Box::new(wanted))),
            None if seat.current().is_some() => seat.pass_over(),
            None if seat.may_hand_in() => screen.set(Screen::HandIn),
            None => {}
        }
    }

    /// Does what the instructor of a lecture asks for, outside smiles.
    pub(in crate::app) fn handle_room(
        &mut self,
        intent: RoomIntent,
        commands: &mut Commands,
        records: &Records,
        screen: &mut NextState<Screen>,
        problem: &mut Problem,
    ) {
        let Some(lecture) = self.lecture.as_deref_mut() else { return };
        match intent {
            RoomIntent::Begin if *self.on.get() == Screen::Lecture => {
                if lecture.is_over() {
                    let title = self.back(commands);
                    screen.set(title);
                } else if !self.pending.waits()
                    && let Some(wanted) = lecture.begin_step()
                {
                    self.pending.ask(Start::Part(Box::new(wanted)));
                }
            }
            RoomIntent::End => {
                self.pending.withdraw();
                lecture.end();
                commands.remove_resource::<Session>();
                commands.remove_resource::<Exercising>();
                screen.set(Screen::Lecture);
            }
            RoomIntent::OtherPort => lecture.serve_anew(0),
            RoomIntent::Reveal => lecture.reveal(),
            RoomIntent::Save => {
                let results = PathBuf::from(records.location());
                let folder = results.parent().unwrap_or(Path::new("."));
                if let Err(error) = lecture.save(&folder.join("lectures"), records.now()) {
                    problem.report(error);
                }
            }
            RoomIntent::Begin | RoomIntent::Close => {}
        }
    }

    /// The lecture.
    pub(in crate::app) fn lecture(&mut self) -> Option<&mut Lecture> {
        self.lecture.as_deref_mut()
    }
}

fn fill_in(form: &mut SeatForm, intent: CourseIntent) {
    match intent {
        CourseIntent::Write(field, text) => form.write(field, &text),
        CourseIntent::Accommodate(by) => form.accommodate(by),
        _ => {}
    }
}
