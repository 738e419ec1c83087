//! Try-in: what each cement does is predicted, then all are seen and one is picked for seating.

use super::outcome::Outcome;
use super::ranking::{Ranked, note};
use crate::exercise::{
    Answer, EffectDirection, Prediction, Question, Sight, TryInAnswer, TryInTask,
};
use crate::play::around::around;
use crate::play::intents::Act;
use crate::words::{count, de00};

/// Directions of an effect, in the order of their keys.
pub const DIRECTIONS: [EffectDirection; 4] = [
    EffectDirection::Darker,
    EffectDirection::None,
    EffectDirection::Lighter,
    EffectDirection::Warmer,
];
/// Largest predicted effect, tenths of ΔE00.
const MOST_TENTHS: u32 = 50;

/// Cements: each predicted, then all seen.
#[derive(Debug, Clone, PartialEq)]
pub struct TryInDraft {
    /// Cements in all; the first is in view from the beginning.
    pub count: usize,
    /// Predictions made.
    pub predictions: Vec<Prediction>,
    /// The prediction under way.
    pub direction: EffectDirection,
    /// Its size, tenths of ΔE00.
    pub tenths: u32,
    /// The cement in view once all are predicted.
    pub current: usize,
    /// The cement picked for seating.
    pub seated: Option<usize>,
}

impl TryInDraft {
    pub(super) fn new(task: &TryInTask) -> Self {
        Self {
            count: task.cements.len(),
            predictions: Vec::new(),
            direction: EffectDirection::None,
            tenths: 0,
            current: 0,
            seated: None,
        }
    }

    /// Whether every cement has been predicted, so that all may be seen.
    #[must_use]
    pub const fn may_see(&self) -> bool {
        self.predictions.len() + 1 >= self.count
    }

    pub(super) fn apply(&mut self, act: Act) -> Outcome {
        if self.may_see() { self.choose(act) } else { self.predict(act) }
    }

    fn predict(&mut self, act: Act) -> Outcome {
        let at = DIRECTIONS.iter().position(|d| *d == self.direction).unwrap_or(1);
        match act {
            Act::Choose(direction) if direction < DIRECTIONS.len() => {
                self.turn_to(DIRECTIONS[direction]);
            }
            Act::None => self.turn_to(EffectDirection::None),
            Act::Step(by) => self.turn_to(DIRECTIONS[around(at, by, DIRECTIONS.len())]),
            Act::Move(by) => self.slide(by),
            Act::Confirm => {
                let size_de00 = f64::from(self.tenths) / 10.0;
                self.predictions.push(Prediction { direction: self.direction, size_de00 });
                self.direction = EffectDirection::None;
                self.tenths = 0;
            }
            _ => {}
        }
        Outcome::Nothing
    }

    fn turn_to(&mut self, direction: EffectDirection) {
        self.direction = direction;
        if direction == EffectDirection::None {
            self.tenths = 0;
        } else if self.tenths == 0 {
            // Beginning with 1: about what is just seen.
            self.tenths = 10;
        }
    }

    /// Along the line from darker to lighter, or further out for warmer.
    fn slide(&mut self, by: i32) {
        if self.direction == EffectDirection::Warmer {
            self.tenths = self.tenths.saturating_add_signed(by).clamp(1, MOST_TENTHS);
            return;
        }
        let sign = if self.direction == EffectDirection::Darker { -1 } else { 1 };
        self.set_value(f64::from(sign * self.tenths as i32 + by) / 10.0);
    }

    /// A value effect from its place on the line, ΔE00, darker below 0.
    pub fn set_value(&mut self, value: f64) {
        let most = f64::from(MOST_TENTHS);
        let tenths = (10.0 * value).round().clamp(-most, most) as i32;
        self.tenths = tenths.unsigned_abs();
        self.direction = match tenths {
            0 => EffectDirection::None,
            ..0 => EffectDirection::Darker,
            _ => EffectDirection::Lighter,
        };
    }

    fn choose(&mut self, act: Act) -> Outcome {
        match act {
            Act::Choose(cement) if cement < self.count => self.current = cement,
            Act::Move(by) | Act::Step(by) => self.current = around(self.current, by, self.count),
            Act::Pick | Act::Tick => self.seated = Some(self.current),
            Act::Confirm => {
                let Some(seated) = self.seated else {
                    return Outcome::Missing("Pick the cement to seat it with (B).");
                };
                let predictions = self.predictions.clone();
                return Outcome::Answer(Answer::TryIn(TryInAnswer { predictions, seated }));
            }
            _ => {}
        }
        Outcome::Nothing
    }
}

/// The first smile until all are predicted.
pub(super) fn asked_sights(question: &Question, draft: &TryInDraft) -> Vec<Sight> {
    let seen = if draft.may_see() { question.sights.len() } else { 1 };
    question.sights.iter().take(seen).cloned().collect()
}

/// The smiles as seated and months later.
pub(super) fn debrief_sights(question: &Question, task: &TryInTask) -> Vec<Sight> {
    let months = count(task.drift.months.round() as usize, "month", "months");
    let later = question.sights.iter().map(|sight| Sight {
        name: format!("{}, {months} later", sight.name),
        case: task.after(&sight.case),
    });
    question.sights.iter().cloned().chain(later).collect()
}

/// Every cement as it is months later.
pub(super) fn ranked(task: &TryInTask, answer: &TryInAnswer) -> Vec<Ranked> {
    let cements = task.cements.len();
    let months = count(task.drift.months.round() as usize, "month", "months");
    task.cements
        .iter()
        .enumerate()
        .map(|(k, cement)| Ranked {
            name: format!("{}, {months} later", cement.name),
            difference: cement.after,
            notes: [
                Some(format!("{} when seated", de00(cement.at_seating.de00))),
                note(answer.seated == k, "your choice"),
                note(task.best == k, "best"),
            ]
            .into_iter()
            .flatten()
            .collect(),
            sight: Some(cements + k),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cements_are_seen_after_all_predictions_only() {
        let mut draft = TryInDraft {
            count: 3,
            predictions: Vec::new(),
            direction: EffectDirection::None,
            tenths: 0,
            current: 0,
            seated: None,
        };
        draft.apply(Act::Move(-13));
        assert_eq!((draft.direction, draft.tenths), (EffectDirection::Darker, 13));
        draft.apply(Act::Move(20));
        assert_eq!((draft.direction, draft.tenths), (EffectDirection::Lighter, 7));
        draft.apply(Act::Confirm);
        assert!(!draft.may_see());
        draft.apply(Act::Choose(3));
        draft.apply(Act::Move(-4));
        assert_eq!((draft.direction, draft.tenths), (EffectDirection::Warmer, 6));
        draft.apply(Act::Confirm);
        assert!(draft.may_see() && matches!(draft.apply(Act::Confirm), Outcome::Missing(_)));
        draft.apply(Act::Choose(2));
        draft.apply(Act::Pick);
        let Outcome::Answer(Answer::TryIn(answer)) = draft.apply(Act::Confirm) else {
            unreachable!("a cement is picked")
        };
        let sizes: Vec<f64> = answer.predictions.iter().map(|p| p.size_de00).collect();
        assert_eq!((sizes, answer.seated), (vec![0.7, 0.6], 2));
    }
}
