//! Radiative transfer in plane-parallel layers: adding-doubling over discrete streams.
//!
//! Layers absorb (σ_a), scatter (σ_s, Henyey-Greenstein anisotropy g) and meet at smooth Fresnel
//! surfaces; a Lambertian backing closes the stack.

pub mod modes;
pub mod reduced;
mod scattering;
mod slab;
pub mod solve;
mod streams;

pub use modes::{MODES, Place};
pub use reduced::{InnerLayer, JointReflection, TopLayer};
pub use solve::{BandLayer, FreeSlab, Reflectance, STREAMS_PER_BAND, free, over_backing};
pub use streams::Streams;
