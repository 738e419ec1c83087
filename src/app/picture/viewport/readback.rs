//! From a picture asked for to its pixels: shapes on a task pool, one drawn frame, pixels back.

use crate::app::picture::viewport::camera::image_target;
use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::finish::{Expected, Finished};
use crate::app::picture::viewport::order::{ViewportBegins, ViewportSystems, WindowCamera};
use crate::app::picture::viewport::patches::spawn_patches;
use crate::app::picture::viewport::pixels;
use crate::app::picture::viewport::pixels::PixelsBack;
use crate::app::picture::viewport::prepared::Prepared;
use crate::app::picture::viewport::queue::{
    Patience, PictureDrawn, PictureMissed, PictureQueue, Subject,
};
use crate::app::picture::viewport::request::{DrawTimes, PictureRequest};
use crate::app::picture::viewport::scene::{PicturePart, SceneAssets, spawn_smile};
use crate::app::picture::viewport::shelf::SmileShelf;
use crate::play::smiles::PictureId;
use bevy::prelude::*;
use bevy::render::renderer::RenderDevice;
use bevy::tasks::futures::check_ready;
use bevy::tasks::{AsyncComputeTaskPool, Task};
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Frames and time after which an incomplete picture is given up, both: frames may be short where nothing
/// but a slow adapter is waited for.
const MOST_FRAMES: u32 = 400;
const MOST_TIME: Duration = Duration::from_secs(20);
/// Picture edges, pixels.
const SIZES: std::ops::RangeInclusive<u32> = 16..=8192;

pub(crate) fn plugin(app: &mut App) {
    app.add_plugins(pixels::plugin)
        .init_resource::<PictureQueue>()
        .init_resource::<Drawing>()
        .init_resource::<Patience>()
        .add_message::<PictureDrawn>()
        .add_message::<PictureMissed>()
        .add_systems(
            Update,
            (show_window, collect_pixels, hand_out).chain().in_set(ViewportSystems),
        )
        .add_systems(
            Update,
            (start_next, wait_for_prepared, spawn_prepared)
                .chain()
                .in_set(ViewportBegins)
                .after(ViewportSystems),
        );
}

/// Where the picture in progress stands.
#[derive(Resource, Default)]
pub(crate) enum Drawing {
    #[default]
    Idle,
    Preparing {
        id: PictureId,
        request: PictureRequest,
        hold: u32,
        task: Task<Prepared>,
    },
    Drawn(Frame),
    /// The pixels are there and become a picture. The scene still stands, in case something was on
    /// its way to the adapter.
    Finishing {
        frame: Frame,
        task: Task<Finished>,
    },
}

/// A picture whose scene stands.
pub(crate) struct Frame {
    id: PictureId,
    expected: Arc<Expected>,
    times: DrawTimes,
    began: Instant,
    since: Instant,
    width: u32,
    height: u32,
    target: Handle<Image>,
    frames: u32,
    /// Frames that are drawn without being read.
    hold: u32,
}

impl Frame {
    fn is_given_up(&self) -> bool {
        self.frames >= MOST_FRAMES && self.began.elapsed() > MOST_TIME
    }
}

impl Drawing {
    /// Frames that the picture in progress is still held for.
    pub(crate) const fn held(&self) -> u32 {
        match self {
            Self::Drawn(frame) => frame.hold,
            _ => 0,
        }
    }
}

fn start_next(
    mut queue: ResMut<PictureQueue>,
    mut drawing: ResMut<Drawing>,
    mut commands: Commands,
    mut assets: SceneAssets,
    pixels: Res<PixelsBack>,
    mut missed: MessageWriter<PictureMissed>,
) {
    if !matches!(*drawing, Drawing::Idle) {
        return;
    }
    let Some((id, subject)) = queue.next() else { return };
    let hold = if let Subject::Held(_, frames) = subject { frames } else { 0 };
    match subject {
        Subject::Smile(request) | Subject::Held(request, _) => {
            if let Err(error) = check(&request) {
                missed.write(PictureMissed { id, error });
                return;
            }
            let task = prepare(&request, &assets.shelf);
            *drawing = Drawing::Preparing { id, request, hold, task };
        }
        Subject::Patches { view, colors } => {
            let target = assets.images.add(image_target(view.width, view.height));
            spawn_patches(&mut commands, &mut assets, &view, &colors, target.clone());
            pixels.want(&target);
            *drawing = Drawing::Drawn(Frame {
                id,
                expected: Arc::new(Expected::Patches(colors.len())),
                times: DrawTimes::default(),
                began: Instant::now(),
                since: Instant::now(),
                width: view.width,
                height: view.height,
                target,
                frames: 0,
                hold: 0,
            });
        }
    }
}

fn check(request: &PictureRequest) -> Result<(), RendererError> {
    let (width, height) = (request.width, request.height);
    if !SIZES.contains(&width) || !SIZES.contains(&height) {
        return Err(RendererError::PictureSize { width, height });
    }
    for baked in &request.scene.teeth {
        for map in std::iter::once(&baked.natural).chain(&baked.restored) {
            if map.width == 0 || map.height == 0 || map.texels.len() != map.width * map.height {
                return Err(RendererError::MapSize {
                    tooth: baked.tooth,
                    width: map.width,
                    height: map.height,
                    texels: map.texels.len(),
                });
            }
        }
    }
    Ok(())
}

fn prepare(request: &PictureRequest, shelf: &SmileShelf) -> Task<Prepared> {
    let known = shelf.find(request);
    let request = request.clone();
    AsyncComputeTaskPool::get().spawn(async move { Prepared::build(&request, known) })
}

