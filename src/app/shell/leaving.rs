//! The way back: where the level list stands for a course, and what leaving ends.

use crate::app::shell::asking::Asked;
use crate::app::shell::state::Screen;
use crate::play::course::{Seat, SeatForm};
use crate::play::intents::Intent;
use crate::play::lecture::Lecture;
use crate::play::start::PendingStart;
use bevy::ecs::system::SystemParam;
use bevy::prelude::*;
use bevy::window::{MonitorSelection, PrimaryWindow, WindowMode};

/// Whether the window fills the screen.
#[derive(Resource, Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct FullScreen(pub bool);

/// What leaving looks at and ends.
#[derive(SystemParam)]
pub struct Leaving<'w> {
    seat: Option<Res<'w, Seat>>,
    lecture: Option<Res<'w, Lecture>>,
    pending: ResMut<'w, PendingStart>,
    full: ResMut<'w, FullScreen>,
    on: Res<'w, State<Screen>>,
}

impl Leaving<'_> {
    /// Leaves; the screen that it leads to.
    pub fn leave(&mut self, commands: &mut Commands) -> Screen {
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
}

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<FullScreen>()
        .add_observer(back)
        .add_systems(Update, fill_screen.run_if(resource_changed::<FullScreen>));
}

fn back(
    asked: On<Asked>,
    mut leaving: Leaving,
    mut commands: Commands,
    mut screen: ResMut<NextState<Screen>>,
) {
    match asked.event().0 {
        Intent::BackToTitle => screen.set(leaving.leave(&mut commands)),
        Intent::ToggleFullScreen => leaving.full.0 = !leaving.full.0,
        _ => {}
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
