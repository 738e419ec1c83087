//! Recipes as they are tried: what was changed, back and forth, and two to compare.

use super::recipe::Recipe;

/// One of two places to keep a recipe for comparison.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Slot {
    /// First.
    A,
    /// Second.
    B,
}

/// A recipe under way, with everything before and after it, and two kept aside.
#[derive(Debug, Clone, PartialEq)]
pub struct Drafts {
    past: Vec<Recipe>,
    current: Recipe,
    future: Vec<Recipe>,
    kept: [Option<Recipe>; 2],
}

impl Drafts {
    /// Most changes that can be undone.
    pub const MOST: usize = 500;

    /// Begins with a recipe.
    #[must_use]
    pub const fn new(start: Recipe) -> Self {
        Self { past: Vec::new(), current: start, future: Vec::new(), kept: [None, None] }
    }

    /// The recipe as it is now.
    #[must_use]
    pub const fn current(&self) -> &Recipe {
        &self.current
    }

    /// Changes the recipe; what had been undone is gone. Returns whether anything changed.
    pub fn change(&mut self, to: Recipe) -> bool {
        if to == self.current {
            return false;
        }
        self.past.push(std::mem::replace(&mut self.current, to));
        if self.past.len() > Self::MOST {
            self.past.remove(0);
        }
        self.future.clear();
        true
    }

    /// Goes on with the last change, as within one drag of a control: begin it with
    /// [`Self::change`], and undoing goes back to before the drag. Returns whether anything changed.
    pub fn adjust(&mut self, to: Recipe) -> bool {
        let changed = to != self.current;
        self.current = to;
        if changed {
            self.future.clear();
        }
        changed
    }

    /// Whether there is something to undo.
    #[must_use]
    pub const fn can_undo(&self) -> bool {
        !self.past.is_empty()
    }

    /// Whether there is something to redo.
    #[must_use]
    pub const fn can_redo(&self) -> bool {
        !self.future.is_empty()
    }

    /// Goes back one change. Returns whether there was one.
    pub fn undo(&mut self) -> bool {
        let Some(before) = self.past.pop() else { return false };
        self.future.push(std::mem::replace(&mut self.current, before));
        true
    }

    /// Goes forward one change that was undone. Returns whether there was one.
    pub fn redo(&mut self) -> bool {
        let Some(after) = self.future.pop() else { return false };
        self.past.push(std::mem::replace(&mut self.current, after));
        true
    }

    /// Keeps the current recipe in a slot.
    pub fn keep(&mut self, slot: Slot) {
        self.kept[slot as usize] = Some(self.current.clone());
    }

    /// The recipe kept in a slot.
    #[must_use]
    pub fn kept(&self, slot: Slot) -> Option<&Recipe> {
        self.kept[slot as usize].as_ref()
    }

    /// Takes up the recipe kept in a slot; can be undone. Returns whether that changed anything.
    pub fn take_up(&mut self, slot: Slot) -> bool {
        let Some(recipe) = self.kept[slot as usize].clone() else { return false };
        self.change(recipe)
    }
}
