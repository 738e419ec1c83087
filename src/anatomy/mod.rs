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
//!
//! # What is shared, and what is staged
//! [`Person`] is what the teeth of one seed share: size, form, crowding, wear, arch. Every framing
//! turns the mouth, not the light: the viewer is always at +z, so that highlights, the normal clamp
//! and the visibility bake need one case only. In soft tissue the light that reaches a vertex is
//! blurred further in red than in blue.
//!
//! In the retracted view two plain clear retractors hold the cheeks; they let 0.8 of the light
//! through, so that premolars stay readable. The lower arch stands 4.4 mm behind the upper one and
//! gets 0.78 of the light and less further back, whatever the condition; in conversation it is
//! built only where the lip bares it. Chewing surfaces are the highest of rounded cones and
//! marginal walls, so fissures run where two meet; they take their colour from the neck's rows of
//! the tooth's own map.
//!
//! The studio light makes a tooth's body up to 3 L* lighter or darker than its map, the same for
//! every condition. Scores use the maps.

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
