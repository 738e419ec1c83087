//! Where a learner's choices lie on average from what they should match.

use nalgebra::{Matrix3, Vector3};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Mean signed departure of choices from their targets, as ΔL00, ΔC00 and ΔH00.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanOffset {
    /// Number of choices.
    pub choices: usize,
    /// Means: value, chroma, hue.
    pub mean: [f64; 3],
    /// Covariance of the means.
    pub covariance: [[f64; 3]; 3],
}

/// An ellipse around a mean in the plane of two parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ellipse {
    /// Centre.
    pub centre: [f64; 2],
    /// Longer and shorter half-axis.
    pub half_axes: [f64; 2],
    /// Angle from the first part's axis to the longer half-axis, radians, (−π/2, π/2].
    pub angle: f64,
}

impl MeanOffset {
    /// The mean of single offsets; `None` for fewer than two.
    #[must_use]
    pub fn new(offsets: &[[f64; 3]]) -> Option<Self> {
        if offsets.len() < 2 {
            return None;
        }
        let n = offsets.len() as f64;
        let mean = offsets.iter().map(|o| Vector3::from(*o)).sum::<Vector3<f64>>() / n;
        let squares: Matrix3<f64> = offsets
            .iter()
            .map(|o| {
                let off = Vector3::from(*o) - mean;
                off * off.transpose()
            })
            .sum();
        let covariance = squares / (n * (n - 1.0));
        Some(Self { choices: offsets.len(), mean: mean.into(), covariance: covariance.into() })
    }

    /// The 95 % interval of one part's mean: 0 value, 1 chroma, 2 hue.
    #[must_use]
    pub fn interval(&self, part: usize) -> Option<(f64, f64)> {
        let (mean, variance) = (*self.mean.get(part)?, self.covariance.get(part)?.get(part)?);
        let t = StudentsT::new(0.0, 1.0, (self.choices - 1) as f64).ok()?.inverse_cdf(0.975);
        let half = t * variance.max(0.0).sqrt();
        Some((mean - half, mean + half))
    }

    /// The 95 % ellipse of the mean in the plane of two parts, by Hotelling's T². `None` for fewer
    /// than three choices or parts that do not exist.
    ///
    /// # References
    /// Hotelling, Ann Math Stat 1931;2:360-378. The F quantile with 2 and m degrees of freedom is
    /// closed: m/2 · (0.05^(−2/m) − 1).
    #[must_use]
    pub fn ellipse(&self, across: usize, up: usize) -> Option<Ellipse> {
        if self.choices < 3 || across > 2 || up > 2 || across == up {
            return None;
        }
        let n = self.choices as f64;
        let radius_2 = (n - 1.0) * (0.05_f64.powf(-2.0 / (n - 2.0)) - 1.0);
        let at = |i: usize, j: usize| self.covariance[i][j];
        let (a, b, c) = (at(across, across), at(across, up), at(up, up));
        let middle = 0.5 * (a + c);
        let spread = (0.5 * (a - c)).hypot(b);
        let half = |variance: f64| (variance.max(0.0) * radius_2).sqrt();
        Some(Ellipse {
            centre: [self.mean[across], self.mean[up]],
            half_axes: [half(middle + spread), half(middle - spread)],
            angle: 0.5 * (2.0 * b).atan2(a - c),
        })
    }
}
