//! Radiative transfer in plane-parallel layers: adding-doubling over discrete streams.
//!
//! Layers absorb (σa), scatter (σs, Henyey-Greenstein anisotropy g) and meet at smooth Fresnel
//! surfaces; a Lambertian backing closes the stack.
//!
//! # How the tables work
//! With n and g fixed, a layer is two numbers, σs′·x and σa·x, so one bicubic table (36 × 24 nodes)
//! serves every band, thickness and shade of a class ([`table`]). Where layers meet, light is
//! carried by three orthonormal polynomials in cos θ ([`mod@modes`]), which loses about 1e-5 of
//! reflectance. Layers meet at a joint index: [`DENTIN_JOINT`] (1.54) in natural teeth,
//! [`CEMENT_JOINT`] (1.52) in restored ones. The tables that ship, and those solved on demand, are
//! kept by [`tables`].

mod cache;
mod codec;
pub mod inverse;
pub mod modes;
pub mod reduced;
pub mod sampled;
mod scattering;
pub mod series;
mod slab;
pub mod solve;
mod streams;
pub mod table;
pub mod tables;

pub use cache::{CacheWarning, Origin};
pub use modes::{MODES, Place, SALIVA_INDEX};
pub use reduced::{InnerLayer, JointReflection, TopLayer};
pub use sampled::{
    Base, CEMENT_JOINT, DENTIN_JOINT, SampledMedium, ThicknessTable, joint_reflection,
    tabulated_reflectance,
};
pub use series::{Series, Step, layer_vectors};
pub use solve::{BandLayer, FreeSlab, Reflectance, STREAMS_PER_BAND, free, over_backing};
pub use streams::Streams;
pub use table::{Depth, Situation, Table};
pub use tables::Tables;
