//! The simulated observers: of levels and of measurements, in rehearsals and in tests.
//!
//! They read a [`Sight`]: what differs and how, and how natural teeth stray from the norm. An
//! answer is a pure function of the trial and a random stream. They are written without the
//! fitted model's code, so that recovering them tests that code.

use crate::psychophysics::instrument::Answer;
use crate::psychophysics::{Axis, Direction, GlanceParameters, SLIP, SeenDifference, Sight};
use crate::scene::{Tooth, ToothKind};
use rand::distr::Open01;
use rand::{Rng, RngExt};
use statrs::distribution::{ContinuousCDF, Normal};

/// An observer made of known parts.
#[derive(Debug, Clone, PartialEq)]
pub enum SimulatedObserver {
    /// Names the tooth that differs from its twin, however little: blind to nothing, fooled by
    /// nothing.
    AlwaysRight,
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
            Self::AlwaysRight => {
                let differs = sight.signal.filter(|signal| signal.direction().is_some());
                differs.map_or(Answer::None, |signal| Answer::Tooth(signal.tooth))
            }
            Self::Ideal => noisy(&GlanceParameters::even(0.1, 5.0), sight, rng, 0.0),
            Self::Noisy(p) => noisy(p, sight, rng, SLIP),
            Self::OneAxis(p, axis) => {
                let seen = sight.signal.map(|signal| only(&signal, *axis));
                noisy(p, &Sight { signal: seen, ..sight.clone() }, rng, SLIP)
            }
            Self::Shortcut { criterion } => {
                let nothing = Sight { residuals_de00: vec![], signal: None, ..sight.clone() };
                noisy(&GlanceParameters::even(2.0, *criterion), &nothing, rng, 0.0)
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

/// The part of a difference that lies on an axis.
fn only(signal: &SeenDifference, axis: Axis) -> SeenDifference {
    let seen = |direction: Direction| {
        if direction.axis() == axis { direction.sign() * signal.along(direction) } else { 0.0 }
    };
    SeenDifference {
        tooth: signal.tooth,
        value: seen(Direction::Darker) + seen(Direction::Lighter),
        chroma: seen(Direction::LessChroma) + seen(Direction::MoreChroma),
        hue: seen(Direction::Redder) + seen(Direction::Yellower),
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
        if let Some(signal) = sight.signal.filter(|signal| signal.tooth == *tooth) {
            value += signal.value;
            let (chroma, hue) = (threshold(Axis::Chroma), threshold(Axis::Hue));
            across = (signal.chroma / chroma).hypot(signal.hue / hue);
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
