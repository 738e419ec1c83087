//! The level file format: one `Level(...)` per `levels/*.ron`.
//!
//! These types mirror the file and nothing else. A value of them is well-formed, not yet valid:
//! `crate::level::load` reads files and applies every rule of the format.

use crate::colorimetry::{Illuminant, Lch};
use crate::scene::{Cure, Framing, Lamp, Preparation, Staging, Thickness, Tooth, Translucency};
use serde::{Deserialize, Serialize};

/// The level format this build reads and writes.
pub const LEVEL_FORMAT: u32 = 1;

/// How all files are read: a value stands for `Some(value)`, so that optional fields need no
/// wrapping.
#[must_use]
pub fn ron_options() -> ron::Options {
    ron::Options::default().with_default_extension(ron::extensions::Extensions::IMPLICIT_SOME)
}

/// A closed interval, written `(low, high)`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(from = "(f64, f64)", into = "(f64, f64)")]
pub struct Range {
    /// Lower end, included.
    pub low: f64,
    /// Upper end, included; never below [`Self::low`] in a valid file.
    pub high: f64,
}

impl From<(f64, f64)> for Range {
    fn from((low, high): (f64, f64)) -> Self {
        Self { low, high }
    }
}

impl From<Range> for (f64, f64) {
    fn from(range: Range) -> Self {
        (range.low, range.high)
    }
}

impl Range {
    /// The value a fraction `t` (0..1) of the way from low to high.
    #[must_use]
    pub fn at(self, t: f64) -> f64 {
        self.low + (self.high - self.low) * t
    }

