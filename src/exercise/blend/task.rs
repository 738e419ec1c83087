//! The question with its truth, and the answer.

use crate::bake::ZoneDifference;
use crate::colorimetry::Illuminant;
use crate::exercise::Learner;
use crate::exercise::mark::accepts;
use crate::psychophysics::{OptionChoice, SeenOption};
use crate::scene::Tooth;
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// Error of the layered model as it is stated, ΔE00, one standard deviation: 0.06 for a wrong
/// anisotropy of scattering in a material (`assets/materials/ceramics.ron`), 0.02 for the tables
/// against the direct solution and 0.01 for media written out ([`crate::optics`]), as independent
/// errors.
pub const MODEL_ERROR_DE00: f64 = 0.065;

/// Margin within which no option of a question lies from anything that decides how it is marked,
/// ΔE00: twice [`MODEL_ERROR_DE00`].
pub const MARGIN_DE00: f64 = 0.13;

/// What an option is worth, by its difference to the twin.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// At or below the acceptability threshold, or as good as the best and little above it.
    Acceptable,
    /// So near the threshold that a tick counts neither way.
    Grey,
    /// Above the threshold.
    Unacceptable,
}

/// The difference of one restored tooth to its twin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToothDifference {
    /// Which tooth.
    pub tooth: Tooth,
    /// Restored minus twin under the question's light, thirds weighted.
    pub difference: ZoneDifference,
}

/// One option, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct BlendOption {
    /// Differences of the restored teeth, in the order of [`BlendTask::teeth`].
    pub teeth: Vec<ToothDifference>,
    /// Place in [`Self::teeth`] of the tooth that is furthest from its twin, which is what counts.
    pub worst: usize,
    /// The largest difference over the lights, ΔE00.
    pub robust_de00: f64,
    /// The light in which it is largest.
    pub worst_light: Illuminant,
    /// Whether it is acceptable.
    pub standing: Standing,
    /// One sentence on why it looks as it does, for the debrief.
    pub cause: String,
}

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct BlendTask {
    /// The restored teeth, all restored alike.
    pub teeth: Vec<Tooth>,
    /// The light in which the options are judged.
    pub light: Illuminant,
    /// The options, in the order shown; the question's sights are in the same order.
    pub options: Vec<BlendOption>,
    /// The option nearest the twin, 0-based.
    pub best: usize,
    /// Two options as far from the twin as each other, one darker and one lighter: whoever prefers
    /// one of them shows which way they lean. 0-based, darker first.
    pub pair: (usize, usize),
    /// Why a measurement asks it; `None` in rounds laid out before.
    pub measured: Option<MeasuredAs>,
}

/// Why a measurement asks a question: kept with the answer, so that the measurement can go on from
/// what is stored.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeasuredAs {
    /// The gap that was asked for, ΔE00.
    pub gap_de00: f64,
    /// The 0-based number of the question that this one repeats, mirrored.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub repeat_of: Option<u32>,
    /// Of a repeat: the place that each option, in the order shown, had in the question repeated.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub places: Vec<usize>,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct BlendAnswer {
    /// The option picked as best, 0-based; `None` for "none is acceptable".
    pub best: Option<usize>,
    /// The options ticked as acceptable, 0-based, in any order. The one picked counts as ticked.
    pub acceptable: Vec<usize>,
}

impl BlendAnswer {
    /// "None is acceptable."
    #[must_use]
    pub const fn none() -> Self {
        Self { best: None, acceptable: Vec::new() }
    }

    pub(in crate::exercise) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl BlendOption {
    /// The difference that counts: that of the restored tooth furthest from its twin.
    #[must_use]
    pub fn difference(&self) -> ZoneDifference {
        self.teeth[self.worst].difference
    }

    /// What the choice model sees of it.
    #[must_use]
    pub fn seen(&self) -> SeenOption {
        SeenOption::of(&self.difference())
    }
}

impl BlendTask {
    /// The acceptable options, 0-based; several may be, or none.
    #[must_use]
    pub fn acceptable(&self) -> Vec<usize> {
        let options = self.options.iter().enumerate();
        options
            .filter(|(_, option)| option.standing != Standing::Unacceptable)
            .map(|(place, _)| place)
            .collect()
    }

    /// Whether no option is acceptable.
    #[must_use]
    pub fn none_acceptable(&self) -> bool {
        self.options.iter().all(|option| option.standing == Standing::Unacceptable)
    }

    /// What the choice model learns from an answer; `None` where none was picked.
    #[must_use]
    pub fn choice(&self, answer: &BlendAnswer) -> Option<OptionChoice> {
        let chosen = answer.best.filter(|&best| best < self.options.len())?;
        Some(OptionChoice { options: self.options.iter().map(BlendOption::seen).collect(), chosen })
    }

    /// A learner who leans one way sees each option that much further from where they would like it,
    /// and noise as it is in the choice model: then options win as that model says.
    pub(in crate::exercise) fn answer_of(
        &self,
        learner: &Learner,
        stream: &mut impl rand::Rng,
    ) -> BlendAnswer {
        let count = self.options.len();
        if stream.random::<f64>() < learner.lapse {
            let pick = stream.random_range(0..=count);
            let ticked: Vec<usize> =
                (0..count).filter(|k| *k == pick || stream.random::<bool>()).collect();
            let best = (pick < count).then_some(pick);
            return best.map_or_else(BlendAnswer::none, |best| BlendAnswer {
                best: Some(best),
                acceptable: ticked,
            });
        }
        // The Gumbel distribution's standard deviation is π/√6 times its scale.
        let scale = learner.noise_de00 * 6.0_f64.sqrt() / std::f64::consts::PI;
        let seen: Vec<f64> = self
            .options
            .iter()
            .map(|option| {
                let distance = option.seen().distance(learner.value_weight, learner.value_bias);
                let uniform = stream.random::<f64>().clamp(1e-12, 1.0 - 1e-12);
                distance + scale * (-uniform.ln()).ln()
            })
            .collect();
        let best = (0..count).min_by(|&a, &b| seen[a].total_cmp(&seen[b]));
        let least = best.map_or(f64::INFINITY, |best| seen[best]);
        let acceptable: Vec<usize> = (0..count).filter(|&k| accepts(seen[k], least)).collect();
        match best {
            Some(best) if !acceptable.is_empty() => BlendAnswer { best: Some(best), acceptable },
            _ => BlendAnswer::none(),
        }
    }
}
