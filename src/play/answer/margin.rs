//! Margin: onlays, and the one whose margin cannot be seen.

use super::outcome::Outcome;
use super::ranking::{Ranked, name_of, note};
use crate::exercise::{Answer, MarginAnswer, MarginTask, Question};
use crate::play::around::around;
use crate::play::intents::Act;

/// Onlays and their margins.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct MarginDraft {
    /// The option in view.
    pub current: usize,
    /// Options in all.
    pub count: usize,
    /// The choice.
    pub choice: Option<usize>,
    /// Whether none hides its margin.
    pub none: bool,
}

impl MarginDraft {
    pub(super) fn new(count: usize) -> Self {
        Self { count, ..Self::default() }
    }

    pub(super) fn apply(&mut self, act: Act) -> Outcome {
        match act {
            Act::Choose(option) if option < self.count => self.current = option,
            Act::Move(by) | Act::Step(by) => self.current = around(self.current, by, self.count),
            Act::Pick | Act::Tick => {
                self.none = false;
                self.choice = Some(self.current);
            }
            Act::None => {
                self.none = !self.none;
                if self.none {
                    self.choice = None;
                }
            }
            Act::Confirm => {
                if !self.none && self.choice.is_none() {
                    return Outcome::Missing("Pick an option (B), or say that none hides it (N).");
                }
                return Outcome::Answer(Answer::Margin(MarginAnswer { choice: self.choice }));
            }
            _ => {}
        }
        Outcome::Nothing
    }
}

/// Every option by what is seen along its margin.
pub(super) fn ranked(question: &Question, task: &MarginTask, answer: &MarginAnswer) -> Vec<Ranked> {
    task.options
        .iter()
        .enumerate()
        .map(|(k, option)| Ranked {
            name: format!("{}, along its margin", name_of(question, k)),
            difference: option.contrast.mean,
            notes: [
                note(answer.choice == Some(k), "your choice"),
                note(task.acceptable.contains(&k), "acceptable"),
            ]
            .into_iter()
            .flatten()
            .collect(),
            sight: Some(k),
        })
        .collect()
}
