//! The queue of pictures: shapes on a task pool, one drawn frame, pixels back.

use crate::anatomy::{Covered, Smile, View};
use crate::app::picture::viewport::camera::image_target;
use crate::app::picture::viewport::encode::to_8bit;
use crate::app::picture::viewport::offscreen::RendererError;
use crate::app::picture::viewport::pixels;
use crate::app::picture::viewport::pixels::PixelsBack;
use crate::app::picture::viewport::scene::{
    Framing, PicturePart, Prepared, SceneAssets, SmileShelf, spawn_patches, spawn_smile,
};
use crate::app::picture::viewport::{
    DrawTimes, PictureId, PictureRequest, ViewportBegins, ViewportSystems, WindowCamera,
};
use crate::play::picture::tooth_colours;
use crate::play::picture::{Picture, ToothOutline};
use crate::scene::Tooth;
use bevy::prelude::*;
use bevy::render::renderer::RenderDevice;
use bevy::tasks::futures::check_ready;
use bevy::tasks::{AsyncComputeTaskPool, Task};
use half::f16;
use rayon::prelude::*;
use std::collections::VecDeque;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Frames and time after which an incomplete picture is given up, both: frames may be short where nothing
/// but a slow adapter is waited for.
const MOST_FRAMES: u32 = 400;
const MOST_TIME: Duration = Duration::from_secs(20);
/// Between two looks at whether a task has ended.
const NAP: Duration = Duration::from_micros(100);
/// Share of the expected pixels that must have been drawn. The processor's and the adapter's
/// rasters may differ along silhouettes.
const COMPLETE_SHARE: f32 = 0.99;
/// Picture edges, pixels.
const SIZES: std::ops::RangeInclusive<u32> = 16..=8192;

