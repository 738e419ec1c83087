//! Courses in the app: a learner at a seat who sits forms and hands in, and a room that answers
//! together.

pub mod hand_in;
pub mod handle;
pub mod list;
pub mod seat;
pub mod steps;

pub use handle::HandInFolder;

use crate::app::shell::asking::Asked;
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::order::AppSystems;
use crate::app::shell::state::Screen;
use crate::level::course_format::CourseMode;
use crate::play::content::ActiveContent;
use crate::play::course::{Seat, SeatForm};
use crate::play::frames::FrameTimes;
use crate::play::intents::{CourseIntent, Intent};
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::session::Session;
use crate::play::start::PendingStart;
use bevy::prelude::*;
use bevy::window::WindowFocused;
use bevy_egui::EguiPrimaryContextPass;

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

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<HandInFolder>()
        .add_message::<WindowFocused>()
        .add_observer(handle::take_in)
        .add_systems(Startup, open.run_if(resource_exists::<OpenWith>))
        .add_systems(OnEnter(Screen::Course), look_up_standing)
        .add_systems(Update, watch_focus.in_set(AppSystems::Input));
}

/// Opens what the program was started with.
fn open(mut commands: Commands, with: Res<OpenWith>, content: Res<ActiveContent>) {
    let (OpenWith::Sit { course, .. } | OpenWith::Lecture(course)) = &*with;
    commands.trigger(Asked(Intent::Course(CourseIntent::Choose(course.clone()))));
    if let OpenWith::Sit { course, learner, seat, response_factor } = &*with
        && let Ok(course) = content.0.course(course)
        && course.mode == CourseMode::Exam
    {
        commands.insert_resource(SeatForm::filled(course, learner, seat, *response_factor));
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

pub(crate) fn screen(app: &mut App) {
    app.init_resource::<list::CourseRows>()
        .add_systems(OnEnter(Screen::Courses), list::list_courses)
        .add_systems(
            EguiPrimaryContextPass,
            (
                draw_list.run_if(in_state(Screen::Courses)),
                draw_seat_form.run_if(in_state(Screen::Seat)),
                draw_steps.run_if(in_state(Screen::Course)),
                draw_hand_in.run_if(in_state(Screen::HandIn)),
            )
                .in_set(Draw::Screen),
        );
}

fn draw_list(mut canvas: Canvas, rows: Res<list::CourseRows>) -> Result {
    canvas.draw(|ui| list::draw(ui, &rows))
}

fn draw_seat_form(mut canvas: Canvas, form: Option<Res<SeatForm>>) -> Result {
    let Some(form) = form else { return Ok(()) };
    canvas.draw(|ui| seat::draw(ui, &form))
}

fn draw_steps(
    mut canvas: Canvas,
    seat: Option<Res<Seat>>,
    pending: Res<PendingStart>,
    frames: Res<FrameTimes>,
) -> Result {
    let Some(seat) = seat else { return Ok(()) };
    canvas.draw(|ui| steps::draw(ui, &seat, pending.waits(), &frames))
}

fn draw_hand_in(mut canvas: Canvas, seat: Option<Res<Seat>>, records: Res<Records>) -> Result {
    let Some(seat) = seat else { return Ok(()) };
    canvas.draw(|ui| hand_in::draw(ui, &seat, &records.location()))
}
