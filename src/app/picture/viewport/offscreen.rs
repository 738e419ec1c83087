//! Drawing without a window.

use crate::anatomy::View;
use crate::app::picture::viewport::ViewportPlugin;
use crate::app::picture::viewport::adapter::renderer_settings;
use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::patches::{MOST_PATCHES, PATCH_MM, patch_centers};
use crate::app::picture::viewport::queue::{
    Patience, PictureDrawn, PictureMissed, PictureQueue, Subject,
};
use crate::app::picture::viewport::request::{DrawTimes, PictureRequest};
use crate::app::picture::viewport::scene::PlantedCue;
use crate::colorimetry::from_display_8bit;
use crate::play::picture::Picture;
use crate::play::smiles::PictureId;
use crate::scene::{Framing, Tooth};
use bevy::app::PluginsState;
use bevy::log::LogPlugin;
use bevy::prelude::*;
use bevy::render::RenderPlugin;
use bevy::render::pipelined_rendering::PipelinedRenderingPlugin;
use bevy::render::renderer::RenderAdapterInfo;
use bevy::render::settings::RenderCreation;
use bevy::tasks::tick_global_task_pools_on_main_thread;
use bevy::window::ExitCondition;
use bevy::winit::WinitPlugin;
use std::sync::Arc;
use std::time::Duration;

/// How long a frame without a window waits for a step of a picture.
const PATIENCE: Duration = Duration::from_millis(50);

/// Bevy with a graphics adapter and without a window or a loop of its own.
///
/// # Errors
/// [`RendererError::NoAdapter`] when there is none.
pub(crate) fn windowless_app() -> Result<App, RendererError> {
    let settings = renderer_settings()?;
    let mut app = App::new();
    app.add_plugins(
        DefaultPlugins
            .set(WindowPlugin {
                primary_window: None,
                exit_condition: ExitCondition::DontExit,
                ..default()
            })
            .set(RenderPlugin {
                render_creation: RenderCreation::from(settings),
                synchronous_pipeline_compilation: true,
                ..default()
            })
            .disable::<WinitPlugin>()
            .disable::<LogPlugin>()
            .disable::<PipelinedRenderingPlugin>(),
    );
    Ok(app)
}

/// Waits until the plugins are there; only then may the app be updated.
pub(crate) fn make_ready(app: &mut App) {
    while app.plugins_state() == PluginsState::Adding {
        tick_global_task_pools_on_main_thread();
    }
    app.finish();
    app.cleanup();
}

/// A flat patch as it came back.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PatchSeen {
    /// The pixel in its middle, sRGB.
    pub middle: [u8; 3],
    /// The mean over the middle quarter of its area, linear sRGB of the 8-bit pixels.
    pub mean: [f64; 3],
}

/// Draws pictures without a window, one call each. Shapes are kept by seed, so a smile's second
/// picture is much faster than its first.
pub struct OffscreenRenderer {
    pub(crate) app: App,
    submitted: u64,
}

impl std::fmt::Debug for OffscreenRenderer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("OffscreenRenderer").finish_non_exhaustive()
    }
}

impl OffscreenRenderer {
    /// Starts a renderer on the best adapter.
    ///
    /// # Errors
    /// [`RendererError::NoAdapter`] when there is none.
    pub fn new() -> Result<Self, RendererError> {
        let mut app = windowless_app()?;
        // There is no display whose frames could be late.
        app.add_plugins(ViewportPlugin).insert_resource(Patience(PATIENCE));
        make_ready(&mut app);
        Ok(Self { app, submitted: 0 })
    }

    /// Draws one picture.
    ///
    /// # Errors
    /// [`RendererError`] when the request is out of range or the adapter fails.
    pub fn render(&mut self, request: &PictureRequest) -> Result<Arc<Picture>, RendererError> {
        let id = self.submit(Subject::Smile(request.clone()));
        self.run_until(id).map(|drawn| drawn.picture)
    }

    /// Draws one picture and tells where the time went.
    ///
    /// # Errors
    /// [`RendererError`] when the request is out of range or the adapter fails.
    pub fn render_timed(
        &mut self,
        request: &PictureRequest,
    ) -> Result<(Arc<Picture>, DrawTimes), RendererError> {
        let id = self.submit(Subject::Smile(request.clone()));
        self.run_until(id).map(|drawn| (drawn.picture, drawn.times))
    }

    /// Draws flat unlit patches of known linear sRGB through the camera and image of every picture,
    /// and returns what comes back: the check that the path adds nothing.
    ///
    /// # Errors
    /// [`RendererError`] when there are too many patches or the adapter fails.
    pub fn render_patches(&mut self, colors: &[[f32; 3]]) -> Result<Vec<PatchSeen>, RendererError> {
        if colors.len() > MOST_PATCHES {
            return Err(RendererError::TooManyPatches(colors.len()));
        }
        let view = View::of(Framing::Retracted, 640, 360);
        let subject = Subject::Patches { view, colors: colors.to_vec() };
        let id = self.submit(subject);
        let picture = self.run_until(id)?.picture;
        let code = |x: usize, y: usize| {
            let index = 4 * (y * picture.width as usize + x);
            [0, 1, 2].map(|channel| picture.rgba[index + channel])
        };
        let seen = |center: [f32; 3]| {
            let [x, y, _] = view.project(center).map(|place| place as usize);
            let [right, ..] = view.project([center[0] + PATCH_MM / 4.0, center[1], center[2]]);
            let half = right as usize - x;
            let (mut sum, mut count) = ([0.0; 3], 0.0);
            for place in (0..4 * half * half).map(|k| (k % (2 * half), k / (2 * half))) {
                let linear = from_display_8bit(code(x - half + place.0, y - half + place.1));
                for channel in 0..3 {
                    sum[channel] += linear[channel];
                }
                count += 1.0;
            }
            PatchSeen { middle: code(x, y), mean: sum.map(|total| total / count) }
        };
        Ok(patch_centers(colors.len()).map(seen).collect())
    }

    /// Multiplies the roughness of these teeth in the pictures drawn from now on; an empty slice
    /// ends it. Only for the test that looks for signs other than colour: it must notice this one.
    pub fn plant_roughness(&mut self, teeth: &[Tooth], factor: f32) {
        let cue = PlantedCue { teeth: teeth.to_vec(), roughness_factor: factor };
        self.app.insert_resource(cue);
    }

    /// The adapter in words: name, kind, interface, driver.
    #[must_use]
    pub fn adapter(&self) -> String {
        let info = self.app.world().resource::<RenderAdapterInfo>();
        let words = format!(
            "{} ({:?}, {}) {} {}",
            info.name, info.device_type, info.backend, info.driver, info.driver_info
        );
        words.trim_end().to_owned()
    }

    pub(crate) fn submit(&mut self, subject: Subject) -> PictureId {
        self.submitted += 1;
        let id = PictureId(self.submitted);
        self.app.world_mut().resource_mut::<PictureQueue>().push(id, subject);
        id
    }

    pub(crate) fn run_until(&mut self, id: PictureId) -> Result<PictureDrawn, RendererError> {
        loop {
            self.app.update();
            let world = self.app.world_mut();
            let mut drawn = world.resource_mut::<Messages<PictureDrawn>>();
            if let Some(drawn) = drawn.drain().find(|drawn| drawn.id == id) {
                return Ok(drawn);
            }
            let mut missed = world.resource_mut::<Messages<PictureMissed>>();
            if let Some(missed) = missed.drain().find(|missed| missed.id == id) {
                return Err(missed.error);
            }
            // While shapes are being built there is nothing to draw.
            std::thread::sleep(Duration::from_millis(2));
        }
    }
}