    /// Whether `value` lies in the interval, ends included.
    #[must_use]
    pub fn contains(self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

/// What decides how thick the ceramic of a composed restoration is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum BenchThickness {
    /// The preparation: ceramic and cement fill what was removed.
    #[default]
    Prepared,
    /// Whoever composes, up to the thickness given: what is chosen is what has to be prepared.
    Free,
}

impl BenchThickness {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde passes a reference")]
    const fn is_prepared(&self) -> bool {
        matches!(self, Self::Prepared)
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

/// What the learner does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Exercise {
    /// See a smile briefly, then name the restored tooth or say that there is none.
    Glance {
        /// Number of trials; a multiple of 4, as a quarter show no restoration.
        trials: u32,
        /// Time the smile stays in view, s.
        exposure_s: f64,
        /// Upper teeth in view: 6, 8 or 10; in the posterior framing also 12, of which it shows
        /// one side from the canine to the first molar.
        arch: u8,
    },
    /// Compare options placed in the mouth: name the best and all that are acceptable, or none.
    Blend {
        /// Number of questions.
        questions: u32,
        /// Options in each, 3 to 6.
        options: u8,
        /// Upper teeth in view.
        arch: u8,
        /// Incisors restored alike in each question: 1, 2 or 4.
        restored: u8,
    },
    /// Order patches by value while chroma and hue differ.
    Ladder {
        /// Number of questions.
        questions: u32,
        /// Patches in each, 5 or 7.
        patches: u8,
        /// Smallest and largest step in value between neighbours, ΔL*.
        step: Range,
    },
    /// Find the tab nearest a target tooth.
    Match {
        /// Number of questions.
        questions: u32,
        /// Tabs in each, 4 to 12.
        tabs: u8,
        /// Upper teeth in view.
        arch: u8,
        /// Distance between neighbouring tabs, ΔE00.
        spacing_de00: f64,
    },
    /// Choose an option in one light, say whether to keep it in another, then see.
    TwoLights {
        /// Number of questions.
        questions: u32,
        /// Options in each, 3 to 6.
        options: u8,
        /// Upper teeth in view.
        arch: u8,
        /// The other light.
        second_light: Illuminant,
    },
    /// Compose a restoration in few attempts.
    Bench {
        /// Number of questions.
        questions: u32,
        /// Attempts in each, 1 to 10.
        attempts: u8,
        /// Upper teeth in view.
        arch: u8,
        /// Whether ceramic fills what was prepared, or how much to prepare is asked, too.
        #[serde(default, skip_serializing_if = "BenchThickness::is_prepared")]
        thickness: BenchThickness,
    },
    /// Say what each cement does to a restoration, then choose one for the day of seating.
    TryIn {
        /// Number of questions.
        questions: u32,
        /// Upper teeth in view.
        arch: u8,
        /// Months that the restoration should go unnoticed, 1 to 36.
        months: f64,
    },
    /// Choose two options to mill so that at least one blends.
    Bracket {
        /// Number of questions.
        questions: u32,
        /// Options in each, 4 to 8.
        options: u8,
        /// Upper teeth in view.
        arch: u8,
        /// Standard deviation of the ceramic's thickness, mm.
        thickness_sd_mm: f64,
        /// Standard deviation of the prepared tooth's lightness, L*.
        prepared_sd: f64,
    },
    /// Hide a posterior onlay's margin above the gum.
    Margin {
        /// Number of questions.
        questions: u32,
        /// Options in each, 3 to 6.
        options: u8,
        /// Upper teeth in view.
        arch: u8,
    },
    /// Accept or remake one marked tooth.
    Verdict {
        /// Number of questions.
        questions: u32,
        /// Upper teeth in view.
        arch: u8,
        /// Time the smile stays in view, s.
        exposure_s: f64,
    },
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

/// A box in CIELAB LCh.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LchRanges {
    /// Lightness L*.
    #[serde(rename = "L")]
    pub l: Range,
    /// Chroma C*ab.
    #[serde(rename = "C")]
    pub c: Range,
    /// Hue angle hab, degrees.
    #[serde(rename = "h")]
    pub h: Range,
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

impl Exercise {
    /// Whether cases hold restorations.
    #[must_use]
    pub const fn restores(&self) -> bool {
        !matches!(self, Self::Ladder { .. } | Self::Match { .. })
    }

    /// Number of trials or questions.
    #[must_use]
    pub const fn trials(&self) -> u32 {
        match self {
            Self::Glance { trials, .. } => *trials,
            Self::Blend { questions, .. }
            | Self::Ladder { questions, .. }
            | Self::Match { questions, .. }
            | Self::TwoLights { questions, .. }
            | Self::Bench { questions, .. }
            | Self::TryIn { questions, .. }
            | Self::Bracket { questions, .. }
            | Self::Margin { questions, .. }
            | Self::Verdict { questions, .. } => *questions,
        }
    }

    /// Number of upper teeth in view; six where no teeth are judged.
    #[must_use]
    pub const fn arch(&self) -> u8 {
        match self {
            Self::Glance { arch, .. }
            | Self::Blend { arch, .. }
            | Self::Match { arch, .. }
            | Self::TwoLights { arch, .. }
            | Self::Bench { arch, .. }
            | Self::TryIn { arch, .. }
            | Self::Bracket { arch, .. }
            | Self::Margin { arch, .. }
            | Self::Verdict { arch, .. } => *arch,
            Self::Ladder { .. } => 6,
        }
    }

    /// The name stored with results, such as `two_lights`.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Glance { .. } => "glance",
            Self::Blend { .. } => "blend",
            Self::Ladder { .. } => "ladder",
            Self::Match { .. } => "match",
            Self::TwoLights { .. } => "two_lights",
            Self::Bench { .. } => "bench",
            Self::TryIn { .. } => "try_in",
            Self::Bracket { .. } => "bracket",
            Self::Margin { .. } => "margin",
            Self::Verdict { .. } => "verdict",
        }
    }
}

/// What the catches of an exercise are, to follow "right": `where no option was acceptable`. `None`
/// for an exercise without, or whose catches are right or wrong like any other question: either
/// order of a tie is right, and a choice that holds in both lights is no answer by itself.
#[must_use]
pub fn catch_in_words(exercise: &str) -> Option<&'static str> {
    match exercise {
        "blend" => Some("where no option was acceptable"),
        "match" => Some("where no tab was exactly like the tooth"),
        "bench" => Some("where nothing acceptable could be reached"),
        "try_in" => Some("where no cement did anything that could be seen"),
        "bracket" => Some("where no two options bounded the tooth in value"),
        "margin" => Some("where no option hid its margin"),
        "verdict" => Some("where the tooth was natural"),
        _ => None,
    }
}
