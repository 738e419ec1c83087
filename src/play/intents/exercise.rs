//! What can be asked for in an exercise with questions.

use crate::exercise::RecipePart;
use crate::trial::InputDevice;

/// What a learner can ask for in an exercise with questions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum ExerciseIntent {
    /// Leave the instructions.
    Begin,
    /// Do this to the answer under way; by which device.
    Act(Act, InputDevice),
    /// Take the patch at one place to another.
    Carry(usize, usize),
    /// Move a part of the recipe by steps.
    Compose(RecipePart, i32),
    /// Set a part of the recipe that is a number; whether a new change begins, as with the first
    /// step of a drag.
    Set(RecipePart, f64, bool),
    /// Set the predicted effect in value, ΔE00, darker below 0.
    Predict(f64),
    /// Set where the tooth lies between two options, percent.
    Place(u32),
    /// Show all options as small smiles, or one again.
    ToggleSheet,
    /// In the debrief, show this page, or the smile again.
    TogglePage(Page),
    /// In the debrief, look at this smile.
    Review(usize),
    /// In the debrief, the smile before or after.
    ReviewNext(i32),
}

/// What a key or button asks for while a question is asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// Go to this option, patch, tab or direction, 0-based.
    Choose(usize),
    /// Left or right: the option before or after, a patch's place, a value.
    Move(i32),
    /// Up or down: the entry before or after.
    Step(i32),
    /// Tick or untick, pick up or put down.
    Tick,
    /// Pick what is shown.
    Pick,
    /// "None", "it does not", "change the plan".
    None,
    /// Keep the choice, or accept.
    Yes,
    /// Change the choice, or remake.
    No,
    /// Take back the last change.
    Undo,
    /// Bring it back.
    Redo,
    /// Keep the recipe in the first (0) or second (1) place.
    Keep(usize),
    /// Show the recipe kept in a place, or the one at hand again.
    Compare(usize),
    /// See it in the other light.
    Light,
    /// Done: answer, or go on to the next step.
    Confirm,
}

/// What the debrief shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Page {
    /// The smile and what it came to.
    Smile,
    /// The blend chart.
    Chart,
    /// The cross-section.
    Layers,
}
