//! One medium at one place over its thickness, eight bands at a time.
//!
//! A [`Table`] serves every medium of a class and needs two logarithms and sixteen nodes a band. Where
//! one medium is looked up at many thicknesses, as over the face of a tooth, its numbers are
//! written out once at regular steps of ln(x + x₀); then one logarithm and four nodes serve all
//! bands, and no band's nodes are apart from its neighbour's.
//!
//! Single precision: about 1e-6 of reflectance.

use super::modes::{BACK, INNER, TOP};
use super::reduced::{InnerLayer, JointReflection, TopLayer};
use super::table::{Depth, Table};
use crate::spectrum::LANES;
use wide::f32x8;

/// Thickness below which steps are even, mm: the order of a transport length of the most strongly
/// scattering ceramics.
const X_0: f64 = 0.1;
/// Distance between nodes in ln(x + x₀).
const STEP: f64 = 0.1;

/// `K` numbers of a layer over its thickness, at `V` vectors of bands.
#[derive(Debug, Clone, PartialEq)]
pub struct Series<const K: usize, const V: usize> {
    /// From one step below thickness 0.
    nodes: Vec<[[f32x8; K]; V]>,
}

/// The numbers of a layer `mm` thick at every vector. `reduced_scattering` and `absorption` are σs′
/// and σa in 1/mm at the same bands; bands beyond their end repeat the last one.
///
/// # Panics
/// When either is empty.
#[must_use]
pub fn layer_vectors<const K: usize, const V: usize>(
    table: &Table<K>,
    reduced_scattering: &[f64],
    absorption: &[f64],
    mm: f64,
) -> [[f32x8; K]; V] {
    let last = reduced_scattering.len().min(absorption.len()) - 1;
    let mut lanes = [[[0.0_f32; LANES]; K]; V];
    for band in 0..V * LANES {
        let from = band.min(last);
        let depth = Depth::new(reduced_scattering[from] * mm, absorption[from] * mm);
        for (k, number) in table.single(&depth).into_iter().enumerate() {
            lanes[band / LANES][k][band % LANES] = number;
        }
    }
    lanes.map(|vector| vector.map(f32x8::from))
}

/// A thickness between nodes: the first of four, and their weights.
#[derive(Debug, Clone, Copy)]
pub struct Step {
    first: usize,
    weights: [f32x8; 4],
}

impl<const K: usize, const V: usize> Series<K, V> {
    /// Writes out a medium from thickness 0 to `max_mm`.
    ///
    /// `reduced_scattering` and `absorption` are σs′ and σa in 1/mm at the same bands; bands beyond
    /// their end repeat the last one.
    ///
    /// # Panics
    /// When either is empty.
    #[must_use]
    pub fn new(
        table: &Table<K>,
        reduced_scattering: &[f64],
        absorption: &[f64],
        max_mm: f64,
    ) -> Self {
        let cells = (((max_mm.max(0.0) + X_0) / X_0).ln() / STEP).ceil().max(1.0) as usize;
        let at = |mm: f64| layer_vectors(table, reduced_scattering, absorption, mm);
        let mut nodes = Vec::with_capacity(cells + 3);
        nodes.push([[f32x8::splat(0.0); K]; V]);
        nodes.extend((0..cells + 2).map(|i| at(X_0 * ((i as f64 * STEP).exp() - 1.0))));
        // Below 0 the parabola through the first three goes on.
        let three = f32x8::splat(3.0);
        nodes[0] = std::array::from_fn(|v| {
            std::array::from_fn(|k| three * (nodes[1][v][k] - nodes[2][v][k]) + nodes[3][v][k])
        });
        Self { nodes }
    }

    /// Where a thickness in mm lies, held at the ends of the range.
    #[must_use]
    #[inline]
    pub fn step(&self, mm: f64) -> Step {
        let last = self.nodes.len() - 4;
        let x = ((mm.max(0.0) + X_0) / X_0).ln() / STEP;
        let x = x.min((last + 1) as f64);
        let first = (x as usize).min(last);
        let t = x - first as f64;
        let weights = [
            -t * (t - 1.0) * (t - 2.0) / 6.0,
            (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0,
            -(t + 1.0) * t * (t - 2.0) / 2.0,
            (t + 1.0) * t * (t - 1.0) / 6.0,
        ];
        Step { first, weights: weights.map(|w| f32x8::splat(w as f32)) }
    }

    /// The numbers of one vector of bands.
    #[must_use]
    #[inline]
    fn numbers(&self, step: &Step, vector: usize) -> [f32x8; K] {
        let [a, b, c, d] = &step.weights;
        let nodes = &self.nodes[step.first..step.first + 4];
        let [p, q, r, s] = [0, 1, 2, 3].map(|i| &nodes[i][vector]);
        std::array::from_fn(|k| *a * p[k] + *b * q[k] + *c * r[k] + *d * s[k])
    }

    /// Memory held, bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.nodes.len() * size_of::<[[f32x8; K]; V]>()
    }
}

impl<const V: usize> Series<TOP, V> {
    /// The top layer at one vector of bands.
    #[must_use]
    #[inline]
    pub fn layer(&self, step: &Step, vector: usize) -> TopLayer<f32x8> {
        TopLayer(self.numbers(step, vector))
    }
}

impl<const V: usize> Series<INNER, V> {
    /// The inner layer at one vector of bands.
    #[must_use]
    #[inline]
    pub fn layer(&self, step: &Step, vector: usize) -> InnerLayer<f32x8> {
        InnerLayer(self.numbers(step, vector))
    }
}

impl<const V: usize> Series<BACK, V> {
    /// What the last layer and the mouth behind it reflect at one vector of bands.
    #[must_use]
    #[inline]
    pub fn layer(&self, step: &Step, vector: usize) -> JointReflection<f32x8> {
        JointReflection::new(self.numbers(step, vector))
    }
}
