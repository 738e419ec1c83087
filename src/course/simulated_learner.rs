//! Learners whose thresholds are known.

use super::form_judge::REFERENCE_CRITERION;
use super::roster::LearnerId;
use crate::psychophysics::{Chooser, GlanceParameters, SimulatedObserver};
use crate::random::{Purpose, StreamKey};
use rand::RngExt;
use rand::distr::Open01;
use statrs::distribution::{ContinuousCDF, Normal};

/// Residuals of natural teeth, ΔE00; as in measured smiles.
pub(super) const RESIDUAL_SD_DE00: f64 = 0.7;

/// Who is simulated.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SimulatedGroup {
    /// Learners.
    pub learners: u32,
    /// Seed of everything about them.
    pub seed: u64,
    /// Mean and standard deviation of `ln τ` before teaching.
    pub ln_threshold: (f64, f64),
    /// Mean and standard deviation of the change of `ln τ` from each phase to the next.
    pub change: (f64, f64),
    /// Whether natural variation, side bias and the loss towards the ends of the arch sway them.
    pub swayed: bool,
    /// Whether they differ in criterion, lapses and exponent; otherwise all are like the reference
    /// learners of the forms.
    pub varied: bool,
}

impl Default for SimulatedGroup {
    /// 200 learners about 2 ΔE00 with a standard deviation of 0.40, who see 15 % smaller differences
    /// afterwards, give or take 10 %. Design choices.
    fn default() -> Self {
        Self {
            learners: 200,
            seed: 1,
            ln_threshold: (std::f64::consts::LN_2, 0.40),
            change: (-0.1625, 0.10),
            swayed: true,
            varied: true,
        }
    }
}

impl SimulatedGroup {
    /// The learners for a course of so many phases. Criteria vary by 0.4, lapses from 0.5 to 6 %,
    /// exponents by 15 %; what sways them varies about as the priors of the refit say.
    #[must_use]
    pub fn draw(&self, phases: usize) -> Vec<SimulatedLearner> {
        let normal = Normal::standard();
        (0..self.learners)
            .map(|n| {
                let mut rng = StreamKey {
                    form: "simulated-course",
                    seed: self.seed,
                    purpose: Purpose::Observer,
                    block: 0,
                    trial: n,
                }
                .stream();
                let mut draw = |mean: f64, sd: f64| {
                    mean + sd * normal.inverse_cdf(rng.sample::<f64, _>(Open01))
                };
                let mut ln = draw(self.ln_threshold.0, self.ln_threshold.1);
                let mut ln_threshold = vec![ln];
                for _ in 1..phases {
                    ln += draw(self.change.0, self.change.1);
                    ln_threshold.push(ln);
                }
                let mut observer = GlanceParameters {
                    exponent: draw(0.0, 0.15).exp(),
                    criterion: draw(2.0, 0.4).clamp(1.0, 3.0),
                    lapse: 0.005 + 0.055 * normal.cdf(draw(0.0, 1.0)),
                    ..GlanceParameters::even(1.0, 2.0)
                };
                if !self.varied {
                    observer = GlanceParameters::even(1.0, REFERENCE_CRITERION);
                }
                if self.swayed {
                    observer.confusion = 1.0 / (1.0 + (-draw(-0.85, 0.8)).exp());
                    observer.eccentricity_loss = draw(0.04, 0.03);
                    observer.side_bias = draw(0.0, 0.2);
                }
                let chooser = self.chooser(n, ln_threshold[0] - self.ln_threshold.0);
                let learner = LearnerId::draw(self.seed, n);
                SimulatedLearner { learner, seat: u64::from(n), ln_threshold, chooser, observer }
            })
            .collect()
    }

    /// How a learner chooses: noise of 0.6 ΔE00 that goes with the threshold and varies by 0.2 besides,
    /// a leaning in value of 0.4 ΔL00 either way. Design choices.
    fn chooser(&self, learner: u32, above_mean: f64) -> Chooser {
        let mut rng = StreamKey {
            form: "simulated-course",
            seed: self.seed,
            purpose: Purpose::Observer,
            block: 1,
            trial: learner,
        }
        .stream();
        let normal = Normal::standard();
        let mut draw = |sd: f64| sd * normal.inverse_cdf(rng.sample::<f64, _>(Open01));
        Chooser {
            noise_de00: 0.6 * (above_mean + draw(0.2)).exp(),
            value_weight: draw(0.2).exp(),
            value_bias: draw(0.4),
            lapse: 0.02,
        }
    }
}

/// One simulated learner.
#[derive(Debug, Clone, PartialEq)]
pub struct SimulatedLearner {
    /// The id.
    pub learner: LearnerId,
    /// The seat.
    pub seat: u64,
    /// `ln τ` in each phase of the course, in order.
    pub ln_threshold: Vec<f64>,
    /// How they choose among options.
    pub chooser: Chooser,
    /// What the threshold is put into.
    observer: GlanceParameters,
}

impl SimulatedLearner {
    pub(super) fn observer(&self, phase: usize) -> SimulatedObserver {
        let mut parameters = self.observer.clone();
        let threshold = self.ln_threshold[phase].exp();
        parameters.thresholds_de00.iter_mut().for_each(|(_, t)| *t = threshold);
        SimulatedObserver::Noisy(parameters)
    }
}
