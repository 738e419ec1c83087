//! A picture asked for, and where its time went.

use crate::bake::{BakedScene, Condition};
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
