//! The simulated observers that a measurement is proved on.
//!
//! They read the truth: what differs, by how much, and how natural teeth stray from the norm. An
//! answer is a pure function of the trial and a random stream. They are written without the
//! fitted model's code, so that recovering them tests that code.

use crate::psychophysics::instrument::{Answer, Shown, Stimulus};
use crate::psychophysics::{Axis, Direction, GlanceEvidence, GlanceParameters, Observer, SLIP};
use crate::scene::{Tooth, ToothKind};
use crate::trial::Response;
use rand::distr::Open01;
use rand::{Rng, RngExt};
use statrs::distribution::{ContinuousCDF, Normal};

/// What a trial holds for a simulated observer.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// Teeth that can be answered, in the viewer's order.
    pub teeth: Vec<Tooth>,
    /// Signed residual in value of each tooth, ΔE00, or empty.
    pub residuals_de00: Vec<f64>,
    /// The restored tooth, the direction and the size of its difference, ΔE00.
    pub signal: Option<(Tooth, Direction, f64)>,
    /// Exposure, s.
    pub exposure_s: f64,
    /// 0-based number of the trial in the session.
    pub trial: u32,
}

impl Sight {
    /// What a trial of the instrument holds.
    #[must_use]
    pub fn new(teeth: &[Tooth], stimulus: &Stimulus, shown: &Shown) -> Self {
        Self {
            teeth: teeth.to_vec(),
            residuals_de00: shown.residuals_de00.clone(),
            signal: stimulus.signal.map(|s| (s.tooth, s.direction, shown.de00)),
            exposure_s: shown.exposure_s,
            trial: stimulus.shown,
        }
    }
}

/// An observer made of known parts.
#[derive(Debug, Clone, PartialEq)]
pub enum SimulatedObserver {
    /// Knows every natural tooth and sees through noise of 0.05 ΔE00.
    Ideal,
    /// Sees through noise, with the parameters given. Without confusion and bias it is the plain
    /// noisy observer, with them the biased one.
    Noisy(GlanceParameters),
    /// As noisy, but blind to every axis but one.
    OneAxis(GlanceParameters, Axis),
    /// Reads shape, edges, gloss and texture, which twins share, and never colour: noise against
    /// the criterion given.
    Shortcut {
        /// Criterion per tooth.
        criterion: f64,
    },
    /// Names any tooth, each as often.
    RandomTooth,
    /// Always answers "none".
    AlwaysNone,
    /// Always names a central incisor.
    AlwaysCentral,
    /// Noisy, with thresholds that fall evenly (in logarithm) by 30 % over 300 trials.
    Learner(GlanceParameters),
    /// Noisy, with lapses that rise evenly from 1 % to 8 % over 160 trials.
    Tiring(GlanceParameters),
}

impl SimulatedObserver {
    /// The answer to one trial. All randomness comes from `rng`.
    pub fn answer(&self, sight: &Sight, rng: &mut dyn Rng) -> Answer {
        let trial = f64::from(sight.trial);
        match self {
            Self::Ideal => {
                let mut p = plain(0.1, 5.0);
                p.confusion = 0.0;
                noisy(&p, sight, rng, 0.0)
            }
            Self::Noisy(p) => noisy(p, sight, rng, SLIP),
            Self::OneAxis(p, axis) => {
                let seen = sight.signal.filter(|(_, direction, _)| direction.axis() == *axis);
                noisy(p, &Sight { signal: seen, ..sight.clone() }, rng, SLIP)
            }
            Self::Shortcut { criterion } => {
                let nothing = Sight { residuals_de00: vec![], signal: None, ..sight.clone() };
                noisy(&plain(2.0, *criterion), &nothing, rng, 0.0)
            }
            Self::RandomTooth => any_tooth(&sight.teeth, rng),
            Self::AlwaysNone => Answer::None,
            Self::AlwaysCentral => {
                let centrals = sight.teeth.iter().filter(|t| t.kind() == ToothKind::Central);
                any_tooth(&centrals.copied().collect::<Vec<_>>(), rng)
            }
            Self::Learner(p) => {
                let mut p = p.clone();
                let left = 0.7_f64.powf((trial / 300.0).min(1.0));
                p.thresholds_de00.iter_mut().for_each(|(_, t)| *t *= left);
                noisy(&p, sight, rng, SLIP)
            }
            Self::Tiring(p) => {
                let mut p = p.clone();
                p.lapse = 0.01 + 0.07 * (trial / 160.0).min(1.0);
                noisy(&p, sight, rng, SLIP)
            }
        }
    }
}

