//! The exercise of a level file.

use super::range::Range;
use crate::colorimetry::Illuminant;
use serde::{Deserialize, Serialize};

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