pub(crate) fn plugin(app: &mut App) {
    app.add_plugins(pixels::plugin)
        .init_resource::<PictureQueue>()
        .init_resource::<Drawing>()
        .init_resource::<Patience>()
        .add_message::<PictureReady>()
        .add_message::<PictureFailed>()
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

/// Pictures waiting to be drawn, first come, first served.
#[derive(Resource, Default)]
pub struct PictureQueue {
    submitted: u64,
    waiting: VecDeque<(PictureId, Subject)>,
}

impl PictureQueue {
    /// Asks for a picture.
    pub fn submit(&mut self, request: PictureRequest) -> PictureId {
        self.push(Subject::Smile(request))
    }

    /// Pictures asked for and not yet begun.
    #[must_use]
    pub fn waiting(&self) -> usize {
        self.waiting.len()
    }

    pub(crate) fn push(&mut self, subject: Subject) -> PictureId {
        self.submitted += 1;
        let id = PictureId(self.submitted);
        self.waiting.push_back((id, subject));
        id
    }
}

/// How long a frame may wait for each step of a picture that would otherwise cost another frame: for
/// its preparation, its pixels and its finish. None of it where frames must not be late.
#[derive(Resource, Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct Patience(pub Duration);

impl Patience {
    /// Waits for a task that another thread works on.
    pub fn wait_for<T>(self, task: &Task<T>) {
        let start = Instant::now();
        while !task.is_finished() && start.elapsed() < self.0 {
            std::thread::sleep(NAP);
        }
    }
}

/// What a picture shows.
pub(crate) enum Subject {
    Smile(PictureRequest),
    /// A smile drawn over and over this many frames before its pixels are read.
    Held(PictureRequest, u32),
    /// Flat unlit patches of these linear sRGB colours, to check the path itself.
    Patches {
        view: View,
        colors: Vec<[f32; 3]>,
    },
}

/// A picture is there.
#[derive(Message, Debug, Clone)]
pub struct PictureReady {
    /// Which one.
    pub id: PictureId,
    /// The picture.
    pub picture: Arc<Picture>,
    /// Where the time went.
    pub times: DrawTimes,
}

/// A picture could not be drawn.
#[derive(Message, Debug, Clone)]
pub struct PictureFailed {
    /// Which one.
    pub id: PictureId,
    /// Why.
    pub error: RendererError,
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

/// What a finished picture must look like.
enum Expected {
    Smile { smile: Arc<Smile>, framing: Arc<Framing>, teeth: Vec<Tooth> },
    Patches(usize),
}

/// What became of pixels that came back: a picture if everything was drawn.
pub(crate) struct Finished {
    picture: Option<Picture>,
    took: Duration,
}

fn start_next(
    mut queue: ResMut<PictureQueue>,
    mut drawing: ResMut<Drawing>,
    mut commands: Commands,
    mut assets: SceneAssets,
    pixels: Res<PixelsBack>,
    mut failed: MessageWriter<PictureFailed>,
) {
    if !matches!(*drawing, Drawing::Idle) {
        return;
    }
    let Some((id, subject)) = queue.waiting.pop_front() else { return };
    let hold = if let Subject::Held(_, frames) = subject { frames } else { 0 };
    match subject {
        Subject::Smile(request) | Subject::Held(request, _) => {
            if let Err(error) = check(&request) {
                failed.write(PictureFailed { id, error });
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
    mut failed: MessageWriter<PictureFailed>,
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
        failed.write(PictureFailed { id: frame.id, error });
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
    mut ready: MessageWriter<PictureReady>,
    mut failed: MessageWriter<PictureFailed>,
) {
    let Drawing::Finishing { frame, task } = &mut *drawing else { return };
    let Some(Finished { picture, took }) = check_ready(task) else { return };
    frame.times.finish += took;
    if let Some(picture) = picture {
        let picture = Arc::new(picture);
        ready.write(PictureReady { id: frame.id, picture, times: frame.times });
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
        failed.write(PictureFailed { id: frame.id, error });
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

/// Four half floats a pixel, from rows of `stride` bytes.
fn pixels_of(data: &[u8], stride: usize, width: u32, height: u32) -> Vec<[f16; 4]> {
    let width = width as usize;
    let mut linear = vec![[f16::ZERO; 4]; width * height as usize];
    linear.par_chunks_mut(width).zip(data.par_chunks_exact(stride)).for_each(|(row, line)| {
        for (pixel, bytes) in row.iter_mut().zip(line.chunks_exact(8)) {
            *pixel = std::array::from_fn(|k| f16::from_le_bytes([bytes[2 * k], bytes[2 * k + 1]]));
        }
    });
    linear
}

impl Expected {
    /// The picture that these pixels are, if everything was drawn.
    fn finish(&self, data: &[u8], stride: usize, width: u32, height: u32) -> Option<Picture> {
        let linear = pixels_of(data, stride, width, height);
        let rgba = to_8bit(&linear, width as usize);
        let whole = rgba.len() == 4 * (width * height) as usize;
        (whole && self.is_complete(&rgba)).then(|| self.picture(&linear, rgba, width, height))
    }

    /// Whether everything that should be drawn was, and lit.
    fn is_complete(&self, rgba: &[u8]) -> bool {
        let drawn = |pixel: &[u8]| pixel[3] == 255;
        match self {
            Self::Patches(count) => {
                // A patch is several pixels even in the smallest frame.
                rgba.chunks_exact(4).filter(|pixel| drawn(pixel)).count() >= *count
            }
            Self::Smile { framing, .. } => {
                let covered = &framing.coverage.covered;
                let (expected, seen, brightest) = rgba
                    .par_chunks_exact(4)
                    .zip(covered)
                    .filter(|(_, covered)| **covered != Covered::Nothing)
                    .map(
                        |(pixel, _)| {
                            if drawn(pixel) { (1_usize, 1_usize, pixel[0]) } else { (1, 0, 0) }
                        },
                    )
                    .reduce(|| (0, 0, 0), |a, b| (a.0 + b.0, a.1 + b.1, a.2.max(b.2)));
                // Black surfaces would mean that the environment map is not there yet. A real
                // smile's gum alone is brighter than this.
                seen as f32 >= COMPLETE_SHARE * expected as f32 && brightest > 16
            }
        }
    }

    fn picture(&self, linear: &[[f16; 4]], mut rgba: Vec<u8>, width: u32, height: u32) -> Picture {
        rgba.par_chunks_exact_mut(4).for_each(|pixel| pixel[3] = 255);
        let (mut outlines, mut numbers) = (Vec::new(), Vec::new());
        if let Self::Smile { smile, framing, teeth } = self {
            let listed: Vec<u8> = smile
                .crowns
                .iter()
                .map(|crown| crown.individual.tooth)
                .map(|tooth| if teeth.contains(&tooth) { tooth.number() } else { 0 })
                .collect();
            numbers = framing
                .coverage
                .covered
                .par_iter()
                .map(|covered| match covered {
                    Covered::Crown(index) => listed[usize::from(*index)],
                    _ => 0,
                })
                .collect();
            outlines = teeth
                .iter()
                .filter_map(|&tooth| {
                    let polygon = framing.outlines[smile.crown_index(tooth)?].clone();
                    Some(ToothOutline { tooth, polygon })
                })
                .collect();
        }
        let colours = tooth_colours(&numbers, linear, &rgba, width as usize);
        Picture { width, height, rgba, outlines, teeth: numbers, colours }
    }
}
