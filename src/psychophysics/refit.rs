//! The full observer fitted to all trials: maximum a-posteriori with the curvature there.
//!
//! What is reported is the whole posterior ([`Posterior`](crate::psychophysics::Posterior)), which
//! is drawn from about this maximum.

use crate::psychophysics::glance_model::{GlanceModel, GlanceParameters, ModelTrial, place};
use crate::psychophysics::scoring::{Local, Maximum, maximise, maximum_value};
use nalgebra::{DMatrix, DVector};

/// Largest lapse rate the fit allows.
const LARGEST_LAPSE: f64 = 0.15;

/// Which parameters are free.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fit {
    /// All of them. What is reported.
    Full,
    /// Thresholds, exponent, criterion and lapse; natural variation, midline and side bias held at
    /// 0. Shows what ignoring them costs.
    Simple,
}

/// A parameter on the scale of the fit, where it is roughly normal, with its prior.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Scale {
    link: Link,
    mean: f64,
    sd: f64,
}

/// From the scale of the fit to the natural parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Link {
    Identity,
    /// `top / (1 + e^−z)`.
    Logistic(f64),
}

impl Link {
    /// The natural value and its slope.
    fn natural(self, z: f64) -> (f64, f64) {
        match self {
            Self::Identity => (z, 1.0),
            Self::Logistic(top) => {
                let share = 1.0 / (1.0 + (-z).exp());
                (top * share, top * share * (1.0 - share))
            }
        }
    }
}

/// Mean and standard deviation of the criterion before any trial. False alarms of 4 to 55 %, 27 % on
/// average, over sixteen observers (Lindsey & Wee, J Dent 2007;35:593-599) are criteria of 2.65 to
/// 1.43 for ten teeth; a range of 1.22 over sixteen stands for a standard deviation of 0.35. A
/// quarter more, since such a range is itself uncertain by a fifth.
pub(crate) const CRITERION: (f64, f64) = (2.0, 0.45);

/// Standard deviations of the side bias in the two kinds of observers that are as likely before any
/// trial: those who have hardly any, and the others. Design choice.
const SIDE_BIAS: [f64; 2] = [0.05, 0.4];

/// Priors, design choices but for [`CRITERION`]: `ln τ ~ N(ln 2, 0.8)`, `ln β ~ N(0, 0.25)`,
/// `logit κ ~ N(−0.85, 0.8)`, `η ~ N(0.04, 0.05)`; the lapse rate is logistic below 0.15 with a
/// median of 0.027. The side bias has the two normal distributions of [`SIDE_BIAS`]; the climb, which
/// needs one hill, takes one of about their spread, `b ~ N(0, 0.3)`.
fn scales(axes: usize) -> Vec<Scale> {
    let plain = |mean: f64, sd: f64| Scale { link: Link::Identity, mean, sd };
    let mut scales = vec![plain(2.0_f64.ln(), 0.8); axes];
    scales.extend([
        plain(0.0, 0.25),
        plain(CRITERION.0, CRITERION.1),
        Scale { link: Link::Logistic(LARGEST_LAPSE), mean: -1.5, sd: 1.0 },
        Scale { link: Link::Logistic(1.0), mean: -0.85, sd: 0.8 },
        plain(0.04, 0.05),
        plain(0.0, 0.3),
    ]);
    scales
}

/// A fitted observer: estimates and standard errors on the scale of the fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Refit {
    axes: usize,
    /// All natural-scale parameters, fixed ones included.
    natural: Vec<f64>,
    scales: Vec<Scale>,
    /// Index into `at` of every parameter; `None` where fixed.
    free: Vec<Option<usize>>,
    maximum: Maximum,
}

impl Refit {
    /// Fits `model` to `trials`. `None` when a trial does not fit the model or the posterior has
    /// no proper maximum, which no trials within range cause.
    #[must_use]
    pub fn new(model: &GlanceModel, trials: &[ModelTrial], fit: Fit) -> Option<Self> {
        let n = model.teeth();
        let fits = |t: &ModelTrial| t.answer <= n && t.signal.is_none_or(|(i, _, _)| i < n);
        if n == 0 || !trials.iter().all(fits) {
            return None;
        }
        let axes = model.axes().len();
        let scales = scales(axes);
        let free = number(scales.len(), |i| match fit {
            Fit::Full => true,
            Fit::Simple => i < axes + place::CONFUSION,
        });
        let means: Vec<f64> =
            scales.iter().zip(&free).filter(|(_, f)| f.is_some()).map(|(s, _)| s.mean).collect();
        let start = DVector::from_vec(means);
        let posterior = |at: &DVector<f64>| local(model, trials, &scales, &free, at);
        let maximum = maximise(start, 1e-10, posterior)?;
        let natural = naturals(&scales, &free, &maximum.at).into_iter().map(|(v, _)| v).collect();
        Some(Self { axes, natural, scales, free, maximum })
    }

