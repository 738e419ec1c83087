//! The boundary to whatever draws smiles: a request goes out, a picture comes back.
//!
//! The session does not know who answers: the GPU viewport in the app, a flat drawing in tests.

use crate::bake::{BakedScene, Condition};
use crate::play::picture::Picture;
use crate::play::smiles::PictureId;
use bevy::prelude::*;
use std::sync::Arc;

/// Asks for a picture of a scene.
#[derive(Message, Debug, Clone)]
pub struct RequestPicture {
    /// The name of this request.
    pub id: PictureId,
    /// What to draw.
    pub scene: Arc<BakedScene>,
    /// Restored or twin.
    pub condition: Condition,
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
}

/// The answer to [`RequestPicture`], some frames later.
#[derive(Message, Debug, Clone)]
pub struct PictureReady {
    /// The request's name.
    pub id: PictureId,
    /// The picture.
    pub picture: Arc<Picture>,
}

/// The drawing of a picture failed.
#[derive(Message, Debug, Clone)]
pub struct PictureFailed {
    /// The request's name.
    pub id: PictureId,
    /// What went wrong and what to do, one sentence.
    pub reason: String,
}

pub(crate) fn plugin(app: &mut App) {
    app.add_message::<RequestPicture>()
        .add_message::<PictureReady>()
        .add_message::<PictureFailed>();
}
