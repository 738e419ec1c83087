//! The pixels of a drawn target on their way back: copied on the adapter at the end of the frame
//! that drew them, and read where they lie as soon as the adapter says so.

use bevy::prelude::*;
use bevy::render::render_asset::RenderAssets;
use bevy::render::render_resource::Buffer;
use bevy::render::renderer::{RenderDevice, RenderQueue};
use bevy::render::texture::GpuImage;
use bevy::render::{Render, RenderApp, RenderSystems};
use std::sync::atomic::{AtomicU8, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;

pub(crate) fn plugin(app: &mut App) {
    let pixels = PixelsBack::default();
    app.insert_resource(pixels.clone());
    if let Some(adapter) = app.get_sub_app_mut(RenderApp) {
        adapter
            .insert_resource(pixels)
            // What the frame draws has been handed to the adapter by then.
            .add_systems(Render, copy_out.in_set(RenderSystems::Cleanup));
    }
}

/// The one target whose pixels are wanted. Shared with the adapter's world.
#[derive(Resource, Clone, Default)]
pub(crate) struct PixelsBack {
    way: Arc<Mutex<Way>>,
    spare: Spare,
}

/// Memory that the last pixels came back in. To set such memory aside anew costs
/// milliseconds on a graphics card.
type Spare = Arc<Mutex<Option<Buffer>>>;

fn lock<T>(shared: &Mutex<T>) -> MutexGuard<'_, T> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

#[derive(Default)]
enum Way {
    #[default]
    Nothing,
    /// To be copied at the end of this frame.
    Wanted(AssetId<Image>),
    /// Copied; the adapter will say when.
    Coming { pixels: Pixels, submission: wgpu::SubmissionIndex, answer: Arc<AtomicU8> },
}

const PENDING: u8 = 0;
const THERE: u8 = 1;
const LOST: u8 = 2;

/// Pixels that came back, in memory that the adapter shares.
pub(crate) struct Pixels {
    buffer: Buffer,
    /// Bytes of a row, with what pads it.
    stride: usize,
    /// Where the memory goes afterwards.
    spare: Spare,
}

impl Pixels {
    /// Does something with the bytes and how long a row is; the memory is kept for the next picture.
    pub(crate) fn read<T>(self, with: impl FnOnce(&[u8], usize) -> T) -> T {
        let result = with(&self.buffer.slice(..).get_mapped_range(), self.stride);
        self.buffer.unmap();
        *lock(&self.spare) = Some(self.buffer);
        result
    }
}

impl PixelsBack {
    fn way(&self) -> MutexGuard<'_, Way> {
        lock(&self.way)
    }

    /// Wants the pixels that this frame draws into a target of half floats.
    pub(crate) fn want(&self, target: &Handle<Image>) {
        *self.way() = Way::Wanted(target.id());
    }

    /// Wants nothing any more.
    pub(crate) fn forget(&self) {
        *self.way() = Way::Nothing;
    }

    /// The pixels, if they are there; waits for the adapter that long at most.
    pub(crate) fn take(&self, device: &RenderDevice, patience: Duration) -> Option<Pixels> {
        let mut way = self.way();
        let Way::Coming { submission, answer, .. } = &*way else { return None };
        let poll = if patience.is_zero() {
            wgpu::PollType::Poll
        } else {
            let submission_index = Some(submission.clone());
            wgpu::PollType::Wait { submission_index, timeout: Some(patience) }
        };
        // Too late is no failure, and an adapter that is lost never answers.
        let _ = device.poll(poll);
        match answer.load(Ordering::Acquire) {
            PENDING => None,
            THERE => match std::mem::take(&mut *way) {
                Way::Coming { pixels, .. } => Some(pixels),
                _ => None,
            },
            _ => {
                *way = Way::Nothing;
                None
            }
        }
    }
}

/// Copies the wanted target to memory that can be read, behind what draws it.
fn copy_out(
    wanted: Res<PixelsBack>,
    images: Res<RenderAssets<GpuImage>>,
    device: Res<RenderDevice>,
    queue: Res<RenderQueue>,
) {
    let mut way = wanted.way();
    let Way::Wanted(target) = &*way else { return };
    let Some(image) = images.get(*target) else { return };
    let spare = lock(&wanted.spare).take();
    let (buffer, stride, submission) = copy_of(image, 8, spare, &device, &queue);
    let answer = Arc::new(AtomicU8::new(PENDING));
    buffer.slice(..).map_async(wgpu::MapMode::Read, {
        let answer = answer.clone();
        move |result| {
            answer.store(if result.is_ok() { THERE } else { LOST }, Ordering::Release);
        }
    });
    let pixels = Pixels { buffer, stride, spare: wanted.spare.clone() };
    *way = Way::Coming { pixels, submission, answer };
}

/// Copies a texture whose pixels have so many bytes to memory that can be read: the spare one if it has the
/// length, or else new. Returns the memory, the bytes of a row with what pads it, and what to wait for.
pub(crate) fn copy_of(
    image: &GpuImage,
    bytes_per_pixel: usize,
    spare: Option<Buffer>,
    device: &RenderDevice,
    queue: &RenderQueue,
) -> (Buffer, usize, wgpu::SubmissionIndex) {
    let size = image.texture_descriptor.size;
    let stride = RenderDevice::align_copy_bytes_per_row(bytes_per_pixel * size.width as usize);
    let length = (stride * size.height as usize) as u64;
    let buffer = spare.filter(|spare| spare.size() == length).unwrap_or_else(|| {
        device.create_buffer(&wgpu::BufferDescriptor {
            label: Some("pixels on their way back"),
            size: length,
            usage: wgpu::BufferUsages::COPY_DST | wgpu::BufferUsages::MAP_READ,
            mapped_at_creation: false,
        })
    });
    let mut encoder = device.create_command_encoder(&wgpu::CommandEncoderDescriptor::default());
    encoder.copy_texture_to_buffer(
        image.texture.as_image_copy(),
        wgpu::TexelCopyBufferInfo {
            buffer: &buffer,
            layout: wgpu::TexelCopyBufferLayout {
                offset: 0,
                bytes_per_row: Some(stride as u32),
                rows_per_image: None,
            },
        },
        size,
    );
    let submission = queue.submit([encoder.finish()]);
    (buffer, stride, submission)
}
