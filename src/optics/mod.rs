//! Layered optics: Fresnel interfaces, Kubelka-Munk layers, stacks, inversion and design.
//!
//! Reflectances are *internal* (seen from inside the material, no surface) unless a name says
//! `measured`; [`Interface`] leads from one to the other. Layer 0 of a stack is the viewer's side.
//! `k` and `s` are Kubelka-Munk absorption and scattering in 1/mm, thicknesses are in mm, and
//! everything is `f64`.

pub mod design;
mod design_error;
pub mod engine;
pub mod explain;
pub mod fresnel;
pub mod inverse;
pub mod kubelka_munk;
pub(crate) mod least_squares;
pub mod look;
pub mod medium;
pub mod saunderson;
pub mod search;
mod sensitivity;
pub mod shape;
pub mod stack;
pub mod translucency;
pub mod transport;
pub mod two_flux;

pub use design::{Design, DesignTarget, TranslucencyTarget};
pub use design_error::DesignError;
pub use engine::Engine;
pub use kubelka_munk::{LayerOptics, Slab};
pub use look::Look;
pub use medium::{
    Medium, MediumError, TwoFluxMedium, absorption_for, log_linear_absorption, power_law_scattering,
};
pub use saunderson::Interface;
pub use shape::ReflectanceShape;
pub use stack::{
    FreeStack, Layer, behind_air_gap, free_stack, internal_reflectance, measured_reflectance,
};
pub use translucency::{MeasuredTranslucency, measured_translucency, translucency_by};
