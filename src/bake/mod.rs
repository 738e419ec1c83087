//! Case + optics → linear reflectance maps and the truth. No GPU types.
//!
//! Every tooth, natural or restored, goes through the same layered model and the same code path.
//! Optics are solved on a regular grid over the face (`face::Grid`), interpolated to the map, and
//! multiplied by surface detail that a restored tooth shares with its twin. The truth is computed
//! from the finished maps, before a pixel is drawn.
//!
//!
#![doc = include_str!("bake.md")]

mod bake_error;
mod baking;
mod complexion;
pub mod cross_section;
mod detail;
mod estimator;
mod face;
mod judge;
mod lobes;
mod map;
mod margin;
pub mod section;
mod tooth_optics;
mod truth;

pub use bake_error::BakeError;
pub use baking::{bake, within_reach};
pub use detail::detail as surface_detail;
pub use estimator::Estimator;
pub use judge::Judge;
pub use map::{
    BakedScene, BakedTooth, Complexion, Condition, MarginContrast, PictureDifference,
    ReflectanceMap, Truth, ZoneDifference,
};
pub use truth::ZONE_WEIGHTS;
