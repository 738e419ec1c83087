//! How a medium turns light from stream to stream.

use super::streams::Directions;
use nalgebra::DMatrix;

/// Redistribution among the streams of one medium, in symmetric form and per unit of scattering.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Redistribution {
    /// Into the same hemisphere.
    pub forward: DMatrix<f64>,
    /// Into the other hemisphere.
    pub backward: DMatrix<f64>,
    /// 1/μ of each stream.
    pub inverse_mu: Vec<f64>,
    /// Share of scattering that is so nearly forward that it counts as none.
    pub peak: f64,
}

impl Redistribution {
    /// Henyey-Greenstein scattering of anisotropy `g`, −1..1, by its first `moments` moments.
    ///
    /// What the moments cannot resolve is cut off the forward peak (delta-M). Rounding of the
    /// quadrature is put back on the diagonal, so that no light is lost or gained.
    ///
    /// # References
    /// Henyey, Greenstein, Astrophys J 1941;93:70-83. Delta-M: Wiscombe, J Atmos Sci
    /// 1977;34:1408-1422.
    pub fn new(directions: &Directions, g: f64, moments: usize) -> Self {
        let count = directions.mu.len();
        let peak = g.powi(moments as i32);
        let chi: Vec<f64> =
            (0..moments).map(|l| (g.powi(l as i32) - peak) / (1.0 - peak)).collect();
        let legendre: Vec<Vec<f64>> =
            directions.mu.iter().map(|mu| legendre(*mu, moments)).collect();
        let mut forward = DMatrix::zeros(count, count);
        let mut backward = DMatrix::zeros(count, count);
        for i in 0..count {
            for j in 0..count {
                let (mut even, mut odd) = (0.0, 0.0);
                for l in 0..moments {
                    let term = (2 * l + 1) as f64 * chi[l] * legendre[i][l] * legendre[j][l];
                    if l % 2 == 0 { even += term } else { odd += term }
                }
                forward[(i, j)] = even + odd;
                backward[(i, j)] = even - odd;
            }
        }
        for i in 0..count {
            let sum: f64 =
                (0..count).map(|j| directions.w[j] * (forward[(i, j)] + backward[(i, j)])).sum();
            forward[(i, i)] += (2.0 - sum) / directions.w[i];
        }
        let scale: Vec<f64> =
            directions.w.iter().zip(&directions.mu).map(|(w, mu)| (w / mu).sqrt()).collect();
        for i in 0..count {
            for j in 0..count {
                let both = 0.5 * scale[i] * scale[j];
                forward[(i, j)] *= both;
                backward[(i, j)] *= both;
            }
        }
        let inverse_mu = directions.mu.iter().map(|mu| 1.0 / mu).collect();
        Self { forward, backward, inverse_mu, peak }
    }
}

/// Legendre polynomials of degree 0 to `count` - 1 at `x`.
fn legendre(x: f64, count: usize) -> Vec<f64> {
    let mut p = vec![1.0; count];
    if count > 1 {
        p[1] = x;
    }
    for l in 2..count {
        let k = l as f64;
        p[l] = ((2.0 * k - 1.0) * x * p[l - 1] - (k - 1.0) * p[l - 2]) / k;
    }
    p
}
