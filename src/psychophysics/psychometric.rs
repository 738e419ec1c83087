//! Psychometric functions and their maximum-likelihood fits.

use crate::psychophysics::choice::{density, distribution};
use crate::psychophysics::scoring::{Local, maximise};
use nalgebra::{DMatrix, DVector};
use statrs::function::factorial::ln_binomial;
use thiserror::Error;

/// How detection grows with the difference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// `F = Φ((x − location) / spread)`.
    CumulativeGaussian,
    /// `F = 1 − exp(−(x / location)^spread)`, 0 for `x ≤ 0`; `location` is the 63.2 % point.
    Weibull,
}

/// `p(x) = γ + (1 − γ − λ) F(x)`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PsychometricFunction {
    /// The shape of `F`.
    pub shape: Shape,
    /// Mean of the Gaussian, or scale of the Weibull.
    pub location: f64,
    /// Standard deviation of the Gaussian, or shape of the Weibull; above 0.
    pub spread: f64,
    /// Guess rate `γ`: `1/m` when one of `m` must be chosen, the false-alarm rate of a yes/no task.
    pub guess: f64,
    /// Lapse rate `λ`.
    pub lapse: f64,
}

/// One level of a data set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LevelCount {
    /// Stimulus level.
    pub level: f64,
    /// Trials at it.
    pub trials: u32,
    /// Positive or correct answers.
    pub positive: u32,
}

/// A fitted function with the usual measures of fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PsychometricFit {
    /// The function.
    pub function: PsychometricFunction,
    /// Log likelihood without binomial coefficients.
    pub ln_likelihood: f64,
    /// Log likelihood with binomial coefficients.
    pub ln_likelihood_full: f64,
    /// Twice the distance to the saturated model.
    pub deviance: f64,
    /// Standard errors of location and spread from the observed information.
    pub standard_errors: (f64, f64),
    /// Correlation of location and spread.
    pub correlation: f64,
}

/// Why a function cannot be fitted.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum PsychometricError {
    /// Too little to fit two parameters.
    #[error("needs at least two levels with trials, got {0}")]
    Levels(usize),
    /// A level that is none, or more positive answers than trials.
    #[error("level {level}: {positive} of {trials} is not possible")]
    Count {
        /// The level.
        level: f64,
        /// Positive answers given.
        positive: u32,
        /// Trials given.
        trials: u32,
    },
    /// Asymptotes that leave nothing between them.
    #[error("guess rate {guess} and lapse rate {lapse} must be at least 0 and sum to less than 1")]
    Asymptotes {
        /// Guess rate given.
        guess: f64,
        /// Lapse rate given.
        lapse: f64,
    },
    /// The likelihood has no maximum within reach: data without a rise, or all one way.
    #[error("the likelihood has no maximum: the answers do not rise with the level")]
    NoMaximum,
}

impl Shape {
    /// `F` and its slopes by location and by spread.
    fn evaluate(self, x: f64, location: f64, spread: f64) -> (f64, f64, f64) {
        match self {
            Self::CumulativeGaussian => {
                let z = (x - location) / spread;
                let slope = density(z) / spread;
                (distribution(z), -slope, -slope * z)
            }
            Self::Weibull if x <= 0.0 => (0.0, 0.0, 0.0),
            Self::Weibull => {
                let ratio = x / location;
                let u = ratio.powf(spread);
                let left = (-u).exp();
                (1.0 - left, -left * u * spread / location, left * u * ratio.ln())
            }
        }
    }
}

impl PsychometricFunction {
    /// Probability of a positive or correct answer at `x`.
    #[must_use]
    pub fn probability(&self, x: f64) -> f64 {
        let (f, _, _) = self.shape.evaluate(x, self.location, self.spread);
        self.guess + (1.0 - self.guess - self.lapse) * f
    }

