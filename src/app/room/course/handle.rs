//! What is asked for in a course that is sat.

use crate::app::shell::asking::Asked;
use crate::app::shell::leaving::FullScreen;
use crate::app::shell::state::Screen;
use crate::level::course_format::CourseMode;
use crate::play::content::ActiveContent;
use crate::play::content::shipped::faults_of_forms;
use crate::play::course::{Seat, SeatForm};
use crate::play::intents::{CourseIntent, Intent};
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::start::{PendingStart, Start};
use bevy::ecs::system::SystemParam;
use bevy::prelude::*;
use std::path::{Path, PathBuf};

/// Where hand-ins are written first; the learner can name another folder.
#[derive(Resource, Debug, Clone, Default, PartialEq, Eq)]
pub struct HandInFolder(pub Option<PathBuf>);

/// What a course that is sat consists of while the app runs.
#[derive(SystemParam)]
pub struct Courses<'w> {
    form: Option<ResMut<'w, SeatForm>>,
    seat: Option<ResMut<'w, Seat>>,
    pending: ResMut<'w, PendingStart>,
    full: ResMut<'w, FullScreen>,
    folder: Res<'w, HandInFolder>,
    content: Res<'w, ActiveContent>,
    on: Res<'w, State<Screen>>,
}

pub(crate) fn take_in(
    asked: On<Asked>,
    mut courses: Courses,
    mut commands: Commands,
    records: Res<Records>,
    mut screen: ResMut<NextState<Screen>>,
    mut problem: ResMut<Problem>,
) {
    if let Intent::Course(intent) = asked.event().0.clone() {
        courses.handle(intent, &mut commands, &records, &mut screen, &mut problem);
    }
}

impl Courses<'_> {
    /// Opens a course: asks who sits where. A room is opened by whoever leads it.
    fn choose(
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
        if course.mode == CourseMode::Exam {
            commands.insert_resource(SeatForm::new(course));
            screen.set(Screen::Seat);
        }
    }

    /// Does what a learner or an instructor asks for.
    fn handle(
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
}

fn fill_in(form: &mut SeatForm, intent: CourseIntent) {
    match intent {
        CourseIntent::Write(field, text) => form.write(field, &text),
        CourseIntent::Accommodate(by) => form.accommodate(by),
        _ => {}
    }
}