    /// Whether the climb reached a maximum.
    #[must_use]
    pub const fn converged(&self) -> bool {
        self.maximum.converged
    }

    /// Estimate and standard error of `ln τ` on one axis.
    #[must_use]
    pub fn ln_threshold(&self, axis: usize) -> (f64, f64) {
        (self.natural[axis], self.sd(axis))
    }

    /// Estimate and standard error of the criterion.
    #[must_use]
    pub fn criterion(&self) -> (f64, f64) {
        let i = self.axes + place::CRITERION;
        (self.natural[i], self.sd(i))
    }

    /// Estimate and standard error of the side bias; the latter 0 in a simple fit.
    #[must_use]
    pub fn side_bias(&self) -> (f64, f64) {
        let i = self.axes + place::SIDE;
        (self.natural[i], self.sd(i))
    }

    /// Estimate of the confusion `κ`.
    #[must_use]
    pub fn confusion(&self) -> f64 {
        self.natural[self.axes + place::CONFUSION]
    }

    /// Whether the trials speak against no confusion at all, at the 2.5 % level: twice the fall in
    /// log likelihood from this fit to the best one without confusion, priors on confusion left
    /// out. On its logistic scale an interval cannot reach 0, so it cannot say this. `model` and
    /// `trials` are those of the fit.
    #[must_use]
    pub fn finds_confusion(&self, model: &GlanceModel, trials: &[ModelTrial]) -> bool {
        let i = self.axes + place::CONFUSION;
        let Some(k) = self.free[i] else { return false };
        let free = number(self.scales.len(), |j| j != i && self.free[j].is_some());
        let posterior = |at: &DVector<f64>| local(model, trials, &self.scales, &free, at);
        let start = self.maximum.at.clone().remove_row(k);
        let Some(without) = maximum_value(start, 1e-6, posterior) else { return false };
        let z = (self.maximum.at[k] - self.scales[i].mean) / self.scales[i].sd;
        2.0 * (self.maximum.value + 0.5 * z * z - without) > Z95 * Z95
    }

    /// The fitted observer. `model` is the one it was fitted with.
    #[must_use]
    pub fn parameters(&self, model: &GlanceModel) -> GlanceParameters {
        let thresholds = model.axes().iter().zip(&self.natural).map(|(a, t)| (*a, t.exp()));
        let shared = &self.natural[self.axes..];
        GlanceParameters {
            thresholds_de00: thresholds.collect(),
            exponent: shared[place::EXPONENT].exp(),
            criterion: shared[place::CRITERION],
            lapse: shared[place::LAPSE],
            confusion: shared[place::CONFUSION],
            eccentricity_loss: shared[place::ECCENTRICITY],
            side_bias: shared[place::SIDE],
        }
    }

    /// The maximum on the scale of the fit, free parameters only.
    pub(crate) const fn at(&self) -> &DVector<f64> {
        &self.maximum.at
    }

    /// Covariance of the normal distribution at the maximum, on the scale of the fit.
    pub(crate) const fn covariance(&self) -> &DMatrix<f64> {
        &self.maximum.covariance
    }

    /// Logarithm of the prior on the scale of the fit, up to a constant.
    pub(crate) fn ln_prior(&self, at: &DVector<f64>) -> f64 {
        let side = self.axes + place::SIDE;
        let ln = |(i, (scale, free)): (usize, (&Scale, &Option<usize>))| {
            let Some(k) = *free else { return 0.0 };
            if i == side {
                let bell = |sd: f64| (-0.5 * (at[k] / sd).powi(2)).exp() / sd;
                return SIDE_BIAS.map(bell).iter().sum::<f64>().ln();
            }
            let z = (at[k] - scale.mean) / scale.sd;
            -0.5 * z * z
        };
        self.scales.iter().zip(&self.free).enumerate().map(ln).sum()
    }

