//! One kind of medium at one place, tabulated over optical depth.
//!
//! With index and anisotropy fixed, a layer is two numbers: absorption depth q = σa·x and reduced
//! scattering depth p = σs(1-g)·x. The same table therefore serves every band, every thickness
//! and every colour of a class. Between nodes a bicubic B-spline (twice differentiable, so that
//! designs may take slopes) interpolates in ln(p + p₀) and ln(√q + w₀), in which thin layers
//! are linear and thick ones level off.

use super::modes::{Place, Projection};
use rayon::prelude::*;

/// Nodes along scattering and absorption.
pub(super) const NODES: (usize, usize) = (36, 24);
/// Largest scattering depth; a thicker layer is the same layer scaled back to it.
const P_MAX: f64 = 200.0;
const P_0: f64 = 0.06;
/// Largest √ of the absorption depth: e^-16 passes.
const W_MAX: f64 = 4.0;
const W_0: f64 = 0.12;
/// Streams per band of the tabulated solutions.
pub(super) const TABLE_STREAMS: usize = 10;

/// Everything that a table depends on besides its situation. A change of any of these makes
/// tables of old unreadable, and so does a new number at the end, which stands for the method.
pub(super) const RECIPE: &str = "36x24 p200+0.06 w4+0.12 streams10 modes3 method2\n";

/// A kind of medium at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Situation {
    /// Refractive index, ≥ 1.
    pub refractive_index: f64,
    /// Anisotropy g, −1..1.
    pub anisotropy: f64,
    /// Where in a stack it lies.
    pub place: Place,
}

/// `K` numbers of a layer over its optical depths.
#[derive(Debug, Clone, PartialEq)]
pub struct Table<const K: usize> {
    /// B-spline coefficients, `(NODES.0 + 2) × (NODES.1 + 2)` of them, absorption running faster.
    coefficients: Vec<[f32; K]>,
}

const ROWS: usize = NODES.0 + 2;
const COLUMNS: usize = NODES.1 + 2;

/// ln p₀ and ln(`P_MAX` + p₀); `ln` is not const.
const U_RANGE: (f64, f64) = (-2.813_410_716_760_036, 5.298_617_321_557_034_5);
/// ln w₀ and ln(`W_MAX` + w₀).
const V_RANGE: (f64, f64) = (-2.120_263_536_200_091, 1.415_853_163_361_435);

/// Depths of node `(i, j)`: (p, q).
fn node(i: usize, j: usize) -> (f64, f64) {
    let place =
        |k: usize, n: usize, (lo, hi): (f64, f64)| lo + (hi - lo) * k as f64 / (n - 1) as f64;
    let p = (place(i, NODES.0, U_RANGE).exp() - P_0).max(0.0);
    let w = (place(j, NODES.1, V_RANGE).exp() - W_0).max(0.0);
    (p, w * w)
}

/// A place between nodes: first of four taps, and the four weights.
#[derive(Debug, Clone, Copy)]
struct Taps {
    first: usize,
    weights: [f64; 4],
    slopes: [f64; 4],
}

impl Taps {
    /// `x` in node units from 0 to `n - 1`.
    #[inline]
    fn new(x: f64, n: usize) -> Self {
        let cell = (x.max(0.0) as usize).min(n - 2);
        let t = x - cell as f64;
        let s = 1.0 - t;
        let (t2, s2) = (t * t, s * s);
        Self {
            first: cell,
            weights: [
                s2 * s / 6.0,
                (4.0 - 3.0 * t2 * (2.0 - t)) / 6.0,
                (4.0 - 3.0 * s2 * (2.0 - s)) / 6.0,
                t2 * t / 6.0,
            ],
            slopes: [-0.5 * s2, t * (1.5 * t - 2.0), -s * (1.5 * s - 2.0), 0.5 * t2],
        }
    }
}

/// Where a layer lies in a table. Serves every table.
#[derive(Debug, Clone, Copy)]
pub struct Depth {
    scattering: Taps,
    absorption: Taps,
    /// d(node units)/dp and /dq.
    by_scattering: f64,
    by_absorption: f64,
}

