//! Cells of the recovery study: who is simulated, how long, and what comes back.

use rand::RngExt;
use rand::distr::Open01;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use second_glance::psychophysics::instrument::{
    Answer, AxisEstimate, Config, Instrument, Interval, OnlineModel, Record, Shown,
};
use second_glance::psychophysics::{
    ACCEPTABILITY_DE00, Axis, Distribution, Fit, GlanceModel, GlanceParameters, ModelTrial,
    PERCEPTIBILITY_DE00, Refit, Sight, SimulatedObserver, Summary,
};
use second_glance::random::{Purpose, StreamKey};
use second_glance::scene::Tooth;
use statrs::distribution::{ContinuousCDF, Normal};
use std::sync::Arc;

/// Spread of natural residuals in value, ΔE00.
pub const RESIDUAL_SD: f64 = 0.7;

/// One cell.
#[derive(Debug, Clone)]
pub struct Cell {
    pub name: &'static str,
    pub axes: Vec<Axis>,
    pub teeth: usize,
    /// Fixed number of trials; `None` runs to the instrument's own stop rule.
    pub trials: Option<u32>,
    pub truths: Truths,
}

/// Who is simulated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Truths {
    /// Learners as they may come, without side bias.
    Typical,
    /// Natural variation, side bias and distance from the midline matter much.
    Biased,
    /// Drawn from the priors of the refit: then ranks of the truth in the posterior are flat.
    Prior,
    /// Typical, but natural variation is never taken for a restoration.
    Unconfused,
    /// Typical, but natural variation counts in full.
    Confused,
}

/// A quantity that came back.
#[derive(Debug, Clone, Copy)]
pub struct Recovered {
    pub truth: f64,
    pub estimate: f64,
    pub sd: f64,
    /// Whether the 95 % interval holds the truth.
    pub held: bool,
    /// Share of the posterior below the truth.
    pub rank: f64,
}

/// What one run gave.
pub struct Run {
    /// `ln τ` per axis by the full fit.
    pub ln_threshold: Vec<Recovered>,
    /// `ln τ` per axis by the fit that ignores natural variation, side bias and midline.
    pub simple: Vec<Recovered>,
    pub criterion: Recovered,
    pub side_bias: Recovered,
    /// `ln d′` per axis at the published perceptibility and acceptability values.
    pub ln_d_prime: [Vec<Recovered>; 2],
    pub confusion: Recovered,
    /// False-alarm rate over the catch smiles shown.
    pub false_alarms: Recovered,
    /// Whether the Wilson interval holds the true rate over the smiles shown.
    pub wilson: bool,
    pub trials: u32,
    pub converged: bool,
    /// Effective draws of the posterior; 0 where the normal approximation was stated.
    pub effective: f64,
}

impl Recovered {
    fn new(truth: f64, stated: Interval, posterior: &Distribution) -> Self {
        Self {
            truth,
            estimate: stated.value,
            sd: posterior.sd(),
            held: stated.low <= truth && truth <= stated.high,
            rank: posterior.share_below(truth),
        }
    }

    /// As a normal distribution states it.
    pub fn normal(truth: f64, estimate: f64, sd: f64) -> Self {
        let held = (estimate - truth).abs() <= 1.959_964 * sd;
        let rank = Normal::standard().cdf((truth - estimate) / sd);
        Self { truth, estimate, sd, held, rank }
    }
}

/// A number for other observers in the same cells: `SECOND_GLANCE_SEED`, 1 unless set.
fn seed() -> u64 {
    std::env::var("SECOND_GLANCE_SEED").map_or(1, |text| text.parse().unwrap())
}

fn stream(name: &'static str, purpose: Purpose, run: u32, trial: u32) -> ChaCha8Rng {
    StreamKey { form: name, seed: seed(), purpose, block: run, trial }.stream()
}

pub fn deviate(rng: &mut ChaCha8Rng) -> f64 {
    Normal::standard().inverse_cdf(rng.sample(Open01))
}

