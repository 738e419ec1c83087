//! How an answer is marked: from regret to score, and from score to right, close or wrong.
//!
//! There is one rule for each, so that a score and its word cannot contradict: an answer is right if
//! it scores in full, close if it keeps more than half, and else wrong. What counts neither way has
//! no score and no word. Exercises decide what scores in full, and give no score beside an
//! answer that they would not call right.
//!
//! In the stored results `correct` is "right" by this rule. Rows stored by earlier versions may
//! differ: in Two lights `correct` was the prediction.

use crate::colorimetry::ACCEPTABILITY_DE00;
use crate::level::course_format::ToothNames;
use serde_json::Value;

/// Regret that costs nothing, ΔE00: half of what half of all observers notice; the standard is no
/// sharper. A setting of this program.
pub(super) const FREE_REGRET_DE00: f64 = 0.4;
/// Regret beyond [`FREE_REGRET_DE00`] that takes the whole score, ΔE00: one acceptability threshold.
const WHOLE_SCORE_DE00: f64 = ACCEPTABILITY_DE00;
/// Score above which an answer is close. A setting of this program.
const CLOSE_ABOVE: f64 = 50.0;
/// Sums of decimals are not exact: a score this near 100 is full.
const SLACK: f64 = 1e-9;

/// Score of a choice by its regret, ΔE00: 100 up to 0.4, then falling to 0 at 2.2.
#[must_use]
pub fn score_of_regret(regret_de00: f64) -> f64 {
    let beyond = (regret_de00 - FREE_REGRET_DE00).max(0.0);
    100.0 * (1.0 - beyond / WHOLE_SCORE_DE00).clamp(0.0, 1.0)
}

/// Whether a difference is acceptable beside the least one that can be had, both ΔE00: at most
/// [`ACCEPTABILITY_DE00`], or as good as the least one and little above it.
pub(super) fn accepts(de00: f64, least_de00: f64) -> bool {
    de00 <= ACCEPTABILITY_DE00
        || (de00 - least_de00 <= FREE_REGRET_DE00 && de00 <= ACCEPTABILITY_DE00 + FREE_REGRET_DE00)
}

/// What an answer came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Grade {
    /// The score is full.
    Right,
    /// More than half of it.
    Close,
    /// No more than that.
    Wrong,
}

impl Grade {
    /// The grade of a score, 0..100.
    #[must_use]
    pub fn of(score: f64) -> Self {
        if score >= 100.0 - SLACK {
            Self::Right
        } else if score > CLOSE_ABOVE {
            Self::Close
        } else {
            Self::Wrong
        }
    }

    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Right => "Right",
            Self::Close => "Close",
            Self::Wrong => "Wrong",
        }
    }
}

/// Whole points of a score, 0..100; 100 for a full one only.
#[must_use]
pub fn points(score: f64) -> u32 {
    if Grade::of(score) == Grade::Right { 100 } else { score.round().clamp(0.0, 99.0) as u32 }
}

/// How an answer is talked about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Wording {
    /// How teeth are named.
    pub names: ToothNames,
    /// Whether a room is spoken to, in which everyone answered for themselves: then nothing is said
    /// about an answer, only what is true.
    pub to_room: bool,
}

impl Default for Wording {
    /// Outside courses: ISO 3950, to the one who answered.
    fn default() -> Self {
        Self { names: ToothNames::Iso3950, to_room: false }
    }
}

/// How an answer was marked.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// 0 (nothing right) to 100; `None` where the answer counts neither way.
    pub score: Option<f64>,
    /// How much worse than the best that was offered or can be reached, ΔE00.
    pub regret_de00: Option<f64>,
    /// Whether it was right: the score is full. `None` without a score.
    pub right: Option<bool>,
    /// Plain sentences for the debrief: what it came to, and why.
    pub sentences: Vec<String>,
    /// What is stored as the truth: options with their differences, the best, the acceptable.
    pub truth: Value,
}

impl Mark {
    /// A mark whose word follows from its score.
    pub(super) fn new(
        score: Option<f64>,
        regret_de00: Option<f64>,
        sentences: Vec<String>,
        truth: Value,
    ) -> Self {
        let right = score.map(|score| Grade::of(score) == Grade::Right);
        Self { score, regret_de00, right, sentences, truth }
    }

    /// The grade; `None` where the answer counts neither way.
    #[must_use]
    pub fn grade(&self) -> Option<Grade> {
        self.score.map(Grade::of)
    }

    /// What heads the debrief: `Close: 72 of 100`.
    #[must_use]
    pub fn headline(&self) -> String {
        match (self.score, self.grade()) {
            (Some(score), Some(grade)) => {
                format!("{}: {} of 100", grade.word(), points(score))
            }
            _ => "Answered. This one counts neither way".to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_score_and_its_word_agree(score in prop_oneof![0.0..=100.0_f64, 99.4..=100.0_f64]) {
            let mark = Mark::new(Some(score), None, Vec::new(), Value::Null);
            let grade = mark.grade().unwrap();
            prop_assert_eq!(mark.right, Some(grade == Grade::Right));
            let headline = mark.headline();
            prop_assert!(headline.starts_with(grade.word()), "{}", headline);
            // What reads 100 is right and what is right reads 100.
            prop_assert_eq!(headline.contains("100 of 100"), grade == Grade::Right);
            prop_assert_eq!(grade == Grade::Wrong, score <= 50.0);
        }
    }

    #[test]
    fn half_a_score_is_wrong_and_what_is_above_it_close() {
        assert_eq!([Grade::of(50.0), Grade::of(50.1)], [Grade::Wrong, Grade::Close]);
    }

    #[test]
    fn what_has_no_score_has_no_word() {
        let mark = Mark::new(None, Some(0.2), Vec::new(), Value::Null);
        assert_eq!((mark.right, mark.grade()), (None, None));
        assert_eq!(mark.headline(), "Answered. This one counts neither way");
    }
}
