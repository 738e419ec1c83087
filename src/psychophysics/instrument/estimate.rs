//! What a measurement says, each figure with its interval.

use crate::psychophysics::{Axis, GlanceParameters, Proportion, Summary};
use serde::{Deserialize, Serialize};

/// A figure with its 95 % interval: median and middle 95 % of the posterior, unless said
/// otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Interval {
    /// The estimate.
    pub value: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

impl Interval {
    /// The interval on another scale, by an increasing function.
    #[must_use]
    pub fn map(self, scale: impl Fn(f64) -> f64) -> Self {
        Self { value: scale(self.value), low: scale(self.low), high: scale(self.high) }
    }
}

/// Trials by what became of them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Counts {
    /// Signal trials answered.
    pub signal: u32,
    /// Catch trials answered.
    pub catch: u32,
    /// Trials that ran out of time.
    pub timed_out: u32,
    /// Trials marked void and repeated.
    pub void: u32,
}

/// What was found on one axis.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AxisEstimate {
    /// The axis.
    pub axis: Axis,
    /// Threshold `τ`, ΔE00: the difference at which d′ is 2.
    pub threshold_de00: Interval,
    /// Posterior standard deviation of `ln τ`.
    pub sd_ln_threshold: f64,
    /// The difference at which any tooth at all is named on half of the trials, ΔE00: what
    /// published 50 % points compare with. It falls with false alarms, so never show it without
    /// them. `None` where false alarms alone reach a half; the lower end is 0 where that is
    /// possible.
    pub half_way_de00: Option<Interval>,
    /// Signal trials answered on this axis.
    pub trials: u32,
    /// d′ at the published perceptibility value.
    pub d_prime_at_perceptibility: Interval,
    /// d′ at the published acceptability value.
    pub d_prime_at_acceptability: Interval,
    /// Whether the threshold may be reported: the interval's ends lie within a factor of 2.5, and
    /// the learner named the right tooth more often than guessing would.
    pub measured: bool,
}

/// Whether darker or lighter errors are seen more easily.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ValueAsymmetry {
    /// `τ` for darker over `τ` for lighter; below 1, darker errors are seen more easily.
    pub ratio: Interval,
}

impl ValueAsymmetry {
    /// Whether the interval leaves no doubt on which side of 1 the ratio lies.
    #[must_use]
    pub fn is_certain(&self) -> bool {
        self.ratio.low > 1.0 || self.ratio.high < 1.0
    }
}

/// False alarms: how often a tooth was named in a smile without a restoration.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FalseAlarms {
    /// Catch trials on which a tooth was named, of those answered.
    pub counted: Proportion,
    /// The share with its Wilson interval; `None` without catch trials.
    pub rate: Option<Interval>,
    /// The rate the fitted model gives for the catch smiles shown, 0..1; it learns from signal
    /// trials too, so it is the more precise.
    pub modelled: Interval,
}

/// The whole result of a measurement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Trials by what became of them.
    pub counts: Counts,
    /// One entry per axis asked, in that order.
    pub axes: Vec<AxisEstimate>,
    /// False alarms.
    pub false_alarms: FalseAlarms,
    /// Criterion `c` per tooth, in units of the noise.
    pub criterion: Interval,
    /// Transducer exponent `β`.
    pub exponent: Interval,
    /// Lapse rate `λ`.
    pub lapse: Interval,
    /// How much natural variation is taken for a restoration, `κ`, 0..1. Its prior has a median of
    /// 0.3 and draws estimates at either end towards it. The interval begins at 0 unless the
    /// answers speak against none.
    pub confusion: Interval,
    /// Loss of gain per tooth from the midline, `η`.
    pub eccentricity_loss: Interval,
    /// Side bias `b`, in units of the noise: above 0, the viewer's right is named more readily.
    pub side_bias: Interval,
    /// Darker against lighter; `None` unless both were asked.
    pub value_asymmetry: Option<ValueAsymmetry>,
    /// Signal trials with the right tooth, of all signal trials, timed-out ones included.
    pub found: Proportion,
    /// Session score `J`, 0..100; `None` unless both kinds of trial were shown. An adaptive run
    /// holds it near constant by design: a sanity check, not a headline.
    pub score: Option<f64>,
    /// Exact one-sided probability of naming the right tooth at least as often by pointing at
    /// random, given how often any tooth was named on signal trials.
    pub chance_probability: f64,
    /// Whether the fit that starts the summary converged.
    pub converged: bool,
    /// How the intervals were found.
    pub summary: Summary,
}

impl Estimate {
    /// Chance probability below which a learner is taken to see anything at all.
    pub const CHANCE_LEVEL: f64 = 0.01;

    /// The fitted observer, for drawing its psychometric function with
    /// [`GlanceModel::probabilities`](crate::psychophysics::GlanceModel::probabilities).
    #[must_use]
    pub fn parameters(&self) -> GlanceParameters {
        let thresholds = self.axes.iter().map(|a| (a.axis, a.threshold_de00.value));
        GlanceParameters {
            thresholds_de00: thresholds.collect(),
            exponent: self.exponent.value,
            criterion: self.criterion.value,
            lapse: self.lapse.value,
            confusion: self.confusion.value,
            eccentricity_loss: self.eccentricity_loss.value,
            side_bias: self.side_bias.value,
        }
    }

    /// Whether the learner named the right tooth more often than pointing at random would, at the
    /// 1 % level. If not, no threshold is reported.
    #[must_use]
    pub fn is_measurable(&self) -> bool {
        self.chance_probability < Self::CHANCE_LEVEL
    }
}
