//! Named random streams: every draw is a function of what it is for, never of call order.
//!
//! A stream is keyed by the form, the learner's salt, a purpose, the block and the trial. Two
//! streams with different keys are independent, and asking for one never disturbs another, so a
//! scene stays the same when the schedule around it changes.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use sha2::{Digest, Sha256};

/// What a stream is used for. Each purpose draws from its own stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Purpose {
    /// Order of trials, positions, catch trials.
    Schedule,
    /// The patient: shapes, natural colours, residuals.
    Scene,
    /// The restoration's recipe.
    Restoration,
    /// What time has done to the restoration.
    Drift,
    /// Surface texture and noise.
    Texture,
    /// A simulated observer's noise and lapses.
    Observer,
    /// Scrambling of the mask picture.
    Mask,
    /// What is not known exactly beforehand: thickness as milled, the prepared tooth's colour.
    Uncertainty,
    /// Draws that summarise a posterior.
    Posterior,
    /// The items of a form.
    Form,
    /// The order in which a seat sees the items of a form.
    FormOrder,
    /// Random ids of learners.
    LearnerId,
}

impl Purpose {
    const fn tag(self) -> &'static str {
        match self {
            Self::Schedule => "schedule",
            Self::Scene => "scene",
            Self::Restoration => "restoration",
            Self::Drift => "drift",
            Self::Texture => "texture",
            Self::Observer => "observer",
            Self::Mask => "mask",
            Self::Uncertainty => "uncertainty",
            Self::Posterior => "posterior",
            Self::Form => "form",
            Self::FormOrder => "form order",
            Self::LearnerId => "learner id",
        }
    }
}

/// The key of a stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct StreamKey<'a> {
    /// Which form, level or case family the draw belongs to.
    pub form: &'a str,
    /// The session's or case's seed.
    pub seed: u64,
    /// What the draw is for.
    pub purpose: Purpose,
    /// Block number, 0 where there is none.
    pub block: u32,
    /// Trial number (or tooth number for per-tooth draws), 0 where there is none.
    pub trial: u32,
}

impl StreamKey<'_> {
    /// The random stream of this key. The same key gives the same stream on every machine.
    #[must_use]
    pub fn stream(&self) -> ChaCha8Rng {
        let mut hash = Sha256::new();
        hash.update((self.form.len() as u64).to_le_bytes());
        hash.update(self.form.as_bytes());
        hash.update(self.seed.to_le_bytes());
        hash.update(self.purpose.tag().as_bytes());
        hash.update([0]);
        hash.update(self.block.to_le_bytes());
        hash.update(self.trial.to_le_bytes());
        ChaCha8Rng::from_seed(hash.finalize().into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand_chacha::rand_core::Rng;

    #[test]
    fn a_key_names_one_stream() {
        let key = StreamKey { form: "a", seed: 1, purpose: Purpose::Scene, block: 0, trial: 3 };
        assert_eq!(key.stream().next_u64(), key.stream().next_u64());
        for other in [
            StreamKey { form: "b", ..key },
            StreamKey { seed: 2, ..key },
            StreamKey { purpose: Purpose::Texture, ..key },
            StreamKey { block: 1, ..key },
            StreamKey { trial: 4, ..key },
        ] {
            assert_ne!(key.stream().next_u64(), other.stream().next_u64());
        }
    }
}