impl Observer for SimulatedObserver {
    /// Takes a signed difference as one in value; every trial counts as the first.
    fn answer(&self, evidence: &GlanceEvidence, rng: &mut dyn Rng) -> Response {
        let signal = evidence.restored.map(|(tooth, x)| {
            let direction = if x < 0.0 { Direction::Darker } else { Direction::Lighter };
            (tooth, direction, x.abs())
        });
        let sight = Sight {
            teeth: evidence.teeth.clone(),
            residuals_de00: evidence.residuals_de00.clone(),
            signal,
            exposure_s: 2.5,
            trial: 0,
        };
        match Self::answer(self, &sight, rng) {
            Answer::Tooth(tooth) => Response::Tooth(tooth),
            Answer::None => Response::None,
            Answer::TimedOut | Answer::Void => Response::Timeout,
        }
    }
}

/// Equal thresholds on every axis, no lapse, no bias.
fn plain(threshold_de00: f64, criterion: f64) -> GlanceParameters {
    GlanceParameters {
        thresholds_de00: Axis::ALL.map(|axis| (axis, threshold_de00)).to_vec(),
        exponent: 1.0,
        criterion,
        lapse: 0.0,
        confusion: 0.0,
        eccentricity_loss: 0.0,
        side_bias: 0.0,
    }
}

fn any_tooth(teeth: &[Tooth], rng: &mut dyn Rng) -> Answer {
    if teeth.is_empty() {
        return Answer::None;
    }
    Answer::Tooth(teeth[rng.random_range(0..teeth.len())])
}

fn noisy(p: &GlanceParameters, sight: &Sight, rng: &mut dyn Rng, slip: f64) -> Answer {
    let n = sight.teeth.len();
    if rng.random::<f64>() < p.lapse {
        return sight
            .teeth
            .get(rng.random_range(0..=n))
            .map_or(Answer::None, |t| Answer::Tooth(*t));
    }
    let threshold = |axis: Axis| {
        p.thresholds_de00.iter().find(|(a, _)| *a == axis).map_or(f64::INFINITY, |(_, t)| *t)
    };
    // A natural tooth is seen through the value threshold of its sign; where the observer has
    // none of that sign, through the other, and without either through the first there is.
    let through = |value: f64| {
        let (own, other) =
            if value < 0.0 { (Axis::Darker, Axis::Lighter) } else { (Axis::Lighter, Axis::Darker) };
        let first = p.thresholds_de00.first().map_or(f64::INFINITY, |(_, t)| *t);
        [threshold(own), threshold(other), first].into_iter().find(|t| t.is_finite())
    };
    let steps = |t: &Tooth| f64::from(t.position());
    let mean_steps = sight.teeth.iter().map(steps).sum::<f64>() / n.max(1) as f64;
    let filled = |t: f64| 1.0 - (-t / 0.7_f64).exp();
    let exposure = (filled(sight.exposure_s) / filled(2.5)).sqrt();
    let normal = Normal::standard();
    let mut best = (None, p.criterion);
    for (i, tooth) in sight.teeth.iter().enumerate() {
        let mut value = p.confusion * sight.residuals_de00.get(i).copied().unwrap_or(0.0);
        let mut across = 0.0;
        match sight.signal {
            Some((restored, Direction::Darker, x)) if restored == *tooth => value -= x,
            Some((restored, Direction::Lighter, x)) if restored == *tooth => value += x,
            Some((restored, direction, x)) if restored == *tooth => {
                across = x / threshold(direction.axis());
            }
            _ => {}
        }
        let along = through(value).map_or(0.0, |t| value / t);
        let size = along.hypot(across).powf(p.exponent);
        let gain = exposure * (-p.eccentricity_loss * (steps(tooth) - mean_steps)).exp();
        let side = if tooth.is_patients_right() { -1.0 } else { 1.0 };
        let noise = normal.inverse_cdf(rng.sample(Open01));
        let evidence = 2.0 * gain * size + p.side_bias * side + noise;
        if evidence > best.1 {
            best = (Some(i), evidence);
        }
    }
    let Some(mut chosen) = best.0 else { return Answer::None };
    if rng.random::<f64>() < slip {
        // To the left or the right; at an end the half that would leave the arch stays.
        chosen =
            if rng.random::<bool>() { (chosen + 1).min(n - 1) } else { chosen.saturating_sub(1) };
    }
    Answer::Tooth(sight.teeth[chosen])
}
