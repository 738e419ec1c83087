//! The picture of a smile: a baked scene drawn off screen and read back.
//!
//! The whole program works through pictures: exposure, mask, blink and debrief show them, the
//! command line saves them. The same scene code serves the windowed app ([`ViewportPlugin`]) and
//! the window-less renderer ([`OffscreenRenderer`]).
//!
//! # What the graphics adapter may do to colour
//! Nothing of its own. Tone mapping is off, exposure is 1, the only light is an environment map. The
//! picture comes back in half floats and is dithered to 8 bit here, every pixel by its place alone. Under [`Lighting::Matt`] the surroundings are uniformly white and the surfaces
//! have no gloss and no occlusion: a matt surface then returns exactly its reflectance, whichever
//! way it faces. Under [`Lighting::Studio`] relief, gloss and occlusion are functions of the seed
//! alone, so restored and twin share them.
//!
//! Every tooth and both conditions are dithered alike (`encode`). `Picture::difference_to` measures
//! what the 8-bit pixels show of the difference, and results keep it beside the intended one. Tests
//! in `tests/app` hold this: flat patches come back within one code through the picture's camera,
//! patches of colours between codes on average within 0.1 ΔE00, and pictures reach the window
//! within one code through the window's; a matt tooth in even light shows its baked colour within
//! 0.3 ΔE00; under the studio light restored and twin differ only on the restored tooth (one pixel
//! around it), by 0.75 to 1.15 of the baked difference (gloss adds the same light to both and so
//! shrinks it; a stated band, not a calibration).
//!
//! # Nothing but colour
//! `tests/app/picture/shortcuts` draws over 200 pairs of a tooth restored and natural, makes their
//! mean colours equal, and lets a logistic regression, cross-validated by patient, tell them apart
//! by fine-scale edges, gradients, highlights, local contrast and silhouette. Its AUC must stay at
//! 0.55 or less, and must exceed 0.6 when restorations get 1.1 times the roughness (last run, 204
//! pairs: 0.526 and 0.625). Features that compare a pixel with the whole tooth do find restorations
//! (AUC 0.72 for a highlight mask above the tooth's median): colour runs differently from neck to
//! edge. That is colour, and is left out on purpose.
//!
//! # Why
//! - **Pictures, not live scenes.** A smile is rendered to a picture and read back, and the screens
//!   show pictures. So an exposure costs nothing to hold, the mask has exactly the picture's
//!   histogram, the achieved difference can be read from the pixels shown, and the same code runs
//!   in a window, offscreen and in tests.
//! - **Shapes come from [`anatomy`](crate::anatomy)**: crowns, gum, lips where the framing has
//!   them, and the light that reaches every vertex. The camera draws half floats in linear light
//!   with exact colours.

pub mod adapter;
pub mod camera;
pub mod encode;
pub mod light;
pub mod material;
pub mod offscreen;
pub mod pixels;
pub mod readback;
pub mod scene;
pub mod timing;

pub use adapter::renderer_settings;
pub use offscreen::{OffscreenRenderer, PatchSeen, RendererError};
pub use readback::{Patience, PictureFailed, PictureQueue, PictureReady};

use crate::bake::{BakedScene, Condition};
use bevy::prelude::*;
use std::sync::Arc;
use std::time::Duration;

/// How a smile is lit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Lighting {
    /// Soft boxes, gloss, occlusion: what a learner sees.
    Studio,
    /// Uniform white surroundings, no gloss, no occlusion: a surface shows its reflectance.
    Matt,
}

/// A picture to be drawn.
#[derive(Debug, Clone)]
pub struct PictureRequest {
    /// The smile.
    pub scene: Arc<BakedScene>,
    /// Restored, or the natural twin.
    pub condition: Condition,
    /// Width, pixels.
    pub width: u32,
    /// Height, pixels.
    pub height: u32,
    /// The light.
    pub lighting: Lighting,
}

/// Names a submitted picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PictureId(pub u64);

/// Where the time of one picture went. Nothing is spent on what earlier pictures left behind.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct DrawTimes {
    /// Shapes, relief and the light that reaches every vertex.
    pub shape: Duration,
    /// What each pixel shows, and outlines.
    pub framing: Duration,
    /// Colours of gum, lips, skin and cavity.
    pub tissue: Duration,
    /// Maps of the teeth as images.
    pub maps: Duration,
    /// Vertices and relief as meshes and images.
    pub meshes: Duration,
    /// Upload, drawing and reading back: from the frame in which the scene stands until its pixels
    /// are there.
    pub adapter: Duration,
    /// Dither to 8 bit, colours of the teeth.
    pub finish: Duration,
}

impl DrawTimes {
    /// All of it, without waiting for the queue and for frames to begin.
    #[must_use]
    pub fn total(&self) -> Duration {
        let Self { shape, framing, tissue, maps, meshes, adapter, finish } = *self;
        shape + framing + tissue + maps + meshes + adapter + finish
    }
}

/// Draws pictures off screen inside a Bevy app.
///
/// Submit requests to [`PictureQueue`]; a few frames later a [`PictureReady`] or [`PictureFailed`]
/// message follows. Shapes are built on a task pool and kept by seed; pictures are drawn one after
/// another on cameras of their own, which are inactive except in the frame that draws.
#[derive(Debug, Clone, Copy, Default)]
pub struct ViewportPlugin;

/// Marks the camera of a window. Where pictures should follow a control at once, the frame that draws
/// one leaves the window as it is, so that it need not wait for the display.
#[derive(Component, Debug, Clone, Copy, Default)]
pub struct WindowCamera;

/// The viewport's systems, all in `Update`.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ViewportSystems;

/// The step that begins the next picture: what is submitted before it begins in the same frame.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ViewportBegins;

impl Plugin for ViewportPlugin {
    fn build(&self, app: &mut App) {
        app.add_plugins((light::plugin, scene::plugin, readback::plugin));
    }
}
