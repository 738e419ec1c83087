//! Why a picture could not be drawn.

use crate::app::picture::viewport::patches::MOST_PATCHES;
use crate::scene::Tooth;
use thiserror::Error;

/// Why a picture could not be drawn.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum RendererError {
    /// No usable graphics adapter.
    #[error(
        "no graphics adapter found (tried {tried}). On Debian or Ubuntu a software adapter comes \
         with: apt-get install libvulkan1 mesa-vulkan-drivers (or, for OpenGL: libegl1 \
         libgl1-mesa-dri)"
    )]
    NoAdapter {
        /// Backends tried, in words.
        tried: String,
    },
    /// The adapter gives nothing to draw with.
    #[error("the graphics adapter cannot be used: {0}")]
    Device(String),
    /// A picture edge out of range.
    #[error("a picture of {width}×{height} pixels: each edge must be 16 to 8192")]
    PictureSize {
        /// Width asked for, pixels.
        width: u32,
        /// Height asked for, pixels.
        height: u32,
    },
    /// A reflectance map whose size and data do not agree.
    #[error("the map of tooth {tooth} is {width}×{height} but has {texels} texels")]
    MapSize {
        /// Which tooth.
        tooth: Tooth,
        /// Columns.
        width: usize,
        /// Rows.
        height: usize,
        /// Texels given.
        texels: usize,
    },
    /// More patches than fit.
    #[error("{0} patches do not fit a frame; the most is {MOST_PATCHES}")]
    TooManyPatches(usize),
    /// The adapter never drew the whole scene.
    #[error("the adapter did not draw the whole smile within {frames} frames")]
    Incomplete {
        /// Frames waited.
        frames: u32,
    },
    /// No pixels came back.
    #[error("no pixels came back within {frames} frames")]
    NoPixels {
        /// Frames waited.
        frames: u32,
    },
}