    /// Natural parameters at a point on the scale of the fit.
    pub(crate) fn natural_at(&self, at: &DVector<f64>, natural: &mut [f64]) {
        for ((scale, free), natural) in self.scales.iter().zip(&self.free).zip(natural) {
            *natural = free.map_or(0.0, |k| scale.link.natural(at[k]).0);
        }
    }

    /// Natural parameters in the model's order.
    pub(crate) fn natural(&self) -> &[f64] {
        &self.natural
    }

    /// Standard error on the scale of the fit, 0 where fixed.
    fn sd(&self, i: usize) -> f64 {
        self.free[i].map_or(0.0, |k| self.maximum.covariance[(k, k)].sqrt())
    }

    /// Estimate and normal 95 % bounds of `ln τ` on one axis. Where one learner is reported on,
    /// [`Posterior`](crate::psychophysics::Posterior) says it better; this is for thousands.
    pub(crate) fn ln_threshold_bounds(&self, axis: usize) -> (f64, f64, f64) {
        let (ln, sd) = self.ln_threshold(axis);
        (ln, ln - Z95 * sd, ln + Z95 * sd)
    }

    /// Standard error of `ln τ` on one axis less that on another.
    pub(crate) fn sd_of_ln_ratio(&self, axis: usize, other: usize) -> f64 {
        let covariance = |i: usize, j: usize| match (self.free[i], self.free[j]) {
            (Some(k), Some(l)) => self.maximum.covariance[(k, l)],
            _ => 0.0,
        };
        let (i, j) = (axis, other);
        (covariance(i, i) + covariance(j, j) - 2.0 * covariance(i, j)).max(0.0).sqrt()
    }
}

/// Two-sided 95 % point of the standard normal distribution.
const Z95: f64 = 1.959_963_984_540_054;

/// Numbers the free ones among `count` parameters.
fn number(count: usize, is_free: impl Fn(usize) -> bool) -> Vec<Option<usize>> {
    let free = (0..count).scan(0, |next, i| {
        let own = is_free(i).then_some(*next);
        *next += usize::from(own.is_some());
        Some(own)
    });
    free.collect()
}

/// Natural value and slope of every parameter. Fixed ones are 0.
fn naturals(scales: &[Scale], free: &[Option<usize>], at: &DVector<f64>) -> Vec<(f64, f64)> {
    let natural = |(scale, free): (&Scale, &Option<usize>)| {
        free.map_or((0.0, 0.0), |k| scale.link.natural(at[k]))
    };
    scales.iter().zip(free).map(natural).collect()
}

/// Log posterior with slope and expected information.
fn local(
    model: &GlanceModel,
    trials: &[ModelTrial],
    scales: &[Scale],
    free: &[Option<usize>],
    at: &DVector<f64>,
) -> Option<Local> {
    // Far beyond any threshold, criterion or bias: not worth a quadrature.
    if at.iter().any(|z| !(z.abs() < 40.0)) {
        return None;
    }
    let count = at.len();
    let (natural, chain): (Vec<f64>, Vec<f64>) = naturals(scales, free, at).into_iter().unzip();
    let mut value = 0.0;
    let mut slope = DVector::zeros(count);
    let mut information = DMatrix::zeros(count, count);
    for (i, k) in free.iter().enumerate() {
        if let Some(k) = *k {
            let z = (at[k] - scales[i].mean) / scales[i].sd;
            value -= 0.5 * z * z;
            slope[k] -= z / scales[i].sd;
            information[(k, k)] += 1.0 / (scales[i].sd * scales[i].sd);
        }
    }
    let width = scales.len();
    let mut row = vec![0.0; count];
    for trial in trials {
        let response = model.respond(&natural, trial, true);
        for (y, p) in response.probability.iter().enumerate() {
            let p = p.max(1e-300);
            for (i, k) in free.iter().enumerate() {
                if let Some(k) = *k {
                    row[k] = response.slopes[y * width + i] * chain[i];
                }
            }
            if y == trial.answer {
                value += p.ln();
                for k in 0..count {
                    slope[k] += row[k] / p;
                }
            }
            for k in 0..count {
                let scaled = row[k] / p;
                for l in 0..=k {
                    information[(k, l)] += scaled * row[l];
                }
            }
        }
    }
    for k in 0..count {
        for l in 0..k {
            information[(l, k)] = information[(k, l)];
        }
    }
    value.is_finite().then_some(Local { value, slope, information })
}
