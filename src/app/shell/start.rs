//! Opens what was asked for, once it is laid out ([`crate::play::start`]).

use crate::app::shell::order::{AdvanceSession, AppSystems};
use crate::app::shell::state::Screen;
use crate::play::content::ActiveContent;
use crate::play::course::Seat;
use crate::play::frames::FrameTimes;
use crate::play::lecture::Lecture;
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::smiles::Preparation;
use crate::play::start::{Opened, Opening, PendingStart, Place, SessionOptions};
use crate::play::work::Workers;
use bevy::prelude::*;

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<SessionOptions>()
        .init_resource::<PendingStart>()
        .add_systems(Update, start_pending.in_set(AppSystems::Advance).after(AdvanceSession));
}

fn start_pending(
    mut commands: Commands,
    mut pending: ResMut<PendingStart>,
    frames: Res<FrameTimes>,
    (content, workers): (Res<ActiveContent>, Res<Workers>),
    options: Res<SessionOptions>,
    records: Res<Records>,
    (lecture, seat): (Option<Res<Lecture>>, Option<Res<Seat>>),
    mut preparation: ResMut<Preparation>,
    mut problem: ResMut<Problem>,
    screen: Res<State<Screen>>,
    mut next: ResMut<NextState<Screen>>,
) {
    let pending = pending.bypass_change_detection();
    // What runs is left or ended first, whatever was asked for meanwhile.
    if matches!(screen.get(), Screen::Trial | Screen::Exercise) {
        return pending.withdraw();
    }
    let (true, Some(refresh_hz)) = (pending.waits(), frames.refresh_hz()) else { return };
    let opening = Opening { refresh_hz, options: *options, records: &records, frames: &frames };
    let place = Place::of(lecture.as_deref(), seat.as_deref());
    let mut found = Problem::default();
    let opened = pending.advance(&opening, (&content, &workers), place, &mut found);
    problem.take_over(found);
    let Some(opened) = opened else { return };
    preparation.clear();
    match opened {
        Opened::Session(session) => {
            commands.remove_resource::<Exercising>();
            commands.insert_resource(*session);
            next.set(Screen::Trial);
        }
        Opened::Round(exercising) => {
            commands.remove_resource::<Session>();
            commands.insert_resource(*exercising);
            next.set(Screen::Exercise);
        }
    }
}
