//! How long frames take on the adapter at hand, without a window.

use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::offscreen::OffscreenRenderer;
use crate::app::picture::viewport::queue::{PictureMissed, Subject};
use crate::app::picture::viewport::readback::Drawing;
use crate::app::picture::viewport::request::PictureRequest;
use crate::play::picture::Picture;
use bevy::asset::RenderAssetUsages;
use bevy::camera::{ImageRenderTarget, RenderTarget};
use bevy::core_pipeline::tonemapping::{DebandDither, Tonemapping};
use bevy::prelude::*;
use bevy::render::render_resource::{Extent3d, TextureDimension, TextureFormat};
use bevy::render::renderer::RenderDevice;
use std::time::{Duration, Instant};

/// Frames drawn before times count.
const WARM_UP: u32 = 12;

impl OffscreenRenderer {
    /// Shows a finished picture on a surface of its own size, as the window does while the learner
    /// looks, and returns how long each of `count` frames took, from the end of one on the adapter
    /// to the end of the next.
    pub fn time_shown(&mut self, picture: &Picture, count: u32) -> Vec<Duration> {
        let (width, height) = (picture.width, picture.height);
        let format = TextureFormat::Rgba8UnormSrgb;
        let world = self.app.world_mut();
        let mut images = world.resource_mut::<Assets<Image>>();
        let target = images.add(Image::new_target_texture(width, height, format, None));
        let image = images.add(Image::new(
            Extent3d { width, height, depth_or_array_layers: 1 },
            TextureDimension::D2,
            picture.rgba.clone(),
            format,
            RenderAssetUsages::RENDER_WORLD,
        ));
        let camera = (
            Camera2d,
            RenderTarget::Image(ImageRenderTarget { handle: target.clone(), scale_factor: 1.0 }),
            Tonemapping::None,
            DebandDither::Disabled,
            Msaa::Off,
        );
        let spawned = [world.spawn(camera).id(), world.spawn(Sprite::from_image(image)).id()];
        let mut times: Vec<Duration> = (0..count + WARM_UP).map(|_| self.time_frame()).collect();
        for entity in spawned {
            self.app.world_mut().despawn(entity);
        }
        self.app.world_mut().resource_mut::<Assets<Image>>().remove(&target);
        times.split_off(WARM_UP as usize)
    }

    /// Draws one picture over and over and returns how long each of `count` frames took, from the
    /// end of one on the adapter to the end of the next.
    ///
    /// # Errors
    /// [`RendererError`] when the request is out of range or the adapter fails.
    pub fn time_frames(
        &mut self,
        request: &PictureRequest,
        count: u32,
    ) -> Result<Vec<Duration>, RendererError> {
        let subject = Subject::Held(request.clone(), count + WARM_UP);
        let id = self.submit(subject);
        let mut times = Vec::new();
        // A request that is refused never gets as far as being held.
        while self.app.world().resource::<Drawing>().held() == 0 {
            self.app.update();
            let missed = self.app.world().resource::<Messages<PictureMissed>>();
            if let Some(missed) = missed.iter_current_update_messages().find(|m| m.id == id) {
                return Err(missed.error.clone());
            }
        }
        while self.app.world().resource::<Drawing>().held() > 1 {
            times.push(self.time_frame());
        }
        self.run_until(id)?;
        let spare = times.len().saturating_sub(count as usize);
        Ok(times.split_off(spare))
    }

    fn time_frame(&mut self) -> Duration {
        let start = Instant::now();
        self.app.update();
        let device = self.app.world().resource::<RenderDevice>();
        // An adapter that is lost shows when a picture is read.
        let _ = device.poll(wgpu::PollType::wait_indefinitely());
        start.elapsed()
    }
}
