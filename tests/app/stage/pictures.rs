//! Pictures without a graphics adapter: one grey for everything.

use bevy::prelude::*;
use second_glance::app::picture::request::{PictureFailed, PictureReady, RequestPicture};
use second_glance::bake::BakedScene;
use second_glance::play::picture::{Picture, ToothOutline};
use std::sync::Arc;

/// Whether pictures can be drawn.
#[derive(Resource, PartialEq, Eq)]
pub struct CanDraw(pub bool);

/// Pictures asked for so far.
#[derive(Resource, Default, PartialEq, Eq)]
pub struct Asked(pub u32);

pub fn answer_requests(
    mut requests: MessageReader<RequestPicture>,
    can_draw: Res<CanDraw>,
    mut asked: ResMut<Asked>,
    mut ready: MessageWriter<PictureReady>,
    mut failed: MessageWriter<PictureFailed>,
) {
    for request in requests.read() {
        asked.0 += 1;
        if can_draw.0 {
            let picture = Arc::new(flat_picture(&request.scene, request.width, request.height));
            ready.write(PictureReady { id: request.id, picture });
        } else {
            let reason = "the adapter went away".to_owned();
            failed.write(PictureFailed { id: request.id, reason });
        }
    }
}

/// One grey for everything, and a box for each tooth.
fn flat_picture(scene: &BakedScene, width: u32, height: u32) -> Picture {
    let pitch = width as f32 / scene.teeth.len() as f32;
    let outlines = scene.teeth.iter().enumerate().map(|(index, baked)| {
        let (left, right) = (pitch * index as f32, pitch * (index as f32 + 0.9));
        let polygon = vec![[left, 10.0], [right, 10.0], [right, 90.0], [left, 90.0]];
        ToothOutline { tooth: baked.tooth, polygon }
    });
    Picture {
        width,
        height,
        rgba: [119, 119, 119, 255].repeat((width * height) as usize),
        outlines: outlines.collect(),
        teeth: vec![0; (width * height) as usize],
        ..Picture::default()
    }
}
