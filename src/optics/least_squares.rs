//! Damped least squares for a handful of smooth equations in as many unknowns, or fewer.

use nalgebra::{Cholesky, SMatrix, SVector};

/// Where an iteration stopped.
pub(crate) struct Minimum<const N: usize, const M: usize = N> {
    pub x: SVector<f64, N>,
    pub residuals: SVector<f64, M>,
    pub iterations: usize,
}

impl<const N: usize, const M: usize> Minimum<N, M> {
    /// Largest absolute residual.
    pub fn residual(&self) -> f64 {
        self.residuals.amax()
    }
}

/// Steps are refused beyond this length in any unknown: the unknowns are logarithms and logits,
/// and a longer step leaves the region where the slopes mean anything.
const LONGEST_STEP: f64 = 1.5;

/// A minimum that is no solution is approached ever more slowly. When this many steps
/// have not brought the sum of squares below [`STAGNATION`] of what it was, it is one.
const PATIENCE: usize = 10;
const STAGNATION: f64 = 0.8;

/// Minimises the sum of squares of `equations`, which returns residuals and their Jacobian.
///
/// Levenberg-Marquardt: stops when every residual is below `tolerance`, when no step improves any
/// more, or after `max_iterations`.
pub(crate) fn minimise<const N: usize, const M: usize>(
    start: SVector<f64, N>,
    tolerance: f64,
    max_iterations: usize,
    equations: impl Fn(&SVector<f64, N>) -> (SVector<f64, M>, SMatrix<f64, M, N>),
) -> Minimum<N, M> {
    let mut x = start;
    let (mut residuals, mut jacobian) = equations(&x);
    let mut damping = 1e-3;
    let mut iterations = 0;
    let mut checkpoint = residuals.norm_squared();
    while iterations < max_iterations && !(residuals.amax() < tolerance) {
        iterations += 1;
        if iterations % PATIENCE == 0 {
            let now = residuals.norm_squared();
            if now > STAGNATION * checkpoint {
                break;
            }
            checkpoint = now;
        }
        let normal = jacobian.transpose() * jacobian;
        let gradient = jacobian.transpose() * residuals;
        let mut damped = normal;
        for i in 0..N {
            // The tiny constant keeps an unknown without influence from making this singular.
            damped[(i, i)] += damping * normal[(i, i)] + 1e-12;
        }
        let step = Cholesky::new(damped).map(|c| -c.solve(&gradient));
        let Some(step) = step.filter(|s| s.iter().all(|v| v.is_finite())) else {
            damping = (damping * 10.0).max(1e-6);
            if damping > 1e12 {
                break;
            }
            continue;
        };
        let step = step * (LONGEST_STEP / step.amax()).min(1.0);
        let next = x + step;
        let (next_residuals, next_jacobian) = equations(&next);
        // False also where the residuals are not numbers.
        if next_residuals.norm_squared() < residuals.norm_squared() {
            x = next;
            residuals = next_residuals;
            jacobian = next_jacobian;
            damping = (damping * 0.1).max(1e-14);
        } else {
            damping *= 10.0;
            if damping > 1e12 {
                break;
            }
        }
    }
    Minimum { x, residuals, iterations }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{Matrix2, Vector2};

    #[test]
    fn finds_the_valley_of_a_curved_function() {
        // Rosenbrock's function, minimum at (1, 1): analytic.
        let found = minimise(Vector2::new(-1.2, 1.0), 1e-12, 200, |p| {
            (
                Vector2::new(10.0 * (p.y - p.x * p.x), 1.0 - p.x),
                Matrix2::new(-20.0 * p.x, 10.0, -1.0, 0.0),
            )
        });
        assert!((found.x - Vector2::new(1.0, 1.0)).amax() < 1e-10, "{}", found.x);
    }

    #[test]
    fn stops_where_no_solution_is() {
        // x² + 1 = 0 has no real root; the least residual is 1 at 0: analytic.
        let found = minimise(SVector::<f64, 1>::new(3.0), 1e-12, 200, |p| {
            (SVector::<f64, 1>::new(p.x * p.x + 1.0), SMatrix::<f64, 1, 1>::new(2.0 * p.x))
        });
        // Given up before the end of the budget, near the minimum but not exactly there.
        assert!(found.iterations < 200, "{}", found.iterations);
        assert!((found.residual() - 1.0).abs() < 1e-3, "{}", found.residual());
    }
}
