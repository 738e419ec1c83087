//! From records to an estimate.

use super::config::{Answer, Config, InstrumentError, Record};
use super::estimate::{AxisEstimate, Counts, Estimate, FalseAlarms, Interval, ValueAsymmetry};
use crate::psychophysics::choice::distribution;
use crate::psychophysics::glance_model::{D_PRIME_AT_THRESHOLD, GlanceModel, ModelTrial, place};
use crate::psychophysics::likelihood::Likelihood;
use crate::psychophysics::refit::{Fit, Refit};
use crate::psychophysics::{
    ACCEPTABILITY_DE00, Axis, Distribution, PERCEPTIBILITY_DE00, Posterior, Proportion,
};
use statrs::distribution::{Binomial, ContinuousCDF, DiscreteCDF, Normal};

/// Largest ratio of an interval's ends that is still reported as a threshold.
const LARGEST_RATIO: f64 = 2.5;

/// The answered trials as the model sees them.
pub(super) fn model_trials(config: &Config, records: &[Record]) -> Vec<ModelTrial> {
    let index = |tooth| config.teeth.iter().position(|t| *t == tooth);
    let trial = |record: &Record| {
        let answer = match record.answer {
            Answer::Tooth(tooth) => index(tooth)? + 1,
            Answer::None => 0,
            Answer::TimedOut | Answer::Void => return None,
        };
        let signal = match record.stimulus.signal {
            Some(signal) => Some((index(signal.tooth)?, signal.direction, record.shown.de00)),
            None => None,
        };
        let mut residuals_de00 = record.shown.residuals_de00.clone();
        residuals_de00.resize(config.teeth.len(), 0.0);
        let exposure_s = record.shown.exposure_s;
        Some(ModelTrial { signal, residuals_de00, exposure_s, answer })
    };
    records.iter().filter_map(trial).collect()
}

/// Everything that can be said of some records.
pub(super) fn fit(
    config: &Config,
    records: &[Record],
) -> Result<(Estimate, Posterior), InstrumentError> {
    let model = GlanceModel::new(&config.teeth, &config.axes);
    let trials = model_trials(config, records);
    let tally = Tally::new(records);
    let chance_probability = tally.chance_probability(config.teeth.len());
    let refit = Refit::new(&model, &trials, Fit::Full).ok_or(InstrumentError::Fit(trials.len()))?;
    let likelihood = Likelihood::new(&model, &trials);
    let posterior = Posterior::sample(&refit, &likelihood);
    let axis = |(index, axis): (usize, &Axis)| {
        let ln_threshold = posterior.ln_threshold(index);
        let threshold_de00 = interval(&ln_threshold).map(f64::exp);
        let precise = threshold_de00.high / threshold_de00.low <= LARGEST_RATIO;
        let d_prime = |de00: f64| interval(&posterior.ln_d_prime(index, de00)).map(f64::exp);
        AxisEstimate {
            axis: *axis,
            threshold_de00,
            sd_ln_threshold: ln_threshold.sd(),
            half_way_de00: half_way(&posterior, config, index),
            trials: tally.on(*axis),
            d_prime_at_perceptibility: d_prime(PERCEPTIBILITY_DE00),
            d_prime_at_acceptability: d_prime(ACCEPTABILITY_DE00),
            measured: precise && chance_probability < Estimate::CHANCE_LEVEL,
        }
    };
    let find = |axis: Axis| config.axes.iter().position(|a| *a == axis);
    let value_asymmetry = find(Axis::Darker).zip(find(Axis::Lighter)).map(|(dark, light)| {
        let ln_ratio = posterior.of(|natural| natural[dark] - natural[light]);
        ValueAsymmetry { ratio: interval(&ln_ratio).map(f64::exp) }
    });
    let shared = |place: usize| interval(&posterior.shared(place));
    let mut confusion = shared(place::CONFUSION);
    if !refit.finds_confusion(&model, &trials) {
        confusion.low = 0.0;
    }
    let modelled = interval(&posterior.of(|natural| likelihood.named_on_catch(natural)));
    let estimate = Estimate {
        counts: tally.counts,
        axes: config.axes.iter().enumerate().map(axis).collect(),
        false_alarms: tally.false_alarms(modelled),
        criterion: shared(place::CRITERION),
        exponent: shared(place::EXPONENT).map(f64::exp),
        lapse: shared(place::LAPSE),
        confusion,
        eccentricity_loss: shared(place::ECCENTRICITY),
        side_bias: shared(place::SIDE),
        value_asymmetry,
        found: tally.found,
        score: tally.score(),
        chance_probability,
        converged: refit.converged(),
        summary: posterior.summary(),
    };
    Ok((estimate, posterior))
}

