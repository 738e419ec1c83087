//! Bracket: two options picked to mill, and where the tooth lies between them.

use super::outcome::Outcome;
use super::ranking::{Ranked, name_of, note};
use crate::exercise::{Answer, BracketAnswer, BracketTask, Question};
use crate::play::around::around;
use crate::play::intents::Act;

/// Two options to mill, and where the tooth lies between them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BracketDraft {
    /// The option in view.
    pub current: usize,
    /// Options in all.
    pub count: usize,
    /// Options picked, at most two.
    pub picked: Vec<usize>,
    /// Whether the place between them is asked.
    pub placing: bool,
    /// The place, percent from the darker to the lighter; `None` for "not between them".
    pub place: Option<u32>,
}

impl BracketDraft {
    pub(super) const fn new(count: usize) -> Self {
        Self { current: 0, count, picked: Vec::new(), placing: false, place: Some(50) }
    }

    /// Percent that one step of the keys moves the place.
    const STEP: i32 = 5;

    pub(super) fn apply(&mut self, act: Act) -> Outcome {
        match act {
            Act::Choose(option) if option < self.count => self.current = option,
            Act::Move(by) if self.placing => {
                let from = self.place.map_or(50, |place| place as i32);
                self.place = Some((from + Self::STEP * by).clamp(0, 100) as u32);
            }
            Act::Move(by) | Act::Step(by) => self.current = around(self.current, by, self.count),
            Act::Pick | Act::Tick if !self.placing => {
                if let Some(at) = self.picked.iter().position(|option| *option == self.current) {
                    self.picked.remove(at);
                } else {
                    self.picked.push(self.current);
                    if self.picked.len() > 2 {
                        self.picked.remove(0);
                    }
                }
            }
            Act::None if self.placing => {
                self.place = if self.place.is_some() { None } else { Some(50) };
            }
            Act::Undo => self.placing = false,
            Act::Confirm => {
                let [one, other] = self.picked[..] else {
                    return Outcome::Missing("Pick two options to mill (B on each).");
                };
                if !self.placing {
                    self.placing = true;
                    self.current = one;
                    return Outcome::Nothing;
                }
                let placed = self.place.map(|percent| f64::from(percent) / 100.0);
                let options = [one.min(other), one.max(other)];
                return Outcome::Answer(Answer::Bracket(BracketAnswer { options, placed }));
            }
            _ => {}
        }
        Outcome::Nothing
    }
}

/// Every option, with how surely it is acceptable.
pub(super) fn ranked(
    question: &Question,
    task: &BracketTask,
    answer: &BracketAnswer,
) -> Vec<Ranked> {
    task.options
        .iter()
        .enumerate()
        .map(|(k, option)| Ranked {
            name: name_of(question, k),
            difference: option.estimate,
            notes: [
                Some(format!("acceptable in {:.0} %", 100.0 * option.acceptable)),
                note(answer.options.contains(&k), "yours"),
                note(
                    task.pairs.first().is_some_and(|best| best.options.contains(&k)),
                    "of the best pair",
                ),
            ]
            .into_iter()
            .flatten()
            .collect(),
            sight: Some(k),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_options_are_milled_and_the_tooth_is_placed_between_them() {
        let mut draft =
            BracketDraft { current: 0, count: 5, picked: vec![], placing: false, place: Some(50) };
        draft.apply(Act::Pick);
        assert!(matches!(draft.apply(Act::Confirm), Outcome::Missing(_)));
        for option in [4, 2] {
            draft.apply(Act::Choose(option));
            draft.apply(Act::Pick);
        }
        assert_eq!(draft.picked, [4, 2], "two at most, the oldest goes");
        draft.apply(Act::Confirm);
        draft.apply(Act::Move(3));
        let placed = BracketAnswer { options: [2, 4], placed: Some(0.65) };
        assert_eq!(draft.clone().apply(Act::Confirm), Outcome::Answer(Answer::Bracket(placed)));
        draft.apply(Act::None);
        let outside = BracketAnswer { options: [2, 4], placed: None };
        assert_eq!(draft.apply(Act::Confirm), Outcome::Answer(Answer::Bracket(outside)));
    }
}
