//! Measures each frame as it ends.

use crate::app::shell::order::AppSystems;
use crate::app::shell::pace::Pace;
use crate::play::frames::FrameTimes;
use crate::play::smiles::Preparation;
use bevy::prelude::*;
use std::time::Duration;

/// How long the frame that has just ended was shown.
#[derive(Resource, Debug, Default, Clone, Copy)]
pub struct LastFrame(pub Duration);

/// How far what moves by itself moved while that frame was shown: not at all where the window rested,
/// since what now begins to move begins with this frame.
#[derive(Resource, Debug, Default, Clone, Copy)]
pub struct Moved(pub Duration);

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<FrameTimes>()
        .init_resource::<LastFrame>()
        .init_resource::<Moved>()
        .add_systems(Update, measure_frame.in_set(AppSystems::Measure));
}

fn measure_frame(
    time: Res<Time<Real>>,
    preparation: Option<Res<Preparation>>,
    pace: Res<Pace>,
    mut times: ResMut<FrameTimes>,
    (mut last, mut moved): (ResMut<LastFrame>, ResMut<Moved>),
) {
    last.0 = time.delta();
    let rested = pace.rests().is_some();
    moved.0 = if rested { Duration::ZERO } else { last.0 };
    trace!(
        "a frame of {:.1} ms{}",
        1000.0 * last.0.as_secs_f64(),
        if rested { ", at rest" } else { "" }
    );
    // A frame that may wait for a picture, leave the window out, or stand until something happens, says
    // nothing about the display.
    if !rested && preparation.is_none_or(|preparation| preparation.patience().is_zero()) {
        times.record(time.delta_secs_f64());
    }
}