/// Median and the middle 95 %. Quantiles stay what they are on every scale, so that a figure and
/// its logarithm say the same.
fn interval(of: &Distribution) -> Interval {
    let (value, low, high) = (of.quantile(0.5), of.quantile(0.025), of.quantile(0.975));
    Interval { value, low, high }
}

/// The difference at which "none" falls to a half, for teeth that keep to the norm, mean gain and
/// no side bias: `Φ(c − μ) = (½ − λ/(n+1)) / ((1 − λ) Φ(c)^(n−1))`, `ln x = ln τ + ln(μ/2) / β`.
/// Observers whose false alarms alone reach a half count as 0.
fn half_way(posterior: &Posterior, config: &Config, axis: usize) -> Option<Interval> {
    let (axes, n) = (config.axes.len(), config.teeth.len() as f64);
    let normal = Normal::standard();
    let ln = |natural: &[f64]| {
        let (lapse, criterion) = (natural[axes + place::LAPSE], natural[axes + place::CRITERION]);
        let others = distribution(criterion).powf(n - 1.0);
        let none = (0.5 - lapse / (n + 1.0)) / ((1.0 - lapse) * others);
        let evidence = criterion - normal.inverse_cdf(none.min(1.0));
        if none < 1.0 && evidence > 0.0 {
            let exponent = natural[axes + place::EXPONENT].exp();
            natural[axis] + (evidence / D_PRIME_AT_THRESHOLD).ln() / exponent
        } else {
            f64::NEG_INFINITY
        }
    };
    let half_way = interval(&posterior.of(ln)).map(f64::exp);
    (half_way.value > 0.0).then_some(half_way)
}

/// Counts of records.
struct Tally {
    counts: Counts,
    /// Answered signal trials by axis, in the order of [`Axis::ALL`].
    axes: [u32; 4],
    found: Proportion,
    correctly_none: Proportion,
    named_on_signal: u32,
    false_alarms: Proportion,
}

impl Tally {
    fn new(records: &[Record]) -> Self {
        let mut tally = Self {
            counts: Counts::default(),
            axes: [0; 4],
            found: Proportion::default(),
            correctly_none: Proportion::default(),
            named_on_signal: 0,
            false_alarms: Proportion::default(),
        };
        for record in records {
            tally.add(record);
        }
        tally
    }

    fn add(&mut self, record: &Record) {
        let answered = match record.answer {
            Answer::Void => {
                self.counts.void += 1;
                return;
            }
            Answer::TimedOut => {
                self.counts.timed_out += 1;
                false
            }
            Answer::Tooth(_) | Answer::None => true,
        };
        let named = match record.answer {
            Answer::Tooth(tooth) => Some(tooth),
            _ => None,
        };
        match record.stimulus.signal {
            Some(signal) => {
                self.found.total += 1;
                self.found.successes += u32::from(named == Some(signal.tooth));
                self.named_on_signal += u32::from(named.is_some());
                if answered {
                    self.counts.signal += 1;
                    self.axes[signal.direction.axis() as usize] += 1;
                }
            }
            None => {
                self.correctly_none.total += 1;
                self.correctly_none.successes += u32::from(record.answer == Answer::None);
                if answered {
                    self.counts.catch += 1;
                    self.false_alarms.total += 1;
                    self.false_alarms.successes += u32::from(named.is_some());
                }
            }
        }
    }

    fn on(&self, axis: Axis) -> u32 {
        self.axes[axis as usize]
    }

    /// Upper tail of a binomial: right teeth out of teeth named, one in `teeth` by chance.
    fn chance_probability(&self, teeth: usize) -> f64 {
        if self.found.successes == 0 {
            return 1.0;
        }
        let by_chance = Binomial::new(1.0 / teeth as f64, u64::from(self.named_on_signal));
        by_chance.map_or(1.0, |b| b.sf(u64::from(self.found.successes) - 1))
    }

    fn score(&self) -> Option<f64> {
        let (hit, none) = (self.found.value()?, self.correctly_none.value()?);
        Some(100.0 * (hit + none - 1.0).max(0.0))
    }

    fn false_alarms(&self, modelled: Interval) -> FalseAlarms {
        let rate = self.false_alarms.value().zip(self.false_alarms.wilson(0.95));
        FalseAlarms {
            counted: self.false_alarms,
            rate: rate.map(|(value, (low, high))| Interval { value, low, high }),
            modelled,
        }
    }
}
