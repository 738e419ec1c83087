//! Simulated observers of the Glance task.
//!
//! They read the signed evidence each tooth offers, in CIEDE2000 units: how far the natural tooth
//! lies from the norm of its position, and how far the restoration lies from its twin.

use crate::bake::Truth;
use crate::scene::{Case, Tooth};
use crate::trial::Response;
use rand::distr::Open01;
use rand::{Rng, RngExt};
use statrs::distribution::{ContinuousCDF, Normal};

/// What a Glance picture holds for an observer.
#[derive(Debug, Clone, PartialEq)]
pub struct GlanceEvidence {
    /// Teeth that can be answered, in the viewer's order.
    pub teeth: Vec<Tooth>,
    /// Signed residual of each tooth from the norm of its position, ΔE00; as long as `teeth`.
    pub residuals_de00: Vec<f64>,
    /// The restored tooth and its signed difference to its twin, ΔE00, negative when darker.
    pub restored: Option<(Tooth, f64)>,
}

impl GlanceEvidence {
    /// The evidence in a case whose truth is known, over the teeth that can be answered. A tooth
    /// that the patient lacks has no residual.
    #[must_use]
    pub fn new(teeth: &[Tooth], case: &Case, truth: Option<&Truth>) -> Self {
        let residual = |tooth: &Tooth| {
            let natural = case.patient.teeth.iter().find(|t| t.tooth == *tooth);
            natural.map_or(0.0, |t| t.residual_de00)
        };
        let signed = |truth: &Truth| {
            let difference = truth.difference;
            (truth.tooth, difference.de00.copysign(difference.dl00))
        };
        Self {
            teeth: teeth.to_vec(),
            residuals_de00: teeth.iter().map(residual).collect(),
            restored: truth.map(signed),
        }
    }

    /// Signed evidence of every tooth when natural variation counts `confusion` times.
    fn signed(&self, confusion: f64) -> impl Iterator<Item = f64> {
        self.teeth.iter().zip(&self.residuals_de00).map(move |(tooth, residual)| {
            let restoration = match self.restored {
                Some((restored, x)) if restored == *tooth => x,
                _ => 0.0,
            };
            confusion * residual + restoration
        })
    }
}

/// Answers Glance trials. All randomness comes from `rng`.
pub trait Observer {
    /// The answer to one picture.
    fn answer(&self, evidence: &GlanceEvidence, rng: &mut dyn Rng) -> Response;
}

/// Names the restored tooth whenever it differs from its twin at all; blind to nothing, fooled
/// by nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Ideal;

/// Always answers "none".
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct AlwaysNone;

/// Always names a tooth, any one with equal chance.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct RandomTooth;

/// Sees each tooth through noise and names the most conspicuous one above a criterion.
///
/// `E_i = 2 (|s_i| / τ)^β + N(0, 1)` with `s_i = κ u_i + x` on the restored tooth and `κ u_i`
/// elsewhere; the answer is the tooth of the largest `E_i` if that exceeds `c`, else "none". With
/// probability `λ` the answer is instead any of the teeth or "none" with equal chance. The factor
/// 2 makes `τ` the difference at which d′ is 2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noisy {
    /// Threshold `τ`, ΔE00 above 0.
    pub threshold_de00: f64,
    /// Transducer exponent `β`.
    pub beta: f64,
    /// Criterion `c`, in units of the noise.
    pub criterion: f64,
    /// Lapse rate `λ`, 0..1.
    pub lapse: f64,
    /// How much natural variation is taken for a restoration, `κ`, 0..1.
    pub confusion: f64,
}

impl Default for Noisy {
    /// A middling observer: threshold 2 ΔE00, and a criterion that gives about 20 % false alarms
    /// on 10 teeth before natural variation. Design choices.
    fn default() -> Self {
        Self { threshold_de00: 2.0, beta: 1.0, criterion: 2.05, lapse: 0.02, confusion: 0.3 }
    }
}

impl Observer for Ideal {
    fn answer(&self, evidence: &GlanceEvidence, _rng: &mut dyn Rng) -> Response {
        match evidence.restored {
            Some((tooth, x)) if x != 0.0 => Response::Tooth(tooth),
            _ => Response::None,
        }
    }
}

impl Observer for AlwaysNone {
    fn answer(&self, _evidence: &GlanceEvidence, _rng: &mut dyn Rng) -> Response {
        Response::None
    }
}

impl Observer for RandomTooth {
    fn answer(&self, evidence: &GlanceEvidence, rng: &mut dyn Rng) -> Response {
        if evidence.teeth.is_empty() {
            return Response::None;
        }
        Response::Tooth(evidence.teeth[rng.random_range(0..evidence.teeth.len())])
    }
}

impl Observer for Noisy {
    fn answer(&self, evidence: &GlanceEvidence, rng: &mut dyn Rng) -> Response {
        if rng.random::<f64>() < self.lapse {
            let choice = rng.random_range(0..=evidence.teeth.len());
            return evidence.teeth.get(choice).map_or(Response::None, |t| Response::Tooth(*t));
        }
        let normal = Normal::standard();
        let mut best = (Response::None, self.criterion);
        for (tooth, signed) in evidence.teeth.iter().zip(evidence.signed(self.confusion)) {
            let noise = normal.inverse_cdf(rng.sample(Open01));
            let seen = 2.0 * (signed.abs() / self.threshold_de00).powf(self.beta) + noise;
            if seen > best.1 {
                best = (Response::Tooth(*tooth), seen);
            }
        }
        best.0
    }
}
