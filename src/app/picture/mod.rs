//! Pictures of smiles: prepared, drawn, read back, and kept for the screen.

pub mod canvas;
pub mod eyes;
pub mod prepare;
pub mod request;
pub mod source;
pub mod textures;
pub mod upload;
pub mod viewport;

use bevy::prelude::*;

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<textures::Textures>().add_plugins((prepare::plugin, request::plugin));
}
