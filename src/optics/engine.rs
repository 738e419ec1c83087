//! One description of a stack, two engines.
//!
//! # How far two-flux is from radiative transfer
//! ΔE00 (D65) of two-flux against radiative transfer, ceramic of shade L76 C15 h90 in contact with
//! the prepared teeth that ship. Fit a takes K and S from the ceramic's own reflectance over black
//! and white at 1.0 mm, fit b from [`Medium::two_flux`](crate::optics::Medium::two_flux).
//! `SECOND_GLANCE_BLESS=1 cargo test --no-default-features --test core two_flux_table` writes the
//! table anew; without it the test compares what is written with what the code computes.
#![doc = include_str!("two_flux_table.md")]

use crate::optics::transport::{Base, Tables, tabulated_reflectance};
use crate::optics::{Interface, Layer, TwoFluxMedium, measured_reflectance};
use crate::spectrum::Spectrum;

/// What computes the reflectance of a stack.
#[derive(Debug, Clone, Copy)]
pub enum Engine<'a> {
    /// Two fluxes (Kubelka-Munk), coefficients by [`crate::optics::Medium::two_flux`], surface by
    /// Saunderson.
    TwoFlux,
    /// Radiative transfer by tables.
    RadiativeTransfer {
        /// The tables.
        tables: &'a Tables,
        /// Refractive index at which the layers meet, ≥ 1.
        joint: f64,
    },
}

impl Engine<'_> {
    /// Measured reflectance, specular excluded, of `layers` (the viewer's side first) on an opaque
    /// Lambertian `backing` in optical contact (internal reflectance, 0..1).
    ///
    /// No layer gives the backing as it is. Two-flux ignores the surfaces between layers; the tables
    /// have all layers meet at the joint.
    #[must_use]
    pub fn reflectance(&self, layers: &[Layer], backing: &Spectrum) -> Spectrum {
        match *self {
            Self::RadiativeTransfer { tables, joint } => {
                tabulated_reflectance(tables, layers, Base::Backing(backing), joint)
            }
            Self::TwoFlux => {
                let Some(top) = layers.first() else { return *backing };
                let media: Vec<TwoFluxMedium> =
                    layers.iter().map(|layer| layer.medium.two_flux()).collect();
                let seen: Vec<Layer<TwoFluxMedium>> = media
                    .iter()
                    .zip(layers)
                    .map(|(medium, layer)| Layer { medium, thickness_mm: layer.thickness_mm })
                    .collect();
                let surface = Interface::between_air_and(top.medium.refractive_index);
                measured_reflectance(&seen, backing, surface)
            }
        }
    }
}
