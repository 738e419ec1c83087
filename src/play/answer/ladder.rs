//! Ladder: patches ordered from light to dark.

use super::outcome::Outcome;
use crate::exercise::{Answer, LadderAnswer, LadderTask};
use crate::play::intents::Act;

/// Patches in the order given so far.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LadderDraft {
    /// Indices of the patches, the lightest first.
    pub order: Vec<usize>,
    /// The place the keys are at.
    pub cursor: usize,
    /// Whether the patch there moves along.
    pub held: bool,
}

impl LadderDraft {
    pub(super) fn new(task: &LadderTask) -> Self {
        Self { order: (0..task.patches.len()).collect(), cursor: 0, held: false }
    }

    pub(super) fn apply(&mut self, act: Act) -> Outcome {
        let count = self.order.len();
        match act {
            Act::Choose(place) if place < count => self.go_to(place),
            Act::Move(by) | Act::Step(by) => {
                let place = (self.cursor as i64 + i64::from(by)).clamp(0, count as i64 - 1);
                self.go_to(place as usize);
            }
            Act::Tick | Act::Pick => self.held = !self.held,
            Act::Confirm => {
                let order = self.order.clone();
                return Outcome::Answer(Answer::Ladder(LadderAnswer { order }));
            }
            _ => {}
        }
        Outcome::Nothing
    }

    /// Moves the cursor, and the patch with it if it is held.
    fn go_to(&mut self, place: usize) {
        if self.held {
            self.carry(self.cursor, place);
        }
        self.cursor = place;
    }

    /// Takes the patch from one place to another; those between close up.
    pub fn carry(&mut self, from: usize, to: usize) {
        if from < self.order.len() && to < self.order.len() {
            let patch = self.order.remove(from);
            self.order.insert(to, patch);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_held_patch_moves_along() {
        let mut draft = LadderDraft { order: vec![0, 1, 2, 3, 4], cursor: 0, held: false };
        draft.apply(Act::Choose(4));
        draft.apply(Act::Tick);
        draft.apply(Act::Choose(1));
        assert_eq!(draft.order, [0, 4, 1, 2, 3]);
        draft.apply(Act::Move(-5));
        draft.apply(Act::Tick);
        draft.apply(Act::Move(1));
        assert_eq!((draft.order[..].to_vec(), draft.cursor), (vec![4, 0, 1, 2, 3], 1));
    }
}
