//! Match: tabs beside the target, one chosen, or two that it lies between.

use super::outcome::Outcome;
use super::ranking::{Ranked, note};
use crate::exercise::{Answer, MatchAnswer, MatchChoice, MatchTask};
use crate::play::around::around;
use crate::play::intents::Act;

/// Tabs beside the target.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MatchDraft {
    /// The tab the keys are at.
    pub cursor: usize,
    /// Tabs in all.
    pub count: usize,
    /// One tab chosen, or two that the target lies between.
    pub chosen: Vec<usize>,
}

impl MatchDraft {
    pub(super) fn new(task: &MatchTask) -> Self {
        Self { cursor: 0, count: task.tabs.len(), chosen: Vec::new() }
    }

    pub(super) fn apply(&mut self, act: Act) -> Outcome {
        match act {
            Act::Choose(tab) if tab < self.count => self.cursor = tab,
            Act::Move(by) | Act::Step(by) => self.cursor = around(self.cursor, by, self.count),
            Act::Tick | Act::Pick => {
                if let Some(at) = self.chosen.iter().position(|tab| *tab == self.cursor) {
                    self.chosen.remove(at);
                } else {
                    self.chosen.push(self.cursor);
                    if self.chosen.len() > 2 {
                        self.chosen.remove(0);
                    }
                }
            }
            Act::Confirm => {
                let choice = match self.chosen[..] {
                    [] => return Outcome::Missing("Choose the nearest tab (Space), or two."),
                    [one] => MatchChoice::Tab(one),
                    [one, other, ..] => MatchChoice::Between(one.min(other), one.max(other)),
                };
                return Outcome::Answer(Answer::Match(MatchAnswer { choice }));
            }
            _ => {}
        }
        Outcome::Nothing
    }
}

/// Every tab, with how far it is from the target.
pub(super) fn ranked(task: &MatchTask, answer: &MatchAnswer) -> Vec<Ranked> {
    let chosen = match answer.choice {
        MatchChoice::Tab(tab) => vec![tab],
        MatchChoice::Between(one, other) => vec![one, other],
    };
    task.tabs
        .iter()
        .enumerate()
        .map(|(k, tab)| Ranked {
            name: format!("Tab {}: {}", k + 1, tab.shade.name()),
            difference: tab.difference,
            notes: [
                note(chosen.contains(&k), "chosen"),
                note(task.exact == Some(k), "exactly the target"),
            ]
            .into_iter()
            .flatten()
            .collect(),
            sight: None,
        })
        .collect()
}
