//! Stacks of Kubelka-Munk layers over a substrate. Layer 0 is the viewer's side.

use crate::optics::fresnel;
use crate::optics::kubelka_munk::{self, Slab};
use crate::optics::{Interface, Medium, TwoFluxMedium};
use crate::spectrum::{N_BANDS, Spectrum};

/// One layer of a stack. Both engines read the same description; the two-flux functions here take
/// layers of [`TwoFluxMedium`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer<'a, M = Medium> {
    /// What it is made of.
    pub medium: &'a M,
    /// How thick it is, mm, ≥ 0.
    pub thickness_mm: f64,
}

/// A free-standing stack, nothing behind it. Internal quantities, 0..1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreeStack {
    /// Reflectance seen from the viewer's side.
    pub r_top: Spectrum,
    /// Reflectance seen from the back.
    pub r_bottom: Spectrum,
    /// Transmittance, the same both ways.
    pub t: Spectrum,
}

/// Internal reflectance of `layers` over an opaque `substrate` (internal reflectance, 0..1).
///
/// No layer gives the substrate itself. Interfaces between layers are ignored: between tooth,
/// ceramic and cement they reflect below 0.1 %. Costs one exponential per band and layer and
/// allocates nothing.
#[must_use]
pub fn internal_reflectance(layers: &[Layer<TwoFluxMedium>], substrate: &Spectrum) -> Spectrum {
    let mut reflectance = *substrate.bands();
    for layer in layers.iter().rev() {
        let (k, s) = (layer.medium.k.bands(), layer.medium.s.bands());
        for band in 0..N_BANDS {
            reflectance[band] =
                kubelka_munk::layer_over(k[band], s[band], layer.thickness_mm, reflectance[band]);
        }
    }
    Spectrum::from_bands(reflectance)
}

/// Reflectance of `layers` over `substrate` as seen through `interface`, specular excluded.
///
/// `substrate` is an internal reflectance, 0..1: that of a backing in optical contact.
#[must_use]
pub fn measured_reflectance(
    layers: &[Layer<TwoFluxMedium>],
    substrate: &Spectrum,
    interface: Interface,
) -> Spectrum {
    internal_reflectance(layers, substrate).map(|r| interface.excluded(r))
}

/// Reflectances and transmittance of `layers` with nothing behind them.
///
/// No layer gives a clear slab.
#[must_use]
pub fn free_stack(layers: &[Layer<TwoFluxMedium>]) -> FreeStack {
    let slabs: [Slab; N_BANDS] = std::array::from_fn(|band| {
        layers.iter().fold(Slab::CLEAR, |above, layer| {
            let (k, s) = (layer.medium.k[band], layer.medium.s[band]);
            above.on(kubelka_munk::layer(k, s, layer.thickness_mm).into())
        })
    });
    FreeStack {
        r_top: Spectrum::from_bands(slabs.map(|slab| slab.r_top)),
        r_bottom: Spectrum::from_bands(slabs.map(|slab| slab.r_bottom)),
        t: Spectrum::from_bands(slabs.map(|slab| slab.t)),
    }
}

/// Internal reflectance of a backing that is *not* in optical contact: seen from inside refractive
/// index `n` through a smooth surface and an air gap.
///
/// r2 + (1-r2)(1-r1)Rg/(1 - r1·Rg) with r2 the internal and r1 the external diffuse Fresnel
/// reflectance. `backing` is the reflectance of the backing in air, 0..1.
#[must_use]
pub fn behind_air_gap(backing: &Spectrum, n: f64) -> Spectrum {
    let outside = fresnel::external_diffuse(n);
    let inside = fresnel::internal_diffuse(n);
    backing.map(|r| inside + (1.0 - inside) * (1.0 - outside) * r / (1.0 - outside * r))
}
