//! The course file format: one `Course(...)` per file, written by an instructor by hand.

use crate::psychophysics::Axis;
use crate::scene::Tooth;
use crate::trial::Timing;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;

/// The course format this build reads and writes.
pub const COURSE_FORMAT: u32 = 1;

/// Seats after which the turns through lists of up to four forms repeat.
pub(super) const SEATS: u64 = 12;

/// A course: what a group does, in which order, under which limits, and how it is judged.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Course {
    /// Format number, [`COURSE_FORMAT`].
    pub format: u32,
    /// Name in results and on the command line: the file stem, lower-case words with hyphens.
    pub id: String,
    /// Title shown to the group.
    pub title: String,
    /// What the group takes away, in one to three plain sentences.
    pub teaches: String,
    /// Time the whole course is meant to take, minutes.
    pub minutes: f64,
    /// Who answers, and where.
    pub mode: CourseMode,
    /// How teeth are named on the screen.
    pub tooth_names: ToothNames,
    /// Time a smile of a form stays in view, s. What the thresholds are stated at is 2.5 s.
    pub exposure_s: f64,
    /// Time to answer from the mask on, s.
    pub response_s: f64,
    /// Longer times to answer for those who need them.
    pub accommodation: Accommodation,
    /// The forms that steps refer to.
    pub forms: Vec<FormEntry>,
    /// What is done, in order.
    pub steps: Vec<Step>,
    /// When a learner has passed; left out, nobody passes or fails.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pass: Option<PassRule>,
    /// Where the classes of competency end; left out, the provisional ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub classes: Option<ClassLimits>,
}

/// Who answers, and where.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum CourseMode {
    /// Everyone at a seat of their own; no feedback on forms until they are handed in.
    Exam,
    /// A room before one picture; answers from seats or by show of hands, revealed together.
    Lecture,
}

/// How teeth are named on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum ToothNames {
    /// Two digits, ISO 3950.
    #[serde(rename = "ISO3950")]
    Iso3950,
    /// 1 to 16 for upper teeth.
    Universal,
    /// Plain words, such as "upper right central incisor".
    Words,
    /// Places in the picture, counted from the left.
    Places,
}

/// Longer times to answer. Only answering is extended: how long a smile is seen is what is
/// measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Accommodation {
    /// Largest factor on the time to answer that a holder may grant a seat, 1 to 10.
    pub most_response_factor: f64,
    /// Whether a seat may be given unlimited time to answer.
    pub may_be_untimed: bool,
}

/// A form by name.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FormEntry {
    /// Name within the course.
    pub id: String,
    /// What the form is drawn from.
    pub seed: u64,
    /// Items of each axis and level, 1 to 3: forms of 21, 43 or 64 smiles.
    pub per_cell: u8,
}

impl FormEntry {
    /// Smiles with a restoration: so many of each of four axes at each of four sizes.
    #[must_use]
    pub fn signals(&self) -> u32 {
        16 * u32::from(self.per_cell)
    }

    /// Smiles without one: a third as many.
    #[must_use]
    pub fn catch_trials(&self) -> u32 {
        (f64::from(self.signals()) / 3.0).round() as u32
    }
}

/// When a form is sat.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Phase {
    /// Before teaching.
    Pre,
    /// After teaching.
    Post,
    /// Some weeks later.
    Delayed,
    /// The only one.
    Only,
}

impl Phase {
    /// The name stored with results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pre => "pre",
            Self::Post => "post",
            Self::Delayed => "delayed",
            Self::Only => "only",
        }
    }

    /// The phase of a stored name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        [Self::Pre, Self::Post, Self::Delayed, Self::Only].into_iter().find(|p| p.name() == name)
    }
}

/// One part of a course.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Step {
    /// The instructor explains.
    Talk {
        /// What about, for the screen.
        title: String,
        /// How long, minutes.
        minutes: f64,
    },
    /// A form. Seats take turns through the list: seat 0 the first, seat 1 the second, and again.
    Form {
        /// Ids of forms of the course.
        forms: Vec<String>,
        /// When in the course.
        phase: Phase,
    },
    /// A level, with feedback after every smile.
    Practice {
        /// The level's id.
        level: String,
        /// Number of smiles; left out, the level's own.
        #[serde(default)]
        trials: Option<u32>,
    },
    /// A measurement.
    Measure {
        /// The axes to measure, 1 to 4.
        axes: Vec<Axis>,
        /// When to stop at the latest, minutes.
        minutes: f64,
    },
    /// "Find it": how fast a restoration is found.
    FindIt {
        /// When to stop at the latest, minutes.
        minutes: f64,
    },
}

/// When a learner has passed: on the last form sat.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PassRule {
    /// Largest threshold, ΔE00.
    pub threshold_de00: f64,
    /// Largest share of false alarms, 0 to 1.
    pub false_alarms: f64,
}

/// Where the classes of competency end. Provisional: no norms exist yet. A class is given where the
/// threshold's 95 % interval says so, and cannot be told otherwise.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ClassLimits {
    /// "Fine": the upper end of the threshold's 95 % interval is at most this, ΔE00.
    pub fine_de00: f64,
    /// "Clinical": the same.
    pub clinical_de00: f64,
    /// "Developing": the same; "not yet" is given where the lower end is above it.
    pub developing_de00: f64,
    /// Share of false alarms, 0 to 1, above which no class but the last is given, where the share's
    /// own 95 % interval lies above it.
    pub false_alarms: f64,
    /// Smiles without a restoration that must have been answered before a class is given, over all
    /// forms.
    pub least_catch_trials: u32,
}

