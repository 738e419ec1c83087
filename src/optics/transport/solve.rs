//! The direct solution: reflectance and transmittance of a stack at one band.

use super::scattering::Redistribution;
use super::slab::{Layer, Slab, lambertian};
use super::streams::Streams;
use nalgebra::DMatrix;

/// One homogeneous layer at one band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BandLayer {
    /// Absorption coefficient σa × thickness, ≥ 0.
    pub absorption: f64,
    /// Scattering coefficient σs × thickness, ≥ 0.
    pub scattering: f64,
    /// Mean cosine of the scattering angle g, −1..1.
    pub anisotropy: f64,
    /// Refractive index, ≥ 1.
    pub refractive_index: f64,
}

/// Reflectance of a stack seen from air, per unit of incident flux.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reflectance {
    /// Total for light along the normal, specular included.
    pub normal: f64,
    /// Total for diffuse (Lambertian) light, specular included.
    pub diffuse: f64,
    /// Specular part of `normal`.
    pub specular: f64,
}

/// Reflectance and transmittance of a free stack in air.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FreeSlab {
    /// Reflectance seen from above.
    pub reflectance: Reflectance,
    /// Total transmittance for light along the normal, the unscattered part included.
    pub transmittance_normal: f64,
    /// Total transmittance for diffuse light.
    pub transmittance_diffuse: f64,
}

/// Streams per band at which the direct solution is taken; errors are below 3e-5 against the
/// check tables (`tests/reference`).
pub const STREAMS_PER_BAND: usize = 16;

/// Streams for these layers.
fn streams(layers: &[BandLayer], per_band: usize) -> Streams {
    let indices: Vec<f64> = layers.iter().map(|layer| layer.refractive_index).collect();
    Streams::new(&indices, per_band)
}

fn layer(streams: &Streams, layer: &BandLayer) -> Layer {
    let directions = streams.directions(layer.refractive_index);
    let redistribution = Redistribution::new(&directions, layer.anisotropy, streams.moments);
    Layer::new(&redistribution, layer.absorption, layer.scattering)
}

/// Reflectance of `layers`, the viewer's side first, on a Lambertian backing of reflectance
/// `backing` (0..1) in optical contact with the last one.
///
/// Surfaces between air and the first layer and between layers of different index are smooth.
/// Without a layer the backing is seen in air.
#[must_use]
pub fn over_backing(layers: &[BandLayer], backing: f64, per_band: usize) -> Reflectance {
    let streams = streams(layers, per_band);
    let index = |i: usize| layers.get(i).map_or(1.0, |layer| layer.refractive_index);
    let last = layers.len().saturating_sub(1);
    let mut r = lambertian(&streams.directions(index(last)).root, backing);
    for i in (0..layers.len()).rev() {
        r = Slab::from(layer(&streams, &layers[i])).over(&r);
        let above = if i == 0 { 1.0 } else { index(i - 1) };
        if above != index(i) {
            r = Slab::surface(&streams, above, index(i)).over(&r);
        }
    }
    reflectance(&streams, &r, index(0))
}

/// Reflectance and transmittance of `layers` with air on both sides.
#[must_use]
pub fn free(layers: &[BandLayer], per_band: usize) -> FreeSlab {
    let streams = streams(layers, per_band);
    let mut above = 1.0;
    let mut whole: Option<Slab> = None;
    let mut add = |slab: Slab| {
        whole = Some(match whole.take() {
            None => slab,
            Some(upper) => upper.on(&slab),
        });
    };
    for band in layers {
        if band.refractive_index != above {
            add(Slab::surface(&streams, above, band.refractive_index));
        }
        add(layer(&streams, band).into());
        above = band.refractive_index;
    }
    if above != 1.0 {
        add(Slab::surface(&streams, above, 1.0));
    }
    let first = layers.first().map_or(1.0, |layer| layer.refractive_index);
    let slab = whole.unwrap_or_else(|| Slab::surface(&streams, 1.0, 1.0));
    let (transmittance_normal, transmittance_diffuse) = totals(&streams, &slab.t);
    FreeSlab {
        reflectance: reflectance(&streams, &slab.r_top, first),
        transmittance_normal,
        transmittance_diffuse,
    }
}

/// Total flux out per unit of flux in: along the normal, and diffuse.
fn totals(streams: &Streams, operator: &DMatrix<f64>) -> (f64, f64) {
    let root = streams.directions(1.0).root;
    let normal = streams.normal();
    let out = operator.transpose() * &root;
    (out[normal] / root[normal], root.dot(&out) / root.norm_squared())
}

fn reflectance(streams: &Streams, r: &DMatrix<f64>, first_index: f64) -> Reflectance {
    let (normal, diffuse) = totals(streams, r);
    Reflectance {
        normal,
        diffuse,
        specular: crate::optics::fresnel::normal_reflectance(first_index),
    }
}