    /// Fits location and spread with fixed asymptotes by maximum likelihood.
    ///
    /// # Errors
    /// [`PsychometricError`] when the data or asymptotes cannot be fitted.
    ///
    /// # References
    /// Wichmann & Hill, Percept Psychophys 2001;63:1293-1313.
    pub fn fit(
        shape: Shape,
        guess: f64,
        lapse: f64,
        data: &[LevelCount],
    ) -> Result<PsychometricFit, PsychometricError> {
        check(guess, lapse, data)?;
        let local = |at: &DVector<f64>| likelihood(shape, guess, lapse, data, at);
        // The likelihood can be flat far from the maximum, so several starts are tried.
        let levels = || data.iter().filter(|d| d.trials > 0).map(|d| d.level);
        let (low, high) = levels()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
        let spreads = match shape {
            Shape::CumulativeGaussian => [0.15, 0.3, 0.6].map(|part| part * (high - low)),
            Shape::Weibull => [1.0, 2.0, 4.0],
        };
        let starts = [0.25, 0.5, 0.75].iter().flat_map(|part| {
            spreads.iter().map(move |spread| [low + part * (high - low), *spread])
        });
        let best = starts
            .filter_map(|start| maximise(DVector::from_row_slice(&start), 1e-16, local))
            .filter(|maximum| maximum.converged)
            .max_by(|a, b| a.value.total_cmp(&b.value))
            .ok_or(PsychometricError::NoMaximum)?;
        let errors = (best.covariance[(0, 0)].sqrt(), best.covariance[(1, 1)].sqrt());
        let coefficients: f64 =
            data.iter().map(|d| ln_binomial(d.trials.into(), d.positive.into())).sum();
        let saturated: f64 = data.iter().map(saturated).sum();
        Ok(PsychometricFit {
            function: Self { shape, location: best.at[0], spread: best.at[1], guess, lapse },
            ln_likelihood: best.value,
            ln_likelihood_full: best.value + coefficients,
            deviance: 2.0 * (saturated - best.value),
            standard_errors: errors,
            correlation: best.covariance[(0, 1)] / (errors.0 * errors.1),
        })
    }
}

fn check(guess: f64, lapse: f64, data: &[LevelCount]) -> Result<(), PsychometricError> {
    if !(guess >= 0.0 && lapse >= 0.0 && guess + lapse < 1.0) {
        return Err(PsychometricError::Asymptotes { guess, lapse });
    }
    for d in data {
        if d.positive > d.trials || !d.level.is_finite() {
            let LevelCount { level, trials, positive } = *d;
            return Err(PsychometricError::Count { level, positive, trials });
        }
    }
    let mut levels: Vec<f64> = data.iter().filter(|d| d.trials > 0).map(|d| d.level).collect();
    levels.sort_by(f64::total_cmp);
    levels.dedup();
    if levels.len() < 2 { Err(PsychometricError::Levels(levels.len())) } else { Ok(()) }
}

/// Log likelihood of a level under its own proportion, without the coefficient.
fn saturated(d: &LevelCount) -> f64 {
    let (n, k) = (f64::from(d.trials), f64::from(d.positive));
    let part = |count: f64| if count > 0.0 { count * (count / n).ln() } else { 0.0 };
    part(k) + part(n - k)
}

fn likelihood(
    shape: Shape,
    guess: f64,
    lapse: f64,
    data: &[LevelCount],
    at: &DVector<f64>,
) -> Option<Local> {
    let (location, spread) = (at[0], at[1]);
    if !(spread > 0.0) || (shape == Shape::Weibull && !(location > 0.0)) {
        return None;
    }
    let range = 1.0 - guess - lapse;
    let mut value = 0.0;
    let mut slope = DVector::zeros(2);
    let mut information = DMatrix::zeros(2, 2);
    for d in data {
        let (f, by_location, by_spread) = shape.evaluate(d.level, location, spread);
        let (n, k) = (f64::from(d.trials), f64::from(d.positive));
        let p = (guess + range * f).clamp(1e-300, 1.0);
        let q = (1.0 - p).max(1e-300);
        if k > 0.0 {
            value += k * p.ln();
        }
        if n > k {
            value += (n - k) * q.ln();
        }
        let by = DVector::from_row_slice(&[range * by_location, range * by_spread]);
        slope += &by * (k / p - (n - k) / q);
        information += &by * by.transpose() * (n / (p * q).max(1e-12));
    }
    value.is_finite().then_some(Local { value, slope, information })
}