impl Default for ClassLimits {
    /// 1.2, 1.8 and 2.7 ΔE00; a quarter of false alarms, over at least 12 smiles, three quarters of
    /// what one standard form has. Design choices, provisional until there are norms.
    fn default() -> Self {
        Self {
            fine_de00: 1.2,
            clinical_de00: 1.8,
            developing_de00: 2.7,
            false_alarms: 0.25,
            least_catch_trials: 12,
        }
    }
}

/// Factors on the time to answer that a seat can be offered, smallest first.
const RESPONSE_FACTORS: [f64; 7] = [1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 10.0];

impl Accommodation {
    /// The factors on the time to answer that a seat can be given, smallest first: 1 is none, 0 at
    /// the end is unlimited time.
    #[must_use]
    pub fn choices(&self) -> Vec<f64> {
        let most = self.most_response_factor;
        let mut choices: Vec<f64> =
            RESPONSE_FACTORS.into_iter().filter(|factor| *factor <= most).collect();
        if choices.last().is_some_and(|last| *last < most) {
            choices.push(most);
        }
        if self.may_be_untimed {
            choices.push(0.0);
        }
        choices
    }

    /// Whether a factor may be granted; 0 stands for unlimited time.
    #[must_use]
    pub fn allows(&self, factor: f64) -> bool {
        (factor == 0.0 && self.may_be_untimed)
            || (1.0..=self.most_response_factor.max(1.0)).contains(&factor)
    }
}

impl ToothNames {
    /// What a tooth is called; `place` is its place in the picture, from 1 at the left.
    fn name(self, tooth: Tooth, place: usize) -> String {
        match self {
            Self::Iso3950 => tooth.to_string(),
            Self::Universal => tooth.universal().to_string(),
            Self::Words => tooth.name(),
            Self::Places => place.to_string(),
        }
    }

    /// What a tooth among `teeth`, in the order of the picture, is called: on the screen, on phones,
    /// in the picture and in reports alike.
    #[must_use]
    pub fn of(self, tooth: Tooth, teeth: &[Tooth]) -> String {
        match teeth.iter().position(|known| *known == tooth) {
            Some(place) => self.name(tooth, place + 1),
            // A place that nobody sees says nothing.
            None if self == Self::Places => tooth.to_string(),
            None => self.name(tooth, 0),
        }
    }

    /// The names of all of them, in their order.
    #[must_use]
    pub fn all(self, teeth: &[Tooth]) -> Vec<String> {
        teeth.iter().map(|tooth| self.of(*tooth, teeth)).collect()
    }

    /// The name within a sentence: `tooth 9`, or `the upper left central incisor`.
    #[must_use]
    pub fn said(self, tooth: Tooth, teeth: &[Tooth]) -> String {
        let name = self.of(tooth, teeth);
        if self == Self::Words { format!("the {name}") } else { format!("tooth {name}") }
    }

    /// The name with what tooth that is: `9, the upper left central incisor`.
    #[must_use]
    pub fn explained(self, tooth: Tooth, teeth: &[Tooth]) -> String {
        let words = format!("the {}", tooth.name());
        if self == Self::Words { words } else { format!("{}, {words}", self.of(tooth, teeth)) }
    }
}

impl Course {
    /// How long each part of a smile of a form lasts, with a factor on the time to answer (0 for
    /// unlimited time).
    #[must_use]
    pub fn timing(&self, response_factor: f64) -> Timing {
        let response_s =
            if response_factor > 0.0 { self.response_s * response_factor } else { f64::INFINITY };
        Timing { exposure_s: self.exposure_s, response_s, ..Timing::default() }
    }

    /// Where the classes end. Where the file does not say so, no more smiles without a restoration
    /// are asked for than the forms have.
    #[must_use]
    pub fn class_limits(&self) -> ClassLimits {
        self.classes.unwrap_or_else(|| {
            let usual = ClassLimits::default();
            let least_catch_trials = usual.least_catch_trials.min(self.catch_trials());
            ClassLimits { least_catch_trials, ..usual }
        })
    }

    /// Smiles without a restoration in the forms that a learner sits, at the seat that sees the
    /// fewest.
    #[must_use]
    pub fn catch_trials(&self) -> u32 {
        let at = |seat: u64| {
            let forms = self.phases().into_iter().filter_map(|phase| self.form_of(phase, seat));
            forms.map(FormEntry::catch_trials).sum()
        };
        (0..SEATS).map(at).min().unwrap_or(0)
    }

    /// The form that a seat sits in a phase; `None` where the course has no such step.
    #[must_use]
    pub fn form_of(&self, phase: Phase, seat: u64) -> Option<&FormEntry> {
        let forms = self.steps.iter().find_map(|step| match step {
            Step::Form { forms, phase: this } if *this == phase => Some(forms),
            _ => None,
        })?;
        let turn = seat.checked_rem(forms.len() as u64)? as usize;
        self.forms.iter().find(|form| form.id == forms[turn])
    }

    /// The phases in which forms are sat, in order.
    #[must_use]
    pub fn phases(&self) -> Vec<Phase> {
        let phase = |step: &Step| match step {
            Step::Form { phase, .. } => Some(*phase),
            _ => None,
        };
        let mut seen = BTreeSet::new();
        self.steps.iter().filter_map(phase).filter(|phase| seen.insert(*phase)).collect()
    }
}
