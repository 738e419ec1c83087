//! Answers picture requests with the viewport.

use crate::app::picture::request as pictures;
use crate::app::picture::request::RequestPicture;
use crate::app::picture::viewport;
use crate::app::picture::viewport::readback::{Patience, PictureQueue};
use crate::app::picture::viewport::{
    Lighting, PictureRequest, ViewportBegins, ViewportPlugin, ViewportSystems,
};
use crate::app::shell::order::AppSystems;
use crate::play::smiles::PictureId;
use crate::play::smiles::Preparation;
use bevy::prelude::*;
use std::collections::BTreeMap;

/// Draws requested pictures with the graphics adapter.
#[derive(Debug, Default)]
pub struct ViewportSource;

/// Which request each submitted picture answers.
#[derive(Resource, Default)]
struct Submitted(BTreeMap<viewport::PictureId, PictureId>);

impl Plugin for ViewportSource {
    fn build(&self, app: &mut App) {
        app.add_plugins(ViewportPlugin).init_resource::<Submitted>().add_systems(
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

fn submit(
    mut requests: MessageReader<RequestPicture>,
    mut queue: ResMut<PictureQueue>,
    mut submitted: ResMut<Submitted>,
) {
    for request in requests.read() {
        let id = queue.submit(PictureRequest {
            scene: request.scene.clone(),
            condition: request.condition,
            width: request.width,
            height: request.height,
            lighting: Lighting::Studio,
        });
        submitted.0.insert(id, request.id);
    }
}

fn pass_back(
    mut drawn: MessageReader<viewport::PictureReady>,
    mut missed: MessageReader<viewport::PictureFailed>,
    mut submitted: ResMut<Submitted>,
    mut ready: MessageWriter<pictures::PictureReady>,
    mut failed: MessageWriter<pictures::PictureFailed>,
) {
    for drawn in drawn.read() {
        if let Some(id) = submitted.0.remove(&drawn.id) {
            ready.write(pictures::PictureReady { id, picture: drawn.picture.clone() });
        }
    }
    for missed in missed.read() {
        if let Some(id) = submitted.0.remove(&missed.id) {
            failed.write(pictures::PictureFailed { id, reason: missed.error.to_string() });
        }
    }
}
