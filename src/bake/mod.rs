//! Case + optics → linear reflectance maps and the truth. No GPU types.

mod map;

pub use map::{BakedScene, BakedTooth, Condition, ReflectanceMap, Truth, ZoneDifference};
