//! Courses in the app: a learner at a seat who sits forms and hands in, and a room that answers
//! together.
//!
//! Both run forms and levels through [`session`](crate::app::session) (its `Conduct` says how:
//! practice, exam or room) and questions through [`exercising`](crate::app::exercising); a room's
//! answers are stored as nobody's. [`course::Standing`](crate::course::Standing) says from the
//! stored sessions which step is on.
//!
//! Times to answer are extended by a factor that the course allows and the session stores (`0` is
//! unlimited); exposures never are. Nothing is told before the hand-in is written; feedback is
//! [`report::exam_feedback`](crate::report::exam_feedback), computed from the same
//! [`CourseData`](crate::course::CourseData) as the group's report. `cargo test --test app exam`
//! sits an exam by keyboard with a crash, leaving, focus losses, a hand-in that cannot be written,
//! and reads what arrives at the instructor's.

mod exam_log;
mod param;
pub(in crate::app) mod part;
mod seat;
mod seat_form;

pub use exam_log::ExamLog;
pub use param::Courses;
pub use part::PartWanted;
pub use seat::{HandInState, Seat};
pub use seat_form::{SeatField, SeatForm};

use super::persist::Records;
use super::session::Session;
use super::{AppSystems, Problem, Screen};
use bevy::prelude::*;
use bevy::window::{MonitorSelection, PrimaryWindow, WindowFocused, WindowMode};
use std::path::PathBuf;

/// What can be asked for about courses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CourseIntent {
    /// This course, by its id or the path of its file.
    Choose(String),
    /// This text into a field of the seat form.
    Write(SeatField, String),
    /// This folder for the hand-in.
    Folder(String),
    /// So many choices on in the time to answer.
    Accommodate(i32),
    /// The seat is filled in.
    Enter,
    /// Begin or take up the present step; for a talk, go on.
    Begin,
    /// Leave the present step out, where it may be.
    Skip,
    /// Write the hand-in.
    HandIn,
}

/// Where hand-ins are written first; the learner can name another folder.
#[derive(Resource, Debug, Clone, Default, PartialEq, Eq)]
pub struct HandInFolder(pub Option<PathBuf>);

/// The port of the page for phones in a lecture.
#[derive(Resource, Debug, Clone, Copy, PartialEq, Eq)]
pub struct LecturePort(pub u16);

impl Default for LecturePort {
    /// 7878, which needs no rights and is seldom taken.
    fn default() -> Self {
        Self(7878)
    }
}

/// The address that phones are sent to, of this computer's; `None` for the best.
#[derive(Resource, Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct LectureAddress(pub Option<std::net::IpAddr>);

/// Whether the window fills the screen.
#[derive(Resource, Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct FullScreen(pub bool);

/// What the program opens with instead of the level list.
#[derive(Resource, Debug, Clone, PartialEq)]
pub enum OpenWith {
    /// A seat in a course; what is known of the seat already.
    Sit {
        /// The course's id or path.
        course: String,
        /// The learner's id.
        learner: String,
        /// The seat.
        seat: String,
        /// Factor on the time to answer, 1 for none, 0 for unlimited.
        response_factor: f64,
    },
    /// A lecture of this course.
    Lecture(String),
}

pub(super) fn plugin(app: &mut App) {
    app.init_resource::<HandInFolder>()
        .init_resource::<LecturePort>()
        .init_resource::<LectureAddress>()
        .init_resource::<FullScreen>()
        .add_message::<WindowFocused>()
        .add_systems(Startup, open.run_if(resource_exists::<OpenWith>))
        .add_systems(OnEnter(Screen::Course), look_up_standing)
        .add_systems(
            Update,
            (
                fill_screen.run_if(resource_changed::<FullScreen>),
                watch_focus.in_set(AppSystems::Input),
            ),
        );
}

fn open(
    mut commands: Commands,
    with: Res<OpenWith>,
    mut courses: Courses,
    mut problem: ResMut<Problem>,
    mut screen: ResMut<NextState<Screen>>,
) {
    match &*with {
        OpenWith::Sit { course, learner, seat, response_factor } => {
            courses.choose(course, &mut commands, &mut screen, &mut problem);
            if let Some(form) = courses.prefilled(course, learner, seat, *response_factor) {
                commands.insert_resource(form);
            }
        }
        OpenWith::Lecture(course) => {
            courses.choose(course, &mut commands, &mut screen, &mut problem);
        }
    }
}

fn look_up_standing(
    seat: Option<ResMut<Seat>>,
    records: Res<Records>,
    mut problem: ResMut<Problem>,
) {
    if let Some(mut seat) = seat
        && let Err(error) = seat.look_up(&records)
    {
        problem.report(error);
    }
}

fn fill_screen(full: Res<FullScreen>, mut windows: Query<&mut Window, With<PrimaryWindow>>) {
    for mut window in &mut windows {
        window.mode = if full.0 {
            WindowMode::BorderlessFullscreen(MonitorSelection::Current)
        } else {
            WindowMode::Windowed
        };
    }
}

/// Writes down when another window gets the keyboard during a form, and for how long.
fn watch_focus(
    mut changes: MessageReader<WindowFocused>,
    session: Option<ResMut<Session>>,
    records: Res<Records>,
    screen: Res<State<Screen>>,
    mut problem: ResMut<Problem>,
) {
    let Some(mut session) = session.filter(|_| *screen.get() == Screen::Trial) else {
        changes.clear();
        return;
    };
    for change in changes.read() {
        if let Err(error) = session.note_focus(change.focused, &records) {
            problem.report(format!("This loss of focus was not stored: {error}"));
        }
    }
}