/// Truths: τ log-normal about 2 (SD 0.4), β 0.75-1.3, c N(2, 0.4), λ 0.5-6 %, κ logit-normal about
/// 0.3, η N(0.04, 0.05). Biased: κ 0.4-0.8, η 0.05-0.12 and a side bias of SD 0.4. Design choices.
pub fn truth(cell: &Cell, run: u32) -> GlanceParameters {
    let mut rng = stream(cell.name, Purpose::Observer, run, u32::MAX);
    let uniform =
        |rng: &mut ChaCha8Rng, low: f64, high: f64| low + (high - low) * rng.random::<f64>();
    let prior = cell.truths == Truths::Prior;
    let spread = if prior { 0.8 } else { 0.4 };
    let thresholds_de00 =
        cell.axes.iter().map(|a| (*a, 2.0 * (spread * deviate(&mut rng)).exp())).collect();
    let logistic = |z: f64| 1.0 / (1.0 + (-z).exp());
    let (exponent, criterion, lapse) = if prior {
        let exponent = (0.25 * deviate(&mut rng)).exp();
        let criterion = 2.0 + 0.45 * deviate(&mut rng);
        (exponent, criterion, 0.15 * logistic(-1.5 + deviate(&mut rng)))
    } else {
        let exponent = uniform(&mut rng, 0.75_f64.ln(), 1.3_f64.ln()).exp();
        let criterion = (2.0 + 0.4 * deviate(&mut rng)).clamp(0.75, 3.0);
        (exponent, criterion, uniform(&mut rng, 0.005, 0.06))
    };
    let (confusion, eccentricity_loss, side_bias) = if cell.truths == Truths::Biased {
        (
            uniform(&mut rng, 0.4, 0.8),
            uniform(&mut rng, 0.05, 0.12),
            (0.4 * deviate(&mut rng)).clamp(-0.8, 0.8),
        )
    } else {
        let confusion = logistic(-0.85 + 0.8 * deviate(&mut rng));
        let eccentricity_loss = 0.04 + 0.05 * deviate(&mut rng);
        let side_bias = if prior {
            // Half of all have hardly any.
            let spread = if rng.random::<bool>() { 0.05 } else { 0.4 };
            spread * deviate(&mut rng)
        } else {
            0.0
        };
        (confusion, eccentricity_loss, side_bias)
    };
    let confusion = match cell.truths {
        Truths::Unconfused => 0.0,
        Truths::Confused => 1.0,
        _ => confusion,
    };
    GlanceParameters {
        thresholds_de00,
        exponent,
        criterion,
        lapse,
        confusion,
        eccentricity_loss,
        side_bias,
    }
}

/// Lets an observer answer a whole measurement.
pub fn measure(
    name: &'static str,
    mut config: Config,
    observer: &SimulatedObserver,
    run: u32,
    trials: Option<u32>,
    residual_sd_de00: f64,
    online: &Arc<OnlineModel>,
) -> Instrument {
    if let Some(trials) = trials {
        config.stop.max_trials = trials;
        config.stop.sd_ln_threshold = 1e-9;
    }
    let teeth = config.teeth.clone();
    let seed = u64::from(run);
    let mut instrument = Instrument::with_model(config, seed, Arc::clone(online)).unwrap();
    while instrument.is_done(0.0).is_none() {
        let stimulus = instrument.next_stimulus().unwrap();
        let mut scene = stream(name, Purpose::Scene, run, stimulus.shown);
        let shown = Shown {
            de00: stimulus.signal.map_or(0.0, |s| s.de00),
            residuals_de00: teeth.iter().map(|_| residual_sd_de00 * deviate(&mut scene)).collect(),
            exposure_s: 2.5,
        };
        let sight = Sight::new(&teeth, &stimulus, &shown);
        let mut rng = stream(name, Purpose::Observer, run, stimulus.shown);
        let answer = observer.answer(&sight, &mut rng);
        instrument.record(shown, answer).unwrap();
    }
    instrument
}

/// The answered trials as the model sees them, written out here to keep the gates independent of
/// the instrument's own report.
pub fn model_trials(teeth: &[Tooth], records: &[Record]) -> Vec<ModelTrial> {
    let index = |tooth: Tooth| teeth.iter().position(|t| *t == tooth).unwrap();
    let trial = |r: &Record| ModelTrial {
        signal: r.stimulus.signal.map(|s| (index(s.tooth), s.direction, r.shown.de00)),
        residuals_de00: r.shown.residuals_de00.clone(),
        exposure_s: r.shown.exposure_s,
        answer: match r.answer {
            Answer::Tooth(tooth) => index(tooth) + 1,
            _ => 0,
        },
    };
    records.iter().map(trial).collect()
}

