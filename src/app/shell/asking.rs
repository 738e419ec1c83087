//! What is asked for reaches whoever does it.
//!
//! Keys, buttons and phones write an [`Intent`]; each is passed on once, in the frame that saw it, to the
//! observers of [`Asked`]. Every room does what is asked of it, and what concerns them all is done here.

use crate::app::shell::order::{AdvanceSession, AppSystems, Dispatch};
use crate::app::shell::state::{Pause, Screen};
use crate::play::intents::Intent;
use crate::play::problem::Problem;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::start::{PendingStart, Start};
use crate::play::view::{DebriefView, Look};
use bevy::prelude::*;

/// Something was asked for.
#[derive(Event, Debug, Clone, PartialEq)]
pub struct Asked(pub Intent);

pub(crate) fn plugin(app: &mut App) {
    app.add_message::<Intent>()
        .init_resource::<DebriefView>()
        .add_observer(start)
        .add_observer(go)
        .add_observer(pause)
        .add_observer(look)
        .add_systems(
            Update,
            dispatch.in_set(Dispatch).in_set(AdvanceSession).in_set(AppSystems::Advance),
        );
}

/// Passes on what was asked for.
pub fn dispatch(mut intents: ResMut<Messages<Intent>>, mut commands: Commands) {
    for intent in intents.drain() {
        commands.trigger(Asked(intent));
    }
}

/// Asks for starts. Whoever goes elsewhere no longer waits for what was to open.
fn start(asked: On<Asked>, mut pending: ResMut<PendingStart>) {
    match asked.event().0.clone() {
        Intent::StartLevel(level) => pending.ask(Start::New(level)),
        Intent::ContinueLevel(level) => pending.ask(Start::Unfinished(level)),
        Intent::StartMeasure(choice) => pending.ask(Start::Measure(choice)),
        Intent::ContinueMeasure(number) => pending.ask(Start::UnfinishedMeasure(number)),
        Intent::ContinueChoice(number) => pending.ask(Start::UnfinishedChoice(number)),
        Intent::OpenMeasure
        | Intent::ShowMeasured(_)
        | Intent::ShowChoice(_)
        | Intent::OpenBenchSetup
        | Intent::OpenClinicForm
        | Intent::OpenAbout
        | Intent::OpenCourses
        | Intent::BackToTitle => pending.withdraw(),
        _ => {}
    }
}

/// Goes to screens that need nothing else.
fn go(asked: On<Asked>, mut screen: ResMut<NextState<Screen>>, mut exit: MessageWriter<AppExit>) {
    match asked.event().0 {
        Intent::OpenMeasure => screen.set(Screen::MeasureSetup),
        Intent::OpenBenchSetup => screen.set(Screen::BenchSetup),
        Intent::OpenClinicForm => screen.set(Screen::ClinicForm),
        Intent::OpenAbout => screen.set(Screen::About),
        Intent::OpenCourses => screen.set(Screen::Courses),
        Intent::Quit => {
            exit.write(AppExit::Success);
        }
        _ => {}
    }
}

/// Opens and closes what lies over the screen.
fn pause(asked: On<Asked>, mut pause: ResMut<NextState<Pause>>, mut problem: ResMut<Problem>) {
    match asked.event().0 {
        Intent::Pause => pause.set(Pause::Paused),
        Intent::Resume | Intent::StopSession => pause.set(Pause::Running),
        Intent::DismissProblem => problem.0 = None,
        _ => {}
    }
}

/// Changes how a smile is looked at.
fn look(
    asked: On<Asked>,
    session: Option<Res<Session>>,
    exercising: Option<Res<Exercising>>,
    mut view: ResMut<DebriefView>,
) {
    let may_compare = exercising.is_some() || session.as_deref().is_some_and(Session::has_twin);
    match asked.event().0 {
        Intent::ToggleTwin => view.toggle(),
        Intent::ToggleAutoBlink => view.toggle_blink(),
        Intent::ToggleValueOnly => view.value_only = !view.value_only,
        Intent::ToggleOutlines => view.outlines = !view.outlines,
        Intent::ToggleMap if may_compare => view.toggle_look(Look::Map),
        Intent::ToggleSideBySide if may_compare => view.toggle_look(Look::SideBySide),
        _ => {}
    }
}