/// Where nothing else is to be done in this frame, its end may wait for what is nearly ready.
fn wait_for_prepared(drawing: Res<Drawing>, patience: Res<Patience>) {
    if let Drawing::Preparing { task, .. } = &*drawing {
        patience.wait_for(task);
    }
}

fn spawn_prepared(
    mut drawing: ResMut<Drawing>,
    mut commands: Commands,
    mut assets: SceneAssets,
    (pixels, patience): (Res<PixelsBack>, Res<Patience>),
    mut windows: Query<&mut Camera, With<WindowCamera>>,
) {
    let Drawing::Preparing { id, request, hold, task } = &mut *drawing else { return };
    let Some(prepared) = check_ready(task) else { return };
    let target = assets.images.add(image_target(request.width, request.height));
    let frame = Frame {
        id: *id,
        expected: Arc::new(Expected::Smile {
            smile: prepared.smile.clone(),
            framing: prepared.framing.clone(),
            teeth: request.scene.teeth.iter().map(|baked| baked.tooth).collect(),
        }),
        times: prepared.times,
        began: Instant::now(),
        since: Instant::now(),
        width: request.width,
        height: request.height,
        target: target.clone(),
        frames: 0,
        hold: *hold,
    };
    spawn_smile(&mut commands, &mut assets, request, prepared, target.clone());
    if frame.hold == 0 {
        pixels.want(&target);
    }
    *drawing = Drawing::Drawn(frame);
    if !patience.0.is_zero() {
        // The window would wait for the display, and the picture with it.
        for mut camera in &mut windows {
            camera.is_active = false;
        }
    }
}

/// A window that was left out for one frame is drawn again.
fn show_window(mut windows: Query<&mut Camera, With<WindowCamera>>) {
    for mut camera in &mut windows {
        if !camera.is_active {
            camera.is_active = true;
        }
    }
}

fn collect_pixels(
    mut drawing: ResMut<Drawing>,
    mut commands: Commands,
    mut images: ResMut<Assets<Image>>,
    mut cameras: Query<&mut Camera, With<PicturePart>>,
    (pixels, device, patience): (Res<PixelsBack>, Option<Res<RenderDevice>>, Res<Patience>),
    parts: Query<Entity, With<PicturePart>>,
    mut missed: MessageWriter<PictureMissed>,
) {
    let Drawing::Drawn(frame) = &mut *drawing else { return };
    if frame.hold > 0 {
        frame.hold -= 1;
        if frame.hold == 0 {
            frame.since = Instant::now();
            pixels.want(&frame.target);
        }
        return;
    }
    frame.frames += 1;
    // One drawn frame is enough; software adapters take a second for each.
    for mut camera in &mut cameras {
        camera.is_active = false;
    }
    let data = device.and_then(|device| pixels.take(&device, patience.0));
    if let Some(data) = data {
        frame.times.adapter += frame.since.elapsed();
        let (expected, width, height) = (frame.expected.clone(), frame.width, frame.height);
        let finish = async move {
            let start = Instant::now();
            let picture = data.read(|bytes, stride| expected.finish(bytes, stride, width, height));
            Finished { picture, took: start.elapsed() }
        };
        if let Drawing::Drawn(frame) = std::mem::take(&mut *drawing) {
            let task = AsyncComputeTaskPool::get().spawn(finish);
            patience.wait_for(&task);
            *drawing = Drawing::Finishing { frame, task };
        }
    } else if frame.is_given_up() {
        let error = RendererError::NoPixels { frames: frame.frames };
        missed.write(PictureMissed { id: frame.id, error });
        pixels.forget();
        clear_away(&mut drawing, &mut commands, &mut images, &parts);
    }
}

/// Hands out a finished picture, or draws again what was not complete.
fn hand_out(
    mut drawing: ResMut<Drawing>,
    mut commands: Commands,
    mut images: ResMut<Assets<Image>>,
    mut cameras: Query<&mut Camera, With<PicturePart>>,
    parts: Query<Entity, With<PicturePart>>,
    pixels: Res<PixelsBack>,
    mut drawn: MessageWriter<PictureDrawn>,
    mut missed: MessageWriter<PictureMissed>,
) {
    let Drawing::Finishing { frame, task } = &mut *drawing else { return };
    let Some(Finished { picture, took }) = check_ready(task) else { return };
    frame.times.finish += took;
    if let Some(picture) = picture {
        let picture = Arc::new(picture);
        drawn.write(PictureDrawn { id: frame.id, picture, times: frame.times });
    } else if !frame.is_given_up() {
        for mut camera in &mut cameras {
            camera.is_active = true;
        }
        pixels.want(&frame.target);
        frame.since = Instant::now();
        if let Drawing::Finishing { frame, .. } = std::mem::take(&mut *drawing) {
            *drawing = Drawing::Drawn(frame);
        }
        return;
    } else {
        let error = RendererError::Incomplete { frames: frame.frames };
        missed.write(PictureMissed { id: frame.id, error });
    }
    clear_away(&mut drawing, &mut commands, &mut images, &parts);
}

fn clear_away(
    drawing: &mut Drawing,
    commands: &mut Commands,
    images: &mut Assets<Image>,
    parts: &Query<Entity, With<PicturePart>>,
) {
    for part in parts {
        commands.entity(part).try_despawn();
    }
    if let Drawing::Drawn(frame) | Drawing::Finishing { frame, .. } = std::mem::take(drawing) {
        images.remove(&frame.target);
    }
}
