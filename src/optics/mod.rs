//! Layered optics: Fresnel interfaces, Kubelka-Munk layers, stacks, inversion and design.
//!
//! Reflectances are *internal* (seen from inside the material, no surface) unless a name says
//! `measured`; [`Interface`] leads from one to the other. Layer 0 of a stack is the viewer's side.
//! `k` and `s` are Kubelka-Munk absorption and scattering in 1/mm, thicknesses are in mm, and
//! everything is `f64`.
//!
//! # Two engines
//! A stack is a list of [`Layer`] on a base. [`Medium`] holds what radiative transfer needs (σa,
//! σs′, g, n); [`Medium::two_flux`] is how Kubelka-Munk sees it (K = 2σa, S = ¾σs′ - ¼σa).
//! [`Engine`] gives a stack's reflectance by tables of radiative transfer or by two fluxes; how far
//! these lie apart is tabulated in [`engine`].
//!
//! | engine | where | used for | error |
//! |---|---|---|---|
//! | direct radiative transfer, adding-doubling | [`transport::free`], [`transport::over_backing`] | truth behind the tables, tests | below 3e-5 against the check tables (16 streams a band) |
//! | tables of radiative transfer | [`transport::Tables`], [`transport::tabulated_reflectance`] | every colour: bake, materials, inverse, explain | worst of 48 random stacks 0.017 ΔE00 against the direct solution (limit 0.02) |
//! | the same, written out | [`transport::Series`] (one medium over its thickness, eight bands a vector), [`search`] (every ceramic on every cement in every thickness) | the face of a tooth, thousands of choices | below 0.01 ΔE00 against the tables (0.0009 over four faces) |
//! | two-flux | [`stack`], [`kubelka_munk`]; [`two_flux`] in vectors | teaching, starting values | ΔE00 1-2.5 away from the thickness it was fitted at, up to 5 under zirconia |
//!
//! # How long it takes
//! Release, two shared cores, medians; one core unless said (`cargo bench --no-default-features`):
//!
//! | what | time |
//! |---|---|
//! | three layers, 81 bands, two-flux | 5.2 µs; in vectors 1.45 µs |
//! | the same by tables | 38 µs; with media written out 3.8 µs; base known ([`transport::ThicknessTable`]) 0.072 µs |
//! | the same directly, one band | 4.7 ms |
//! | 10,368 stacks (3 classes × 3 translucencies × 16 shades × 6 cements × 12 thicknesses) to ΔE00, media known ([`search`]) | 8.6 ms on two cores, 11 ms on one |
//! | read the shipped tables | 0.4 ms; 0.5 MB in memory |
//!
//! `python3 tests/bench/against_numpy.py` works the same stacks through numpy and colour-science in
//! an environment of their own, one core against one core, and compares the colours: two-flux in
//! vectors 7.6 times as fast, tables of radiative transfer 10.6 times (1.4 and 1.0 µs against 10.8
//! µs a stack).
//!
//! # Why
//! - **Own Newton steps.** Designs use `least_squares`, a small Levenberg-Marquardt on nalgebra
//!   with analytic slopes for materials: thousands of designs of four unknowns, no allocation. The
//!   dentin of a tooth is solved with it too, with slopes by differences.

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
