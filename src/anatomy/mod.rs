//! Shapes of the smile: crowns, arch and gum as plain vertices, and what light reaches them.
//!
//! Everything here is a function of a seed. Nothing here knows a tooth's colour, so the restored
//! tooth and its twin share every vertex, normal, highlight and shadow; colour enters only later,
//! from the baked reflectance maps. No GPU types.
//!
//! # Conventions
//! Millimetres. x points to the viewer's right, y up, z toward the viewer; the central incisal
//! edges lie near y = 0 and the labial height of contour of the centrals near z = 0. Along a crown,
//! `v` is 0 at the neck and 1 at the incisal edge; across it, `u` is −1 on the viewer's left flank
//! and 1 on the right. Shapes are made in `f32`, the precision they are drawn in.

mod arch;
mod coverage;
mod crown;
mod face;
mod gum;
mod kind;
mod kind_shape;
mod light;
mod margin;
mod noise;
mod occlusal;
mod outline;
mod raster;
mod relief;
mod retractor;
mod skin;
mod smile;
mod surface;
mod view;
mod visibility;

pub use arch::{ArchCurve, Placement};
pub use crown::Crown;
pub use gum::Gum;
pub use kind::{Individual, Jaw, Person};
pub use kind_shape::KindShape;
pub use light::{STUDIO_FACING_IRRADIANCE, StudioLight};
pub use outline::trace_outline;
pub use raster::{Coverage, Covered};
pub use relief::{ByteMap, NormalMap, TintMap};
pub use smile::{Part, Pigment, Smile};
pub use surface::Surface;
pub use view::View;
