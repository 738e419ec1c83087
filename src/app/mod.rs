//! The Bevy app: what its window is put together from.
//!
//! Everything on screen is egui over one camera; a smile is a finished picture that comes from
//! the viewport. The rules of a trial live in [`crate::trial`], what is under way in [`crate::play`]; the
//! app reports frames and answers to them and draws what they say.

pub mod cli;
#[cfg(test)]
mod naming;
pub mod picture;
pub mod room;
pub mod shell;
pub mod ui;

use bevy::prelude::*;

/// The app without a window: state, input, session, results. Needs `StatesPlugin`, time and
/// task pools, and somebody who answers [`picture::request::RequestPicture`].
#[derive(Debug, Default)]
pub struct AppPlugin;

impl Plugin for AppPlugin {
    fn build(&self, app: &mut App) {
        app.add_plugins((shell::plugin, picture::plugin, room::plugin));
    }
}

/// Draws the screens. Needs `EguiPlugin` and a camera.
#[derive(Debug, Default)]
pub struct ScreensPlugin;

impl Plugin for ScreensPlugin {
    fn build(&self, app: &mut App) {
        app.add_plugins((
            shell::clipboard::plugin,
            shell::canvas::plugin,
            shell::reading::plugin,
            room::screens,
        ));
    }
}
