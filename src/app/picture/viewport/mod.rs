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
pub mod error;
mod finish;
pub mod light;
pub mod material;
pub mod offscreen;
pub mod order;
pub mod patches;
pub mod pixels;
pub mod prepared;
pub mod queue;
pub mod readback;
pub mod request;
pub mod scene;
pub mod shelf;
pub mod timing;

pub use adapter::renderer_settings;
pub use error::RendererError;
pub use offscreen::{OffscreenRenderer, PatchSeen};
pub use order::{ViewportBegins, ViewportSystems, WindowCamera};
pub use queue::{Patience, PictureDrawn, PictureMissed, PictureQueue};
pub use request::{DrawTimes, Lighting, PictureRequest};

use bevy::prelude::*;

/// Draws pictures off screen inside a Bevy app.
///
/// Submit requests to [`PictureQueue`]; a few frames later a [`PictureDrawn`] or [`PictureMissed`]
/// message follows. Shapes are built on a task pool and kept by seed; pictures are drawn one after
/// another on cameras of their own, which are inactive except in the frame that draws.
#[derive(Debug, Clone, Copy, Default)]
pub struct ViewportPlugin;

impl Plugin for ViewportPlugin {
    fn build(&self, app: &mut App) {
        app.add_plugins((light::plugin, scene::plugin, readback::plugin));
    }
}