impl Depth {
    /// The place of a layer with reduced scattering depth `p` and absorption depth `q`, each ≥ 0.
    #[must_use]
    #[inline]
    pub fn new(p: f64, q: f64) -> Self {
        // Both depths shrink alike, so the layer stays the same material.
        let shrink = (P_MAX / p.max(P_MAX)).min(W_MAX * W_MAX / q.max(W_MAX * W_MAX));
        let (p, q) = (p * shrink, q * shrink);
        let (u0, u1) = U_RANGE;
        let (v0, v1) = V_RANGE;
        let per_u = (NODES.0 - 1) as f64 / (u1 - u0);
        let per_v = (NODES.1 - 1) as f64 / (v1 - v0);
        let w = q.sqrt();
        Self {
            scattering: Taps::new(((p + P_0).ln() - u0) * per_u, NODES.0),
            absorption: Taps::new(((w + W_0).ln() - v0) * per_v, NODES.1),
            by_scattering: shrink * per_u / (p + P_0),
            by_absorption: shrink * per_v / ((w + W_0) * 2.0 * w.max(1e-6)),
        }
    }
}

impl<const K: usize> Table<K> {
    /// Solves every node: seconds of work, spread over the threads there are.
    ///
    /// `K` must be the size of the place.
    #[must_use]
    pub(super) fn build(situation: &Situation) -> Self {
        let Situation { refractive_index, anisotropy, place } = *situation;
        debug_assert_eq!(place.size(), K);
        let projection = Projection::new(refractive_index, anisotropy, place, TABLE_STREAMS);
        let values: Vec<[f64; K]> = (0..NODES.0 * NODES.1)
            .into_par_iter()
            .map(|k| {
                let (p, q) = node(k / NODES.1, k % NODES.1);
                let numbers = projection.solve(q, p / (1.0 - anisotropy));
                std::array::from_fn(|i| numbers[i])
            })
            .collect();
        Self::interpolating(&values)
    }

    /// The spline through values at all nodes.
    fn interpolating(values: &[[f64; K]]) -> Self {
        let mut along: Vec<[f64; K]> = Vec::with_capacity(NODES.0 * COLUMNS);
        for row in values.chunks(NODES.1) {
            along.extend(spline(row));
        }
        let mut coefficients = vec![[0.0_f32; K]; ROWS * COLUMNS];
        for column in 0..COLUMNS {
            let line: Vec<[f64; K]> = (0..NODES.0).map(|i| along[i * COLUMNS + column]).collect();
            for (row, c) in spline(&line).into_iter().enumerate() {
                coefficients[row * COLUMNS + column] = c.map(|v| v as f32);
            }
        }
        Self { coefficients }
    }

    /// The numbers of a layer.
    #[must_use]
    #[inline]
    pub fn at(&self, depth: &Depth) -> [f64; K] {
        let mut sum = [0.0; K];
        for (i, wi) in depth.scattering.weights.iter().enumerate() {
            let start = (depth.scattering.first + i) * COLUMNS + depth.absorption.first;
            for (c, wj) in self.coefficients[start..start + 4].iter().zip(&depth.absorption.weights)
            {
                let w = wi * wj;
                for k in 0..K {
                    sum[k] += w * f64::from(c[k]);
                }
            }
        }
        sum
    }

    /// [`Self::at`] in single precision, in which the coefficients are kept.
    #[must_use]
    #[inline]
    pub(super) fn single(&self, depth: &Depth) -> [f32; K] {
        let mut sum = [0.0; K];
        for (i, wi) in depth.scattering.weights.iter().enumerate() {
            let start = (depth.scattering.first + i) * COLUMNS + depth.absorption.first;
            for (c, wj) in self.coefficients[start..start + 4].iter().zip(&depth.absorption.weights)
            {
                let w = (wi * wj) as f32;
                for k in 0..K {
                    sum[k] += w * c[k];
                }
            }
        }
        sum
    }

