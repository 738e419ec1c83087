//! The screens without a renderer: laid out as ever, painted by nobody.

use bevy::asset::AssetPlugin;
use bevy::input::InputPlugin;
use bevy::prelude::*;
use bevy::window::{ExitCondition, WindowPlugin};
use bevy_egui::EguiPlugin;
use second_glance::app::ScreensPlugin;

/// The screens and everything that they need, in this window or in none.
pub fn add_screens(app: &mut App, primary_window: Option<Window>) {
    app.add_plugins((
        AssetPlugin::default(),
        InputPlugin,
        WindowPlugin {
            primary_window,
            exit_condition: ExitCondition::DontExit,
            close_when_requested: false,
            ..default()
        },
    ))
    .init_asset::<Image>()
    .init_asset::<Shader>()
    .add_plugins((EguiPlugin::default(), ScreensPlugin));
}
