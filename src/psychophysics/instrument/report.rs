//! From records to an estimate.

use super::config::{Answer, Config, InstrumentError, Record};
use super::estimate::{AxisEstimate, Counts, Estimate, FalseAlarms, Interval, ValueAsymmetry};
use crate::psychophysics::choice::distribution;
use crate::psychophysics::glance_model::{D_PRIME_AT_THRESHOLD, GlanceModel, ModelTrial, place};
use crate::psychophysics::refit::{Bounds, Fit, Refit, Z95};
use crate::psychophysics::{ACCEPTABILITY_DE00, Axis, PERCEPTIBILITY_DE00, Proportion};
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
pub(super) fn estimate(config: &Config, records: &[Record]) -> Result<Estimate, InstrumentError> {
    let model = GlanceModel::new(&config.teeth, &config.axes);
    let trials = model_trials(config, records);
    let tally = Tally::new(records);
    let chance_probability = tally.chance_probability(config.teeth.len());
    let refit = Refit::new(&model, &trials, Fit::Full).ok_or(InstrumentError::Fit(trials.len()))?;
    let axis = |(index, axis): (usize, &Axis)| {
        let (_, sd) = refit.ln_threshold(index);
        let threshold_de00 = refit.ln_threshold_bounds(index);
        let threshold_de00 = interval(threshold_de00).map(f64::exp);
        let precise = threshold_de00.high / threshold_de00.low <= LARGEST_RATIO;
        let at = |x: f64| d_prime(&refit, config.axes.len(), index, x);
        AxisEstimate {
            axis: *axis,
            threshold_de00,
            sd_ln_threshold: sd,
            half_way_de00: half_way(&refit, config.axes.len(), config.teeth.len(), index),
            trials: tally.on(*axis),
            d_prime_at_perceptibility: at(PERCEPTIBILITY_DE00),
            d_prime_at_acceptability: at(ACCEPTABILITY_DE00),
            measured: precise && chance_probability < Estimate::CHANCE_LEVEL,
        }
    };
    let find = |axis: Axis| config.axes.iter().position(|a| *a == axis);
    let value_asymmetry = find(Axis::Darker).zip(find(Axis::Lighter)).map(|(dark, light)| {
        let difference = refit.ln_threshold(dark).0 - refit.ln_threshold(light).0;
        let half = Z95 * refit.sd_of(&[(dark, 1.0), (light, -1.0)]);
        let ratio = interval((difference, difference - half, difference + half)).map(f64::exp);
        ValueAsymmetry { ratio }
    });
    let criterion = interval(refit.bounds(place::CRITERION));
    let lapse = interval(refit.bounds(place::LAPSE));
    let mut confusion = interval(refit.bounds(place::CONFUSION));
    let without = Refit::new(&model, &trials, Fit::Unconfused);
    if !without.is_some_and(|without| refit.finds_confusion(&without)) {
        confusion.low = 0.0;
    }
    // Over the smiles shown; over a smile that keeps to the norm where there was none.
    let norm = ModelTrial {
        signal: None,
        residuals_de00: vec![],
        exposure_s: config.exposure_s,
        answer: 0,
    };
    let named = |t: &ModelTrial| 1.0 - model.respond(refit.natural(), t, false).probability[0];
    let catch: Vec<f64> = trials.iter().filter(|t| t.signal.is_none()).map(named).collect();
    let modelled = match catch.len() {
        0 => named(&norm),
        n => catch.iter().sum::<f64>() / n as f64,
    };
    Ok(Estimate {
        counts: tally.counts,
        axes: config.axes.iter().enumerate().map(axis).collect(),
        false_alarms: tally.false_alarms(modelled),
        criterion,
        exponent: interval(refit.bounds(place::EXPONENT)).map(f64::exp),
        lapse,
        confusion,
        eccentricity_loss: interval(refit.bounds(place::ECCENTRICITY)),
        side_bias: interval(refit.bounds(place::SIDE)),
        value_asymmetry,
        found: tally.found,
        score: tally.score(),
        chance_probability,
        converged: refit.converged(),
    })
}

fn interval((value, low, high): Bounds) -> Interval {
    Interval { value, low, high }
}

/// d′ at a difference `x`: `ln d′ = ln 2 + β (ln x − ln τ)`, its error to first order.
fn d_prime(refit: &Refit, axes: usize, axis: usize, x: f64) -> Interval {
    let exponent = refit.natural()[axes + place::EXPONENT].exp();
    let distance = x.ln() - refit.ln_threshold(axis).0;
    let ln = D_PRIME_AT_THRESHOLD.ln() + exponent * distance;
    let weights = [(axis, -exponent), (axes + place::EXPONENT, exponent * distance)];
    let half = Z95 * refit.sd_of(&weights);
    interval((ln, ln - half, ln + half)).map(f64::exp)
}

/// The difference at which "none" falls to a half, for teeth that keep to the norm, mean gain and
/// no side bias: `Φ(c − μ) = (½ − λ/(n+1)) / ((1 − λ) Φ(c)^(n−1))`, `ln x = ln τ + ln(μ/2) / β`.
/// Its error is to first order in threshold, exponent and criterion.
fn half_way(refit: &Refit, axes: usize, teeth: usize, axis: usize) -> Option<Interval> {
    let natural = &refit.natural()[axes..];
    let (lapse, n) = (natural[place::LAPSE], teeth as f64);
    let evidence = |criterion: f64| {
        let others = distribution(criterion).powf(n - 1.0);
        let none = (0.5 - lapse / (n + 1.0)) / ((1.0 - lapse) * others);
        let evidence = criterion - Normal::standard().inverse_cdf(none.min(1.0));
        (none < 1.0 && evidence > 0.0).then_some(evidence)
    };
    let criterion = natural[place::CRITERION];
    let (here, step) = (evidence(criterion)?, 1e-4);
    let by_criterion = (evidence(criterion + step)?.ln() - here.ln()) / step;
    let exponent = natural[place::EXPONENT].exp();
    let above = (here / D_PRIME_AT_THRESHOLD).ln() / exponent;
    let ln = refit.ln_threshold(axis).0 + above;
    let weights = [
        (axis, 1.0),
        (axes + place::EXPONENT, -above),
        (axes + place::CRITERION, by_criterion / exponent),
    ];
    let half = Z95 * refit.sd_of(&weights);
    Some(interval((ln, ln - half, ln + half)).map(f64::exp))
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

    fn false_alarms(&self, modelled: f64) -> FalseAlarms {
        let rate = self.false_alarms.value().zip(self.false_alarms.wilson(0.95));
        FalseAlarms {
            counted: self.false_alarms,
            rate: rate.map(|(value, (low, high))| Interval { value, low, high }),
            modelled,
        }
    }
}
