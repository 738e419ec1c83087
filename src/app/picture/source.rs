//! Answers picture requests with the viewport.

use crate::app::picture::request::{PictureFailed, PictureReady, RequestPicture};
use crate::app::picture::viewport::ViewportPlugin;
use crate::app::picture::viewport::order::{ViewportBegins, ViewportSystems};
use crate::app::picture::viewport::queue::{Patience, PictureDrawn, PictureMissed, PictureQueue};
use crate::app::picture::viewport::request::{Lighting, PictureRequest};
use crate::app::shell::order::AppSystems;
use crate::play::smiles::Preparation;
use bevy::prelude::*;

/// Draws requested pictures with the graphics adapter.
#[derive(Debug, Default)]
pub struct ViewportSource;

impl Plugin for ViewportSource {
    fn build(&self, app: &mut App) {
        app.add_plugins(ViewportPlugin).add_systems(
            Update,
            (
                be_patient.before(ViewportSystems),
                // In the frame that has them, so that none is lost on the way.
                pass_back.after(ViewportSystems).before(AppSystems::Arrivals),
                submit.after(AppSystems::Prepare).before(ViewportBegins),
            ),
        );
    }
}

/// The viewport may wait for a picture as long as its preparation may.
fn be_patient(preparation: Res<Preparation>, mut patience: ResMut<Patience>) {
    patience.set_if_neq(Patience(preparation.patience()));
}

fn submit(mut requests: MessageReader<RequestPicture>, mut queue: ResMut<PictureQueue>) {
    for request in requests.read() {
        let picture = PictureRequest {
            scene: request.scene.clone(),
            condition: request.condition,
            width: request.width,
            height: request.height,
            lighting: Lighting::Studio,
        };
        queue.submit(request.id, picture);
    }
}

fn pass_back(
    mut drawn: MessageReader<PictureDrawn>,
    mut missed: MessageReader<PictureMissed>,
    mut ready: MessageWriter<PictureReady>,
    mut failed: MessageWriter<PictureFailed>,
) {
    for drawn in drawn.read() {
        ready.write(PictureReady { id: drawn.id, picture: drawn.picture.clone() });
    }
    for missed in missed.read() {
        failed.write(PictureFailed { id: missed.id, reason: missed.error.to_string() });
    }
}
