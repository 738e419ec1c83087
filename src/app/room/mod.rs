//! The rooms: each has its keys, its screens and what goes on in it from frame to frame. None knows
//! another.

pub mod about;
pub mod bench;
pub mod clinic;
pub mod course;
pub mod glance;
pub mod keys;
pub mod lecture;
pub mod measure;
pub mod pause;
pub mod problem;
pub mod round;
pub mod stage;
pub mod summary;
pub mod title;

use bevy::prelude::*;

/// What goes on in the rooms, drawn or not.
pub(crate) fn plugin(app: &mut App) {
    app.add_plugins((
        bench::plugin,
        clinic::plugin,
        course::plugin,
        glance::advance::plugin,
        keys::plugin,
        lecture::plugin,
        measure::plugin,
        round::advance::plugin,
        summary::plugin,
    ));
}

/// What the rooms draw.
pub(crate) fn screens(app: &mut App) {
    app.add_plugins((
        about::screen,
        bench::screen,
        clinic::screen,
        course::screen,
        glance::screen,
        lecture::screens,
        measure::screens,
        pause::screen,
        problem::screen,
        round::screen,
        stage::screen,
        summary::screen,
        title::screen,
    ));
}
