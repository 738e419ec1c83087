//! How finely value is told apart, from orders of patches: Thurstone's noise, and how much chroma
//! intrudes.
//!
//! Standard errors come from whole arrays, as the pairs of one share their patches.

use crate::psychophysics::choice::{density, distribution};
use crate::psychophysics::scoring::{Local, maximise};
use nalgebra::{DMatrix, DVector, Matrix3, Vector3};
use std::f64::consts::{FRAC_1_SQRT_2, SQRT_2};

/// Share of pairs ordered without looking. Design choice: orders hardly tell it from noise. With
/// 0.02 the noise of learners who never lapse came out a tenth too small, without any that of
/// learners who do a little too large.
const LAPSE: f64 = 0.005;
/// Priors of ln σ, intrusion and side bias: mean and standard deviation. Design choices, wide
/// against what twenty arrays say.
const PRIORS: [(f64, f64); 3] = [(-0.223_143_551_314_209_7, 0.8), (0.0, 0.5), (0.0, 0.5)];
/// Two-sided 95 % point of the normal distribution.
const Z95: f64 = 1.959_963_984_540_054;

/// Two patches of one array: the one put higher minus the one put lower.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrderedPair {
    /// Signed value part of the difference, ΔL00; below 0 the pair is the wrong way round.
    pub dl00: f64,
    /// Signed chroma part, ΔC00.
    pub dc00: f64,
    /// 1 when the one put higher stood on the left at first, −1 when on the right.
    pub side: f64,
}

/// An estimate with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimated {
    /// The estimate.
    pub value: f64,
    /// Its standard error.
    pub standard_error: f64,
}

/// What orders say of a learner.
///
/// Every patch is seen at its value with normal noise `σ` of its own, so that a pair `Δ` apart is
/// put right with probability `Φ(Δ / √2σ)`. Chroma intrudes with weight `w` (`Δ = ΔL00 + w·ΔC00`; 0
/// is value seen by itself), and the side where a patch stood first counts as `b` ΔL00.
///
/// # References
/// Thurstone, Psychol Rev 1927;34:273-286 (case V). Standard errors over arrays, as the pairs of one
/// array share their patches: Varin, Reid, Firth, Stat Sin 2011;21:5-42 (composite likelihood).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ValueOrder {
    /// ln σ, σ in ΔL00.
    pub ln_sigma: Estimated,
    /// Chroma intrusion w, ΔL00 per ΔC00; above 0 more chroma is taken for lighter.
    pub intrusion: Estimated,
    /// Side bias b, ΔL00; above 0 what stood on the left is taken for lighter.
    pub side_bias: Estimated,
}

impl Estimated {
    /// The 95 % interval.
    #[must_use]
    pub fn interval(self) -> (f64, f64) {
        let half = Z95 * self.standard_error;
        (self.value - half, self.value + half)
    }
}

impl ValueOrder {
    /// Fits the model to ordered arrays by maximum a-posteriori: `ln σ ~ N(ln 0.8, 0.8)`,
    /// `w ~ N(0, 0.5)`, `b ~ N(0, 0.5)`. `None` without pairs.
    #[must_use]
    pub fn fit(arrays: &[Vec<OrderedPair>]) -> Option<Self> {
        if arrays.iter().all(Vec::is_empty) {
            return None;
        }
        let posterior = |at: &DVector<f64>| {
            let mut all = prior(at);
            for pair in arrays.iter().flatten() {
                all.add(pair, at);
            }
            all.local()
        };
        let start = DVector::from_iterator(3, PRIORS.iter().map(|(mean, _)| *mean));
        let found = maximise(start, 1e-12, posterior)?;
        let inverse: Matrix3<f64> = found.covariance.fixed_view::<3, 3>(0, 0).into_owned();
        let errors = standard_errors(arrays, &found.at, &inverse);
        let [ln_sigma, intrusion, side_bias] =
            std::array::from_fn(|i| Estimated { value: found.at[i], standard_error: errors[i] });
        Some(Self { ln_sigma, intrusion, side_bias })
    }

    /// Thurstone's noise σ, ΔL00.
    #[must_use]
    pub fn sigma(&self) -> f64 {
        self.ln_sigma.value.exp()
    }

    /// The step in value that is put right three times in four, ΔL00: 0.954 σ.
    #[must_use]
    pub fn step_75(&self) -> f64 {
        // The 75 % point of the normal distribution times √2.
        0.674_489_750_196_081_7 * SQRT_2 * self.sigma()
    }
}

/// A sum over pairs of what a scoring step needs.
struct Sum {
    value: f64,
    slope: Vector3<f64>,
    information: Matrix3<f64>,
}

impl Sum {
    fn add(&mut self, pair: &OrderedPair, at: &DVector<f64>) {
        let scale = FRAC_1_SQRT_2 * (-at[0]).exp();
        let z = scale * (pair.dl00 + at[1] * pair.dc00 + at[2] * pair.side);
        let p = 0.5 * LAPSE + (1.0 - LAPSE) * distribution(z);
        let by_z = (1.0 - LAPSE) * density(z);
        let z_by = Vector3::new(-z, scale * pair.dc00, scale * pair.side);
        self.value += p.ln();
        self.slope += z_by * (by_z / p);
        self.information += z_by * z_by.transpose() * (by_z * by_z / (p * (1.0 - p)));
    }

    fn local(self) -> Option<Local> {
        self.value.is_finite().then(|| Local {
            value: self.value,
            slope: DVector::from_column_slice(self.slope.as_slice()),
            information: DMatrix::from_column_slice(3, 3, self.information.as_slice()),
        })
    }
}

fn prior(at: &DVector<f64>) -> Sum {
    let precision = Vector3::from(PRIORS.map(|(_, sd)| 1.0 / (sd * sd)));
    let off = Vector3::from_fn(|i, _| at[i] - PRIORS[i].0);
    Sum {
        value: -0.5 * precision.component_mul(&off).dot(&off),
        slope: -precision.component_mul(&off),
        information: Matrix3::from_diagonal(&precision),
    }
}

/// Standard errors from how much the slopes of whole arrays scatter; never below those of
/// independent pairs, as few arrays scatter too little by chance.
fn standard_errors(
    arrays: &[Vec<OrderedPair>],
    at: &DVector<f64>,
    inverse: &Matrix3<f64>,
) -> [f64; 3] {
    let filled: Vec<_> = arrays.iter().filter(|pairs| !pairs.is_empty()).collect();
    let mut scatter = prior(at).information;
    let n = filled.len() as f64;
    for pairs in &filled {
        let nothing = Sum { value: 0.0, slope: Vector3::zeros(), information: Matrix3::zeros() };
        let one = pairs.iter().fold(nothing, |mut sum, pair| {
            sum.add(pair, at);
            sum
        });
        scatter += one.slope * one.slope.transpose() * (n / (n - 1.0).max(1.0));
    }
    let between = inverse * scatter * inverse;
    std::array::from_fn(|i| between[(i, i)].max(inverse[(i, i)]).sqrt())
}
