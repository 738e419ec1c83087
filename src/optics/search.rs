//! Colours of every ceramic on every cement in every thickness over one prepared tooth.
//!
//! The quick way through thousands of choices: what a ceramic is at a thickness and what a cement is
//! on the tooth are each looked up once, and a choice costs only their meeting.

use crate::colorimetry::{Illuminant, Lab, Observer, display_linear_of_vectors};
use crate::optics::Medium;
use crate::optics::transport::{
    CEMENT_JOINT, InnerLayer, JointReflection, Tables, TopLayer, layer_vectors,
};
use crate::spectrum::{LANES, N_BANDS, N_SAMPLES, SAMPLE_VECTORS, SampleVectors, sampled_band};
use rayon::prelude::*;
use wide::f32x8;

/// What to choose from.
#[derive(Debug, Clone, Copy)]
pub struct Choices<'a> {
    /// Ceramics: classes, translucencies and shades.
    pub ceramics: &'a [Medium],
    /// Ceramic thicknesses, mm.
    pub thicknesses_mm: &'a [f64],
    /// Cements.
    pub cements: &'a [Medium],
    /// Thickness of the cement film, mm.
    pub film_mm: f64,
}

/// Colours of choices, as shown on the display.
#[derive(Debug, Clone, PartialEq)]
pub struct Colours {
    labs: Vec<Lab>,
    cements: usize,
    thicknesses: usize,
}

impl Colours {
    /// The colour of a choice, by the positions of its parts in [`Choices`].
    ///
    /// # Panics
    /// When a position is out of range.
    #[must_use]
    pub fn of(&self, ceramic: usize, cement: usize, thickness: usize) -> Lab {
        assert!(cement < self.cements && thickness < self.thicknesses, "position out of range");
        self.labs[(ceramic * self.cements + cement) * self.thicknesses + thickness]
    }

    /// All colours: ceramics outermost, thicknesses innermost.
    #[must_use]
    pub fn all(&self) -> &[Lab] {
        &self.labs
    }
}

/// Computes the colour of every choice over what the prepared tooth reflects at the cement's joint
/// (see [`joint_reflection`](crate::optics::transport::joint_reflection)), on all threads.
///
/// Works on the samples of smooth spectra in single precision: within 0.01 ΔE00 of
/// [`tabulated_reflectance`](crate::optics::transport::tabulated_reflectance).
#[must_use]
pub fn colours(
    tables: &Tables,
    choices: &Choices,
    tooth: &[JointReflection; N_BANDS],
    (illuminant, observer): (Illuminant, Observer),
) -> Colours {
    let tooth: [JointReflection<f32x8>; SAMPLE_VECTORS] = std::array::from_fn(|v| {
        JointReflection::from_lanes(std::array::from_fn(|i| {
            tooth[sampled_band((v * LANES + i).min(N_SAMPLES - 1))]
        }))
    });
    let samples =
        |medium: &Medium| (medium.reduced_scattering.samples(), medium.absorption.samples());
    let bases: Vec<[JointReflection<f32x8>; SAMPLE_VECTORS]> = choices
        .cements
        .iter()
        .map(|cement| {
            let table = tables.inner(cement.refractive_index, cement.anisotropy, CEMENT_JOINT);
            let (s, a) = samples(cement);
            let film: [_; SAMPLE_VECTORS] =
                layer_vectors(&table, &s, &a, choices.film_mm).map(InnerLayer);
            std::array::from_fn(|v| tooth[v].under(&film[v]))
        })
        .collect();
    let labs = choices
        .ceramics
        .par_iter()
        .flat_map_iter(|ceramic| {
            let table = tables.top(ceramic.refractive_index, ceramic.anisotropy, CEMENT_JOINT);
            let (s, a) = samples(ceramic);
            let fronts: Vec<[TopLayer<f32x8>; SAMPLE_VECTORS]> = choices
                .thicknesses_mm
                .iter()
                .map(|&mm| layer_vectors(&table, &s, &a, mm).map(TopLayer))
                .collect();
            bases
                .iter()
                .flat_map(|base| {
                    fronts.iter().map(|front| {
                        let seen: SampleVectors = std::array::from_fn(|v| front[v].over(&base[v]));
                        let linear = display_linear_of_vectors(&seen, illuminant, observer);
                        Lab::from_linear_srgb(linear)
                    })
                })
                .collect::<Vec<_>>()
        })
        .collect();
    Colours { labs, cements: choices.cements.len(), thicknesses: choices.thicknesses_mm.len() }
}
