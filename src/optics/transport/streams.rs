//! Directions of light: one set of discrete streams shared by media of different refractive index.
//!
//! Across a smooth interface n·sin θ stays what it is (Snell). A stream is therefore labelled by
//! u = (n·sin θ)², the same in every medium it can enter; a medium of index n carries the streams
//! with u < n². In *basic* radiance L = I/n² the flux of a stream is L times its étendue weight,
//! also the same in every medium, so an interface only splits each stream in two.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

/// Streams of light for a set of refractive indices, air included.
#[derive(Debug, Clone, PartialEq)]
pub struct Streams {
    /// (n·sin θ)² of each stream, ascending band by band.
    pub(super) u: Vec<f64>,
    /// Étendue weight of each stream: ∫du over its part.
    pub(super) etendue: Vec<f64>,
    /// Moments of the phase function that these streams resolve: twice the streams of the smallest
    /// wide band.
    pub(super) moments: usize,
}

/// One medium's view of the streams it carries.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Directions {
    /// cos θ of each stream.
    pub mu: Vec<f64>,
    /// Weight of each stream in ∫dμ over a hemisphere.
    pub w: Vec<f64>,
    /// √ of the étendue weight: turns basic radiance into the symmetric form used here.
    pub root: DVector<f64>,
}

/// A band this much narrower in cos θ than a hemisphere counts as narrow.
const NARROW: f64 = 0.4;
/// Indices nearer than this are one.
const SAME_INDEX: f64 = 1e-9;

impl Streams {
    /// Streams for light in air and in media of the given indices (each ≥ 1).
    ///
    /// Between each index and the next lower one lies a band of streams that the lower cannot
    /// carry. Each wide band gets `per_band` streams, Gauss-Legendre in the cosine of the medium
    /// where the band ends at grazing; narrow bands get fewer. The band that air carries has a
    /// stream exactly along the normal (Gauss-Radau).
    #[must_use]
    pub fn new(indices: &[f64], per_band: usize) -> Self {
        let mut sorted: Vec<f64> =
            indices.iter().copied().filter(|n| *n > 1.0 + SAME_INDEX).collect();
        sorted.sort_by(f64::total_cmp);
        sorted.dedup_by(|a, b| (*a - *b).abs() < SAME_INDEX);
        let mut streams = Self { u: Vec::new(), etendue: Vec::new(), moments: usize::MAX };
        let mut lower = 0.0;
        for n in std::iter::once(1.0).chain(sorted) {
            let top = (1.0 - lower / (n * n)).max(0.0).sqrt();
            let normal = lower == 0.0;
            let count = if top < NARROW { per_band.div_ceil(2).max(2) } else { per_band };
            let (nodes, weights) = if normal { radau(count) } else { gauss(count) };
            if top >= NARROW {
                streams.moments = streams.moments.min(2 * count);
            }
            for (x, w) in nodes.into_iter().zip(weights) {
                let mu = top * x;
                streams.u.push(n * n * (1.0 - mu * mu));
                streams.etendue.push(2.0 * n * n * mu * top * w);
            }
            lower = n * n;
        }
        // The normal is exact, not a rounding error away.
        for u in &mut streams.u {
            if *u < 1e-12 {
                *u = 0.0;
            }
        }
        streams
    }

    /// How many streams a medium of index `n` carries. They are the first ones.
    pub(super) fn carried_by(&self, n: f64) -> usize {
        // Bands are in ascending order and end at the indices themselves.
        self.u.iter().filter(|&&u| u < n * n * (1.0 - 1e-12)).count()
    }

    pub(super) fn directions(&self, n: f64) -> Directions {
        let count = self.carried_by(n);
        let mu: Vec<f64> = self.u[..count].iter().map(|u| (1.0 - u / (n * n)).sqrt()).collect();
        let w: Vec<f64> =
            self.etendue.iter().zip(&mu).map(|(e, mu)| e / (2.0 * n * n * mu)).collect();
        let root = DVector::from_iterator(count, self.etendue[..count].iter().map(|e| e.sqrt()));
        Directions { mu, w, root }
    }

