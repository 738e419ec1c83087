//! The two-flux model in vectors of eight bands, single precision: for millions of stacks.
//!
//! The same Kubelka-Munk layers as [`crate::optics::stack`], within 0.001 ΔE00 for tooth
//! materials. A layer of thickness X on a backing Rg is, with q = √(K(K+2S)) and E = e^(-2qX),
//!
//! R = (S(1-E) + Rg(q(1+E) - (K+S)(1-E))) / ((K+S-Rg·S)(1-E) + q(1+E)),
//!
//! which is the usual (1 - Rg(a - b·coth bSX)) / (a - Rg + b·coth bSX) with every fraction cleared:
//! one root, one exponential and one division for each layer and band.
//!
//! # References
//! Kubelka, J Opt Soc Am 1948;38:448-457.

use crate::optics::{Interface, TwoFluxMedium};
use crate::spectrum::BandVectors;
use wide::f32x8;

/// Least absorption, 1/mm, so that q never vanishes.
const LEAST_K: f32 = 1e-8;

/// A two-flux medium, eight bands to a vector.
#[derive(Debug, Clone, PartialEq)]
pub struct TwoFluxVectors {
    k: BandVectors,
    s: BandVectors,
}

/// One layer of a stack of vectors.
#[derive(Debug, Clone, Copy)]
pub struct VectorLayer<'a> {
    /// What it is made of.
    pub medium: &'a TwoFluxVectors,
    /// How thick it is, mm, ≥ 0.
    pub thickness_mm: f64,
}

impl From<&TwoFluxMedium> for TwoFluxVectors {
    fn from(medium: &TwoFluxMedium) -> Self {
        let least = f32x8::splat(LEAST_K);
        Self { k: medium.k.vectors().map(|k| k.max(least)), s: medium.s.vectors() }
    }
}

/// Internal reflectance of `layers` over an opaque `substrate` (internal reflectance, 0..1). Layer 0
/// is the viewer's side.
#[must_use]
#[inline]
pub fn internal_vectors(layers: &[VectorLayer], substrate: &BandVectors) -> BandVectors {
    let two = f32x8::splat(2.0);
    let mut reflectance = *substrate;
    for layer in layers.iter().rev() {
        let path = f32x8::splat(-2.0 * layer.thickness_mm as f32);
        let coefficients = layer.medium.k.iter().zip(&layer.medium.s);
        for ((&k, &s), reflectance) in coefficients.zip(&mut reflectance) {
            let below = *reflectance;
            let q = (k * (k + s + s)).sqrt();
            // 1 - E keeps its digits in thin and clear layers.
            let lost = -(path * q).exp_m1();
            let kept = q * (two - lost);
            let both = (k + s) * lost;
            let back = s * lost;
            *reflectance = (back + below * (kept - both)) / (both + kept - below * back);
        }
    }
    reflectance
}

/// Reflectance of `layers` over `substrate` as seen through `interface`, specular excluded.
#[must_use]
#[inline]
pub fn measured_vectors(
    layers: &[VectorLayer],
    substrate: &BandVectors,
    interface: Interface,
) -> BandVectors {
    let inside = f32x8::splat(interface.k2 as f32);
    let through = f32x8::splat(((1.0 - interface.k1) * (1.0 - interface.k2)) as f32);
    let one = f32x8::splat(1.0);
    internal_vectors(layers, substrate).map(|r| through * r / (one - inside * r))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colorimetry::{Illuminant, Lab, Observer, ciede2000};
    use crate::optics::{Layer, measured_reflectance};
    use crate::spectrum::Spectrum;

    #[test]
    fn vectors_see_what_single_bands_see() {
        // The double-precision engine, which the check tables of Kubelka-Munk layers hold.
        let interface = Interface::between_air_and(1.5);
        let mut worst = 0.0_f64;
        for k0 in [0.0, 1e-4, 0.05, 0.6, 3.0] {
            for s0 in [0.0, 0.2, 2.0, 12.0] {
                let k = Spectrum::from_fn(|nm| k0 * ((550.0 - nm) / 80.0).exp());
                let s = Spectrum::from_fn(|nm| s0 * (nm / 550.0).powf(-1.2));
                let medium = TwoFluxMedium::new(k, s, 1.5).unwrap();
                let vectors = TwoFluxVectors::from(&medium);
                for mm in [0.0, 0.02, 0.3, 1.0, 4.0] {
                    let layer = Layer { medium: &medium, thickness_mm: mm };
                    let lanes = VectorLayer { medium: &vectors, thickness_mm: mm };
                    let backing = Spectrum::constant(0.4);
                    let exact = measured_reflectance(&[layer, layer], &backing, interface);
                    let quick = measured_vectors(&[lanes, lanes], &backing.vectors(), interface);
                    let lab =
                        |r: &Spectrum| Lab::from_reflectance(r, Illuminant::D65, Observer::Cie1931);
                    let off = ciede2000(lab(&exact), lab(&Spectrum::from_vectors(&quick))).de00;
                    assert!(off.is_finite(), "{k0} {s0} {mm}");
                    worst = worst.max(off);
                }
            }
        }
        println!("worst {worst:.6}");
        assert!(worst < 0.001, "{worst}");
    }
}
