//! What every room stands in: which screen is on, the order of a frame, how long frames last, what is to
//! be started, when the window rests.

pub mod asking;
pub mod canvas;
pub mod clipboard;
pub mod frames;
pub mod leaving;
pub mod order;
pub mod pace;
pub mod reading;
mod resources;
pub mod rest;
pub mod start;
pub mod state;
pub mod workers;

use self::order::AppSystems;
use self::state::{Pause, Screen};
use crate::play::problem::Problem;
use bevy::prelude::*;

pub(crate) fn plugin(app: &mut App) {
    app.init_state::<Screen>()
        .init_state::<Pause>()
        .init_resource::<Problem>()
        .configure_sets(
            Update,
            (
                AppSystems::Measure,
                AppSystems::Input,
                AppSystems::Arrivals,
                AppSystems::Advance,
                AppSystems::Prepare,
            )
                .chain(),
        )
        .add_plugins((
            asking::plugin,
            frames::plugin,
            leaving::plugin,
            rest::plugin,
            start::plugin,
            workers::plugin,
        ));
}
