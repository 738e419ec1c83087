//! Slabs as operators on streams: doubling, interfaces and adding.
//!
//! Operators act on √étendue × basic radiance. In this form those of a homogeneous layer are
//! symmetric, an interface is diagonal, and reciprocity is transposition.

use super::scattering::Redistribution;
use super::streams::Streams;
use crate::optics::fresnel::oblique_reflectance;
use nalgebra::{Cholesky, DMatrix, DVector};

/// A homogeneous layer without surfaces; alike from both sides.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Layer {
    pub r: DMatrix<f64>,
    pub t: DMatrix<f64>,
}

/// Any slab. Light that goes up through it is transmitted by the transpose of `t`.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Slab {
    /// Reflection seen from above.
    pub r_top: DMatrix<f64>,
    /// Reflection seen from below.
    pub r_bottom: DMatrix<f64>,
    /// Transmission downwards.
    pub t: DMatrix<f64>,
}

/// Step at which doubling starts, in units of the smallest cosine.
const FIRST_STEP: f64 = 0.05;
/// Total reflection is taken this little below 1, so that light trapped in a clear layer between
/// two total reflections, which nothing can put there, does not make a matrix singular.
const TRAPPED: f64 = 1e-13;

impl Layer {
    /// Reflection and transmission of a layer with optical depths `absorption` and `scattering`
    /// (coefficient × thickness, each ≥ 0) by doubling.
    ///
    /// # References
    /// Doubling: van de Hulst, Multiple Light Scattering, 1980. Diamond start and the symmetric
    /// form: Wiscombe, J Quant Spectrosc Radiat Transf 1976;16:477-489 and 637-658; for tissue
    /// Prahl, van Gemert, Welch, Appl Opt 1993;32:559-568.
    pub fn new(medium: &Redistribution, absorption: f64, scattering: f64) -> Self {
        let count = medium.inverse_mu.len();
        let scattering = scattering * (1.0 - medium.peak);
        let depth = absorption + scattering;
        let identity = DMatrix::identity(count, count);
        if depth <= 0.0 {
            return Self { r: DMatrix::zeros(count, count), t: identity };
        }
        let steepest = medium.inverse_mu.iter().copied().fold(1.0, f64::max);
        let doublings = (depth * steepest / FIRST_STEP).log2().ceil().max(0.0) as i32;
        let step = 0.5_f64.powi(doublings);
        // Half a step, for the diamond rule.
        let b = &medium.backward * (0.5 * scattering * step);
        let mut a = &medium.forward * (-0.5 * scattering * step);
        for (i, inverse_mu) in medium.inverse_mu.iter().enumerate() {
            a[(i, i)] += 0.5 * depth * step * inverse_mu;
        }
        let plus = &identity + &a;
        let g = inverse(&plus);
        let gb = &g * &b;
        let mut r = solve(&(&plus - &b * &gb), &(gb.transpose() * 2.0));
        let mut t = &g * (&identity - &a + &b * &r);
        symmetrise(&mut r);
        symmetrise(&mut t);
        for _ in 0..doublings {
            let open = &identity - &r * &r;
            let x = solve_definite(open, &t);
            let back = &r * &x;
            r += &t * back;
            t = &t * x;
            symmetrise(&mut r);
            symmetrise(&mut t);
        }
        Self { r, t }
    }
}

impl Slab {
    /// A smooth surface from a medium of index `above` into one of index `below`.
    pub fn surface(streams: &Streams, above: f64, below: f64) -> Self {
        let (top, bottom) = (streams.carried_by(above), streams.carried_by(below));
        let reflectance = |i: usize| {
            if i < top.min(bottom) {
                oblique_reflectance(streams.u[i], above, below)
            } else {
                1.0 - TRAPPED
            }
        };
        Self {
            r_top: DMatrix::from_diagonal(&DVector::from_fn(top, |i, _| reflectance(i))),
            r_bottom: DMatrix::from_diagonal(&DVector::from_fn(bottom, |i, _| reflectance(i))),
            t: DMatrix::from_fn(
                bottom,
                top,
                |i, j| if i == j { 1.0 - reflectance(i) } else { 0.0 },
            ),
        }
    }

    /// This slab lying on `below`.
    pub fn on(&self, below: &Self) -> Self {
        let n = self.r_bottom.nrows();
        let open = DMatrix::identity(n, n) - &self.r_bottom * &below.r_top;
        let down = solve(&open, &self.t);
        let open_up = DMatrix::identity(n, n) - &below.r_top * &self.r_bottom;
        let up = solve(&open_up, &below.t.transpose());
        Self {
            r_top: &self.r_top + self.t.transpose() * (&below.r_top * &down),
            r_bottom: &below.r_bottom + &below.t * (&self.r_bottom * &up),
            t: &below.t * down,
        }
    }

    /// Reflection of this slab on something opaque whose reflection is `below`.
    pub fn over(&self, below: &DMatrix<f64>) -> DMatrix<f64> {
        let n = below.nrows();
        let open = DMatrix::identity(n, n) - below * &self.r_bottom;
        &self.r_top + self.t.transpose() * solve(&open, &(below * &self.t))
    }
}

impl From<Layer> for Slab {
    fn from(layer: Layer) -> Self {
        Self { r_top: layer.r.clone(), r_bottom: layer.r, t: layer.t }
    }
}

/// Reflection of a Lambertian backing of reflectance `rho` in optical contact.
pub(super) fn lambertian(root: &DVector<f64>, rho: f64) -> DMatrix<f64> {
    root * root.transpose() * (rho / root.norm_squared())
}

fn symmetrise(matrix: &mut DMatrix<f64>) {
    for i in 0..matrix.nrows() {
        for j in 0..i {
            let mean = 0.5 * (matrix[(i, j)] + matrix[(j, i)]);
            matrix[(i, j)] = mean;
            matrix[(j, i)] = mean;
        }
    }
}

/// Solves a system that energy conservation keeps regular; where rounding breaks it, nothing
/// finite can be said and the result is not a number.
fn solve(matrix: &DMatrix<f64>, right: &DMatrix<f64>) -> DMatrix<f64> {
    matrix.clone().lu().solve(right).unwrap_or_else(|| not_a_number(right))
}

fn solve_definite(matrix: DMatrix<f64>, right: &DMatrix<f64>) -> DMatrix<f64> {
    // 1 - R² of a layer that loses no light is definite only up to rounding.
    match Cholesky::new(matrix.clone()) {
        Some(factor) => factor.solve(right),
        None => solve(&matrix, right),
    }
}

fn inverse(matrix: &DMatrix<f64>) -> DMatrix<f64> {
    let n = matrix.nrows();
    solve(matrix, &DMatrix::identity(n, n))
}

fn not_a_number(like: &DMatrix<f64>) -> DMatrix<f64> {
    DMatrix::from_element(like.nrows(), like.ncols(), f64::NAN)
}
