//! The level file format: one `Level(...)` per `levels/*.ron`.
//!
//! These types mirror the file and nothing else. A value of them is well-formed, not yet valid:
//! `crate::level::load` reads files and applies every rule of the format.

mod exercise;
mod range;

use crate::colorimetry::{Illuminant, Lch};
use crate::scene::{Cure, Framing, Lamp, Preparation, Staging, Thickness, Tooth, Translucency};
pub use exercise::{BenchThickness, Exercise, catch_in_words};
pub use range::{LchRanges, Range};
use serde::{Deserialize, Serialize};

/// The level format this build reads and writes.
pub const LEVEL_FORMAT: u32 = 1;

/// How all files are read: a value stands for `Some(value)`, so that optional fields need no
/// wrapping.
#[must_use]
pub fn ron_options() -> ron::Options {
    ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
}

impl From<Range> for (f64, f64) {
    fn from(range: Range) -> Self {
        (range.low, range.high)
    }
}

/// One level: an exercise over randomised cases of one clinical scenario.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Level {
    /// Format number, [`LEVEL_FORMAT`].
    pub format: u32,
    /// Name in results and on the command line: the file stem, lower-case words with hyphens.
    pub id: String,
    /// Title shown to the learner.
    pub title: String,
    /// What the learner takes away, in one to three plain sentences.
    pub teaches: String,
    /// 1 (easy) to 10 (hard).
    pub difficulty: u8,
    /// Base seed; every trial derives its own streams from it.
    pub seed: u64,
    /// What the learner does.
    pub exercise: Exercise,
    /// The natural teeth that cases are drawn from.
    pub patient: PatientRanges,
    /// The light.
    pub light: Illuminant,
    /// What is in the frame; left out, ten teeth with the lips held away.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub framing: Option<Framing>,
    /// What makes the highlights; left out, two soft boxes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub lamp: Option<Lamp>,
    /// Kinds of restoration that cases are drawn from; their shares sum to 1. Ladder and Match
    /// have none: patches and tabs stand on no tooth.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub restorations: Vec<RestorationKind>,
    /// The wanted difference between the restored tooth and its natural twin. Only Glance has it:
    /// elsewhere the difference is what the learner brings about.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub difference: Option<Difference>,
}

/// Ranges from which a patient's natural teeth are drawn.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PatientRanges {
    /// Colour of the central incisors' middle third, CIELAB LCh under D65/2°.
    pub central: LchRanges,
    /// Standard deviation of each tooth's own departure from the norm of its position, ΔE00.
    pub residual_sd_de00: f64,
    /// Enamel thickness relative to the standard of the tooth, 1 = standard.
    pub enamel_factor: Range,
    /// Teeth whose colour is known and not drawn; left out, there are none. Where every tooth that may
    /// be restored is among them, room and prepared tooth are not varied either.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub teeth: Option<Vec<MeasuredTooth>>,
}

/// A natural tooth of known colour.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredTooth {
    /// Which, ISO 3950.
    pub tooth: u8,
    /// Colour of its middle third, CIELAB LCh under D65/2°.
    pub colour: Lch,
}

/// One kind of restoration and how often it comes up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RestorationKind {
    /// Share of the restored cases, above 0 and at most 1.
    pub share: f64,
    /// Teeth that may carry it, ISO 3950; left out, any tooth in view.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub teeth: Option<Vec<u8>>,
    /// Veneer or crown.
    pub preparation: Preparation,
    /// Ceramic class id of the material library.
    pub ceramic: String,
    /// Translucency; for a graded block that of its body.
    pub translucency: Translucency,
    /// Whether the block is graded from opaque at the neck to translucent at the edge.
    pub graded: bool,
    /// How far the tooth stands towards the incisal end of a graded block, −0.5 to 0.5 of its height;
    /// left out, 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub block_shift: Option<f64>,
    /// Ceramic thickness at the margin and at three heights, mm.
    pub thickness_mm: Thickness,
    /// Cement id of the material library.
    pub cement: String,
    /// Cement film thickness, mm.
    pub cement_film_mm: f64,
    /// Prepared-tooth colour id of the material library.
    pub prepared_tooth: String,
    /// Time in the mouth; left out, the restoration has just been seated.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drift: Option<DriftTime>,
}

/// How long a kind of restoration has been in the mouth. Its shade matched when it was seated; the
/// difference is what time has added. How much that is differs from case to case.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DriftTime {
    /// Time since seating, months, 1 to 36.
    pub months: f64,
    /// How the cement set.
    pub cure: Cure,
}

/// The wanted difference between a restored tooth and its natural twin.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Difference {
    /// Size of the difference, ΔE00.
    pub de00: Range,
    /// Share of restorations that are darker than the twin rather than lighter, 0..1.
    pub darker_share: f64,
}

impl Level {
    /// Framing and lamp, with what the file left out filled in.
    #[must_use]
    pub fn staging(&self) -> Staging {
        Staging { framing: self.framing.unwrap_or_default(), lamp: self.lamp.unwrap_or_default() }
    }

    /// Whether the level is of a case that was measured: every tooth that may be restored has a known
    /// colour. Nothing about such a case is varied, neither its room nor its prepared tooth: it is
    /// as it is stated, or cannot be had.
    #[must_use]
    pub fn is_stated(&self) -> bool {
        let known = self.patient.teeth.as_deref().unwrap_or_default();
        let is_known = |tooth: &u8| known.iter().any(|known| known.tooth == *tooth);
        let all_known = |kind: &RestorationKind| {
            kind.teeth.as_ref().is_some_and(|teeth| teeth.iter().all(is_known))
        };
        !self.restorations.is_empty() && self.restorations.iter().all(all_known)
    }

    /// The upper teeth that can be judged and answered: those of the arch that the framing shows,
    /// or the whole arch where it shows none of it.
    #[must_use]
    pub fn teeth(&self) -> Vec<Tooth> {
        let arch = Tooth::arch(usize::from(self.exercise.arch()));
        let framing = self.staging().framing;
        let shown: Vec<Tooth> = arch.iter().copied().filter(|t| framing.shows(*t)).collect();
        if shown.is_empty() { arch } else { shown }
    }
}
