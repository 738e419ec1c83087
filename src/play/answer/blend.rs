//! Blend: options compared in the mouth, the best picked and all that pass ticked.

use super::outcome::Outcome;
use super::ranking::{Ranked, name_of, note};
use crate::exercise::blend::{BlendOption, Standing};
use crate::exercise::{Answer, BlendAnswer, BlendTask, Question};
use crate::play::around::around;
use crate::play::intents::Act;
use std::collections::BTreeSet;

/// Options compared in the mouth.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct BlendDraft {
    /// The option in view.
    pub current: usize,
    /// Options in all.
    pub count: usize,
    /// The best so far.
    pub best: Option<usize>,
    /// Options ticked as acceptable.
    pub ticked: BTreeSet<usize>,
    /// Whether none is called acceptable.
    pub none: bool,
}

impl BlendDraft {
    pub(super) fn new(task: &BlendTask) -> Self {
        Self { count: task.options.len(), ..Self::default() }
    }

    pub(super) fn apply(&mut self, act: Act) -> Outcome {
        match act {
            Act::Choose(option) if option < self.count => self.current = option,
            Act::Move(by) | Act::Step(by) => self.current = around(self.current, by, self.count),
            Act::Tick => {
                self.none = false;
                // The best is acceptable, or it would not be one.
                if self.best == Some(self.current) {
                    self.best = None;
                }
                if !self.ticked.remove(&self.current) {
                    self.ticked.insert(self.current);
                }
            }
            Act::Pick => {
                self.none = false;
                self.best = Some(self.current);
                self.ticked.insert(self.current);
            }
            Act::None => {
                self.none = !self.none;
                if self.none {
                    self.best = None;
                    self.ticked.clear();
                }
            }
            Act::Confirm => {
                if self.none {
                    return Outcome::Answer(Answer::Blend(BlendAnswer::none()));
                }
                let Some(best) = self.best else {
                    return Outcome::Missing(
                        "Pick the best option (B), or say that none fits (N).",
                    );
                };
                let acceptable = self.ticked.iter().copied().collect();
                let answer = BlendAnswer { best: Some(best), acceptable };
                return Outcome::Answer(Answer::Blend(answer));
            }
            _ => {}
        }
        Outcome::Nothing
    }
}

/// Every option, with how it stands to what is acceptable. Where a room answered, its answer is what it
/// chose most often.
pub(super) fn ranked(
    question: &Question,
    task: &BlendTask,
    answer: &BlendAnswer,
    in_room: bool,
) -> Vec<Ranked> {
    let pick = if in_room { "chosen most" } else { "your pick" };
    let ranked = |(k, option): (usize, &BlendOption)| Ranked {
        name: name_of(question, k),
        difference: option.difference(),
        notes: [
            note(answer.best == Some(k), pick),
            note(answer.best != Some(k) && answer.acceptable.contains(&k), "ticked"),
            Some(standing_in_words(option.standing).to_owned()),
        ]
        .into_iter()
        .flatten()
        .collect(),
        sight: Some(k),
    };
    task.options.iter().enumerate().map(ranked).collect()
}

const fn standing_in_words(standing: Standing) -> &'static str {
    match standing {
        Standing::Acceptable => "acceptable",
        Standing::Grey => "at the limit",
        Standing::Unacceptable => "not acceptable",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn blend(count: usize) -> BlendDraft {
        BlendDraft { count, ..BlendDraft::default() }
    }

    #[test]
    fn the_best_is_ticked_and_none_clears() {
        let mut draft = blend(4);
        assert!(matches!(draft.apply(Act::Confirm), Outcome::Missing(_)));
        draft.apply(Act::Choose(2));
        draft.apply(Act::Pick);
        draft.apply(Act::Move(-3));
        draft.apply(Act::Tick);
        draft.apply(Act::Choose(9));
        assert_eq!((draft.current, draft.best), (3, Some(2)));
        let answer = BlendAnswer { best: Some(2), acceptable: vec![2, 3] };
        assert_eq!(draft.clone().apply(Act::Confirm), Outcome::Answer(Answer::Blend(answer)));
        draft.apply(Act::None);
        assert_eq!(
            draft.clone().apply(Act::Confirm),
            Outcome::Answer(Answer::Blend(BlendAnswer::none()))
        );
        draft.apply(Act::Pick);
        assert_eq!((draft.none, draft.best), (false, Some(3)));
        // What is no longer acceptable is no longer the best.
        draft.apply(Act::Tick);
        assert_eq!((draft.best, draft.ticked.len()), (None, 0));
    }
}