impl Cell {
    fn run(&self, run: u32, online: &Arc<OnlineModel>) -> Run {
        let teeth = Tooth::arch(self.teeth);
        let truth = truth(self, run);
        let config = Config::new(teeth.clone(), self.axes.clone());
        let observer = SimulatedObserver::Noisy(truth.clone());
        let instrument =
            measure(self.name, config, &observer, run, self.trials, RESIDUAL_SD, online);
        let (estimate, posterior) = instrument.posterior_of(instrument.records()).unwrap();
        let model = GlanceModel::new(&teeth, &self.axes);
        let trials = model_trials(&teeth, instrument.records());
        let truths: Vec<f64> = truth.thresholds_de00.iter().map(|(_, t)| t.ln()).collect();
        let simple = if self.truths == Truths::Biased {
            let refit = Refit::new(&model, &trials, Fit::Simple).unwrap();
            let of = |(axis, truth): (usize, &f64)| {
                let (value, sd) = refit.ln_threshold(axis);
                Recovered::normal(*truth, value, sd)
            };
            truths.iter().enumerate().map(of).collect()
        } else {
            vec![]
        };
        let each = |of: &dyn Fn(usize, &AxisEstimate, f64) -> Recovered| {
            let axes = estimate.axes.iter().zip(&truths).enumerate();
            axes.map(|(i, (axis, truth))| of(i, axis, *truth)).collect::<Vec<_>>()
        };
        // d′ = 2 (x/τ)^β by definition, with the parameters the observer was made of.
        let ln_d_prime = |x: f64, of_axis: fn(&AxisEstimate) -> Interval| {
            each(&|i, axis, ln_threshold| {
                let truth = 2.0_f64.ln() + truth.exponent * (x.ln() - ln_threshold);
                let stated = of_axis(axis).map(f64::ln);
                Recovered::new(truth, stated, &posterior.ln_d_prime(i, x))
            })
        };
        let catch: Vec<&ModelTrial> = trials.iter().filter(|t| t.signal.is_none()).collect();
        let named = catch.iter().map(|t| 1.0 - model.probabilities(&truth, t)[0]);
        let shown_rate = named.sum::<f64>() / catch.len() as f64;
        let rate = estimate.false_alarms.rate.unwrap();
        let modelled = estimate.false_alarms.modelled;
        let named = posterior.false_alarms(&model, &trials);
        Run {
            ln_threshold: each(&|i, axis, truth| {
                let stated = axis.threshold_de00.map(f64::ln);
                Recovered::new(truth, stated, &posterior.ln_threshold(i))
            }),
            simple,
            criterion: Recovered::new(truth.criterion, estimate.criterion, &posterior.criterion()),
            side_bias: Recovered::new(truth.side_bias, estimate.side_bias, &posterior.side_bias()),
            ln_d_prime: [
                ln_d_prime(PERCEPTIBILITY_DE00, |axis| axis.d_prime_at_perceptibility),
                ln_d_prime(ACCEPTABILITY_DE00, |axis| axis.d_prime_at_acceptability),
            ],
            confusion: Recovered::new(truth.confusion, estimate.confusion, &posterior.confusion()),
            false_alarms: Recovered::new(shown_rate, modelled, &named),
            wilson: rate.low <= shown_rate && shown_rate <= rate.high,
            trials: instrument.trials(),
            converged: estimate.converged,
            effective: match estimate.summary {
                Summary::Sampled { effective } => effective,
                Summary::Normal => 0.0,
            },
        }
    }

    /// Many runs, in order.
    pub fn runs(&self, count: u32) -> Vec<Run> {
        let online = Arc::new(OnlineModel::new(self.teeth, 2.5).unwrap());
        (0..count).into_par_iter().map(|run| self.run(run, &online)).collect()
    }
}

/// Summary of one quantity over runs.
#[derive(Debug, Clone, Copy)]
pub struct Recovery {
    pub bias: f64,
    /// Standard error of the bias.
    pub bias_se: f64,
    pub rmse: f64,
    pub stated_sd: f64,
    /// Share of 95 % intervals that hold the truth.
    pub coverage: f64,
    /// Slope of error against truth.
    pub shrinkage: f64,
    /// χ² of the truth's rank in the posterior over ten equal bins, 9 degrees of freedom.
    pub rank_chi2: f64,
}

pub fn recovery(of: &[Recovered]) -> Recovery {
    let n = of.len() as f64;
    let mean = |quantity: &dyn Fn(&Recovered) -> f64| of.iter().map(quantity).sum::<f64>() / n;
    let error = |r: &Recovered| r.estimate - r.truth;
    let bias = mean(&error);
    let square = mean(&|r| error(r).powi(2));
    let mean_truth = mean(&|r| r.truth);
    let spread = mean(&|r| (r.truth - mean_truth).powi(2));
    let together = mean(&|r| (r.truth - mean_truth) * error(r));
    let mut ranks = [0.0_f64; 10];
    for r in of {
        ranks[((r.rank * 10.0) as usize).min(9)] += 1.0;
    }
    Recovery {
        bias,
        bias_se: ((square - bias * bias).max(0.0) / n).sqrt(),
        rmse: square.sqrt(),
        stated_sd: mean(&|r| r.sd),
        coverage: mean(&|r| f64::from(u8::from(r.held))),
        shrinkage: if spread > 0.0 { together / spread } else { 0.0 },
        rank_chi2: ranks.iter().map(|r| (r - n / 10.0).powi(2) / (n / 10.0)).sum(),
    }
}
