//! Prepares smiles in each frame: bakes cases on background threads, asks for pictures, keeps what
//! arrived ([`crate::play::smiles`]).

use crate::app::picture::request::{PictureFailed, PictureReady, RequestPicture};
use crate::app::shell::frames::LastFrame;
use crate::app::shell::order::{AppSystems, BeginWork};
use crate::play::content::ActiveContent;
use crate::play::problem::Problem;
use crate::play::smiles::Preparation;
use crate::play::work::Workers;
use bevy::prelude::*;

/// The size that pictures are asked for, physical pixels. Kept up to date by the window.
#[derive(Resource, Debug, Clone, Copy, PartialEq, Eq)]
pub struct PictureSize(pub [u32; 2]);

impl Default for PictureSize {
    fn default() -> Self {
        Self([1024, 490])
    }
}

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<Preparation>()
        .init_resource::<PictureSize>()
        .add_systems(
            Update,
            (finish_bakes, collect_pictures, give_up_on_failures, draw_anew)
                .chain()
                .in_set(AppSystems::Arrivals),
        )
        .add_systems(
            Update,
            (begin_bake, wait_for_bake, finish_bakes, ask_for_picture)
                .chain()
                .in_set(BeginWork)
                .in_set(AppSystems::Prepare),
        );
}

fn draw_anew(mut preparation: ResMut<Preparation>, size: Res<PictureSize>) {
    preparation.bypass_change_detection().draw_anew(size.0);
}

fn begin_bake(
    mut preparation: ResMut<Preparation>,
    content: Option<Res<ActiveContent>>,
    workers: Res<Workers>,
) {
    let Some(content) = content else { return };
    preparation.bypass_change_detection().begin_bake(&content, &workers);
}

fn wait_for_bake(preparation: Res<Preparation>) {
    preparation.wait_for_bake();
}

fn finish_bakes(
    mut preparation: ResMut<Preparation>,
    workers: Res<Workers>,
    mut problem: ResMut<Problem>,
) {
    // A problem is only touched where there is one.
    let mut found = Problem::default();
    preparation.bypass_change_detection().finish_bakes(&workers, &mut found);
    problem.take_over(found);
}

fn ask_for_picture(
    mut preparation: ResMut<Preparation>,
    size: Res<PictureSize>,
    time: Res<Time<Real>>,
    mut requests: MessageWriter<RequestPicture>,
) {
    let [width, height] = size.0;
    if let Some(wanted) = preparation.bypass_change_detection().next_picture(time.elapsed()) {
        requests.write(RequestPicture {
            id: wanted.id,
            scene: wanted.scene,
            condition: wanted.condition,
            width,
            height,
        });
    }
}

fn collect_pictures(
    mut preparation: ResMut<Preparation>,
    last: Res<LastFrame>,
    time: Res<Time<Real>>,
    mut arrived: MessageReader<PictureReady>,
) {
    let preparation = preparation.bypass_change_detection();
    preparation.pass(last.0.as_secs_f64());
    for ready in arrived.read() {
        preparation.take_in(ready.id, &ready.picture, time.elapsed());
    }
}

fn give_up_on_failures(
    mut preparation: ResMut<Preparation>,
    mut failed: MessageReader<PictureFailed>,
    mut problem: ResMut<Problem>,
) {
    for failure in failed.read() {
        let preparation = preparation.bypass_change_detection();
        preparation.give_up(failure.id, &failure.reason, &mut problem);
    }
}
