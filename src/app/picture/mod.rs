//! Pictures of smiles: prepared, drawn, read back, and kept for the screen.

pub mod canvas;
pub mod eyes;
pub mod prepare;
pub mod request;
pub mod sight_textures;
pub mod source;
pub mod textures;
pub mod viewport;

use bevy::prelude::*;

pub(crate) fn plugin(app: &mut App) {
    app.add_plugins((prepare::plugin, request::plugin));
}
