//! Maximum likelihood and maximum a-posteriori by damped scoring steps.

use nalgebra::{DMatrix, DVector};

/// Most steps before giving up.
const STEPS: usize = 100;
/// Steps with the expected information before the observed one is tried.
const SCORING_STEPS: usize = 25;
/// Most halvings of one step.
const HALVINGS: usize = 40;
/// Relative step of the central differences that give the observed curvature.
const DIFFERENCE: f64 = 1e-5;

/// Value, slope and expected curvature of a log likelihood or log posterior at a point.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Local {
    /// Logarithm to be maximised.
    pub(crate) value: f64,
    /// Its slope.
    pub(crate) slope: DVector<f64>,
    /// Expected information: positive definite where the problem is well posed.
    pub(crate) information: DMatrix<f64>,
}

/// A maximum and the covariance of its parameters.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Maximum {
    pub(crate) at: DVector<f64>,
    pub(crate) value: f64,
    /// Inverse of the observed information, or of the expected one where that fails.
    pub(crate) covariance: DMatrix<f64>,
    pub(crate) converged: bool,
}

/// Climbs from `start` until a step promises less than `tolerance` more: then the distance to the
/// maximum is about its square root in standard errors. `local` returns `None` outside the
/// domain. `None` when `start` is outside or no step can be computed there.
pub(crate) fn maximise(
    start: DVector<f64>,
    tolerance: f64,
    local: impl Fn(&DVector<f64>) -> Option<Local>,
) -> Option<Maximum> {
    let (at, here, converged) = climb(start, tolerance, &local)?;
    let covariance = observed_information(&at, &local)
        .and_then(|m| m.cholesky())
        .or_else(|| here.information.clone().cholesky())?
        .inverse();
    Some(Maximum { at, value: here.value, covariance, converged })
}

/// The value at the maximum alone, which spares the curvature. As [`maximise`].
pub(crate) fn maximum_value(
    start: DVector<f64>,
    tolerance: f64,
    local: impl Fn(&DVector<f64>) -> Option<Local>,
) -> Option<f64> {
    climb(start, tolerance, &local).map(|(_, here, _)| here.value)
}

/// Where a climb ended, and whether at a maximum.
fn climb(
    start: DVector<f64>,
    tolerance: f64,
    local: &impl Fn(&DVector<f64>) -> Option<Local>,
) -> Option<(DVector<f64>, Local, bool)> {
    let mut at = start;
    let mut here = local(&at)?;
    let mut converged = false;
    for count in 0..STEPS {
        // Scoring steps are safe from afar and linear at the end; where they are slow, Newton's.
        let observed = (count >= SCORING_STEPS).then(|| observed_information(&at, local));
        let newton = observed.flatten().and_then(DMatrix::cholesky);
        let factor = newton.or_else(|| here.information.clone().cholesky())?;
        let step = factor.solve(&here.slope);
        let promise = step.dot(&here.slope);
        if promise < tolerance {
            converged = true;
            break;
        }
        let mut scale = 1.0;
        let better = (0..HALVINGS).find_map(|_| {
            let there = &at + &step * scale;
            scale *= 0.5;
            local(&there).filter(|next| next.value >= here.value).map(|next| (there, next))
        });
        match better {
            Some((there, next)) => (at, here) = (there, next),
            None => {
                // No step uphill is left within rounding.
                converged = promise < 1e-6;
                break;
            }
        }
    }
    Some((at, here, converged))
}

/// Negative second derivatives by central differences of the slope, symmetrised.
fn observed_information(
    at: &DVector<f64>,
    local: &impl Fn(&DVector<f64>) -> Option<Local>,
) -> Option<DMatrix<f64>> {
    let n = at.len();
    let difference = |i: usize, h: f64| {
        let mut moved = at.clone();
        moved[i] += h;
        let up = local(&moved)?.slope;
        moved[i] = at[i] - h;
        Some((local(&moved)?.slope - up) / (2.0 * h))
    };
    let mut information = DMatrix::zeros(n, n);
    for i in 0..n {
        let h = DIFFERENCE * at[i].abs().max(1.0);
        information.set_column(i, &difference(i, h)?);
    }
    Some((&information + information.transpose()) * 0.5)
}