    /// Where the stream along the normal is.
    pub(super) fn normal(&self) -> usize {
        self.u.iter().position(|&u| u == 0.0).unwrap_or(0)
    }
}

/// Gauss-Legendre nodes and weights on 0..1.
///
/// # References
/// Golub, Welsch, Math Comput 1969;23:221-230.
fn gauss(count: usize) -> (Vec<f64>, Vec<f64>) {
    from_jacobi(&jacobi(count))
}

/// Gauss-Radau nodes and weights on 0..1, the last node at 1.
///
/// # References
/// Golub, SIAM Rev 1973;15:318-334: the last diagonal element is moved until 1 is an eigenvalue.
fn radau(count: usize) -> (Vec<f64>, Vec<f64>) {
    let mut matrix = jacobi(count);
    let last = count - 1;
    if count == 1 {
        matrix[(0, 0)] = 1.0;
        return from_jacobi(&matrix);
    }
    // Solve (J - 1)δ = β²e on the leading block; tridiagonal, so by elimination.
    let mut pivot = matrix[(0, 0)] - 1.0;
    for i in 1..last {
        pivot = matrix[(i, i)] - 1.0 - matrix[(i, i - 1)].powi(2) / pivot;
    }
    matrix[(last, last)] = 1.0 + matrix[(last, last - 1)].powi(2) / pivot;
    from_jacobi(&matrix)
}

/// Jacobi matrix of the Legendre polynomials on -1..1.
fn jacobi(count: usize) -> DMatrix<f64> {
    let mut matrix = DMatrix::zeros(count, count);
    for i in 1..count {
        let k = i as f64;
        let beta = k / (4.0 * k * k - 1.0).sqrt();
        matrix[(i, i - 1)] = beta;
        matrix[(i - 1, i)] = beta;
    }
    matrix
}

/// Nodes and weights on 0..1 from a Jacobi matrix on -1..1.
fn from_jacobi(matrix: &DMatrix<f64>) -> (Vec<f64>, Vec<f64>) {
    let eigen = SymmetricEigen::new(matrix.clone());
    let mut pairs: Vec<(f64, f64)> = eigen
        .eigenvalues
        .iter()
        .zip(eigen.eigenvectors.row(0).iter())
        .map(|(x, v)| (0.5 * (x + 1.0), v * v))
        .collect();
    pairs.sort_by(|a, b| a.0.total_cmp(&b.0));
    pairs.into_iter().unzip()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rules_integrate_polynomials() {
        // ∫xᵏdx over 0..1 is 1/(k+1): analytic. Gauss is exact to degree 2n-1, Radau to 2n-2.
        for (rule, degree) in [(gauss(8), 15), (radau(8), 14)] {
            for k in 0..=degree {
                let sum: f64 = rule.0.iter().zip(&rule.1).map(|(x, w)| w * x.powi(k)).sum();
                assert!((sum * f64::from(k + 1) - 1.0).abs() < 1e-12, "degree {k}: {sum}");
            }
        }
        assert!((radau(12).0[11] - 1.0).abs() < 1e-13);
    }

    #[test]
    fn every_medium_sees_a_whole_hemisphere() {
        // ∫du over 0..n² is n², ∫dμ over 0..1 is 1: analytic.
        let streams = Streams::new(&[1.63, 1.54, 1.52], 10);
        for n in [1.0, 1.52, 1.54, 1.63] {
            let count = streams.carried_by(n);
            let etendue: f64 = streams.etendue[..count].iter().sum();
            assert!((etendue / (n * n) - 1.0).abs() < 1e-12, "{n}: {etendue}");
            let hemisphere: f64 = streams.directions(n).w.iter().sum();
            assert!((hemisphere - 1.0).abs() < 2e-3, "{n}: {hemisphere}");
        }
        assert_eq!(streams.directions(1.0).mu[streams.normal()], 1.0);
    }
}