    /// The numbers of a layer and their slopes by reduced scattering and absorption depth.
    #[must_use]
    pub(crate) fn at_with_slopes(&self, depth: &Depth) -> ([f64; K], [f64; K], [f64; K]) {
        let (mut value, mut by_p, mut by_q) = ([0.0; K], [0.0; K], [0.0; K]);
        for i in 0..4 {
            let (w, dw) = (depth.scattering.weights[i], depth.scattering.slopes[i]);
            let start = (depth.scattering.first + i) * COLUMNS + depth.absorption.first;
            for j in 0..4 {
                let c = &self.coefficients[start + j];
                let (v, dv) = (depth.absorption.weights[j], depth.absorption.slopes[j]);
                let (here, along_p, along_q) =
                    (w * v, dw * v * depth.by_scattering, w * dv * depth.by_absorption);
                for k in 0..K {
                    let c = f64::from(c[k]);
                    value[k] += here * c;
                    by_p[k] += along_p * c;
                    by_q[k] += along_q * c;
                }
            }
        }
        (value, by_p, by_q)
    }

    /// Memory held, bytes.
    #[must_use]
    pub fn bytes(&self) -> usize {
        self.coefficients.len() * K * size_of::<f32>()
    }

    /// All coefficients, little-endian.
    pub(super) fn write(&self, out: &mut Vec<u8>) {
        out.extend(self.coefficients.iter().flatten().flat_map(|v| v.to_le_bytes()));
    }

    /// The table that [`Self::write`] wrote, if there are as many bytes as it needs.
    pub(super) fn read(bytes: &[u8]) -> Option<Self> {
        let (words, rest) = bytes.as_chunks::<4>();
        if words.len() != ROWS * COLUMNS * K || !rest.is_empty() {
            return None;
        }
        let coefficients = words
            .chunks_exact(K)
            .map(|c| std::array::from_fn(|k| f32::from_le_bytes(c[k])))
            .collect();
        Some(Self { coefficients })
    }
}

/// Coefficients of the cubic B-spline through `values`, two more than there are values.
///
/// (c₋₁ + 4c₀ + c₁)/6 = value; at either end the third difference of the coefficients is zero,
/// so a parabola comes back as it went in.
fn spline<const K: usize>(values: &[[f64; K]]) -> Vec<[f64; K]> {
    let n = values.len();
    // Eliminating the outer coefficient with c₋₁ = 3c₀ - 3c₁ + c₂ leaves (7c₀ - 2c₁ + c₂)/6 in the
    // first row; with the second row the rest is tridiagonal.
    let mut matrix = nalgebra::DMatrix::<f64>::zeros(n, n);
    for i in 1..n - 1 {
        matrix[(i, i - 1)] = 1.0;
        matrix[(i, i)] = 4.0;
        matrix[(i, i + 1)] = 1.0;
    }
    for (row, at) in [(0, [0, 1, 2]), (n - 1, [n - 1, n - 2, n - 3])] {
        for (column, value) in at.into_iter().zip([7.0, -2.0, 1.0]) {
            matrix[(row, column)] = value;
        }
    }
    let right = nalgebra::DMatrix::from_fn(n, K, |i, k| 6.0 * values[i][k]);
    let inner = matrix.lu().solve(&right).unwrap_or(right);
    let row = |i: usize| std::array::from_fn(|k| inner[(i, k)]);
    let beyond = |a: usize, b: usize, c: usize| {
        std::array::from_fn(|k| 3.0 * inner[(a, k)] - 3.0 * inner[(b, k)] + inner[(c, k)])
    };
    std::iter::once(beyond(0, 1, 2))
        .chain((0..n).map(row))
        .chain(std::iter::once(beyond(n - 1, n - 2, n - 3)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_the_logarithms_they_claim() {
        // Definition.
        for (range, first, last) in [(U_RANGE, P_0, P_MAX + P_0), (V_RANGE, W_0, W_MAX + W_0)] {
            assert!((range.0 - first.ln()).abs() < 1e-14, "{range:?}");
            assert!((range.1 - last.ln()).abs() < 1e-14, "{range:?}");
        }
    }
}
