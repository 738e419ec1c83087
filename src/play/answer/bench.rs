//! A recipe as it is composed, its attempts, and which picture of it is in view.
//!
//! The recipe in view is prepared anew whenever it changes; what is no longer wanted is dropped,
//! the latest picture stays until the next is there, and an attempt waits for its own. Between two
//! recipes of a mouth one tooth is baked and one map goes to the adapter (`Maps::carried_to`).
//!
//! # A picture that follows its control
//! While a restoration is composed, a picture should follow its control at once. Bake, preparation
//! and finish run on other threads, and each would end some frame later than it began; on the bench
//! (`Preparation::hurry`) a frame waits for each of them, 25 ms at most, so that a frame bakes and
//! draws and the next one shows. A window that waits for its display would hold the drawing frame
//! up by a refresh, so that frame leaves the window as it is (`WindowCamera`), and such frames do
//! not count for the refresh rate. None of this happens where an exposure or an answer is timed.
//! Pixels are copied at the end of the frame that draws them (`viewport::pixels`) and are read
//! where they lie. Maps are shared between the smiles of a mouth (`Arc`), and the last smile of
//! each of two lights is kept, baked and on the adapter; where drawing is quick, the second light
//! is got ready when nothing else is to be done.
//!
//! `second-glance frames --bench 3` measures it: every control from key press to the window's own
//! pixels, frames at once and at 60 Hz, in free play and in a level. The aim is 50 ms. On an H200,
//! release, all controls (three in ten of the changes need no new picture), ms:
//!
//! | window | frames | median | 90 % | worst |
//! |---|---|---|---|---|
//! | 1280×720 | as fast as they come | 46 | 52 | 83 |
//! | 1280×720 | at 60 Hz, the display's refreshes waited for | 69 | 88 | 108 |
//! | 1920×1080 | as fast as they come | 60 | 72 | 148 |
//! | 1920×1080 | at 60 Hz, the display's refreshes waited for | 86 | 106 | 155 |
//!
//! That card is made for computing: it needs 14 to 18 ms to draw this smile at 1920×1080, 3 to show
//! a finished one. Of 48 ms to a new picture at 1280×720 the bake takes 6, drawing and reading back
//! 20 to 27 (most of it setting the scene up anew; to keep its entities would be next), the finish
//! 5. Keeping the memory that pixels come back in, and handing the adapter no zeros, saved 8 to 12
//! ms.

use super::outcome::Outcome;
use super::ranking::Ranked;
use crate::bake::ZoneDifference;
use crate::colorimetry::{ACCEPTABILITY_DE00, Illuminant};
use crate::exercise::{
    Answer, BenchAnswer, BenchTask, Drafts, Reached, Recipe, RecipePart, RecipeProblem, Sight, Slot,
};
use crate::play::around::around;
use crate::play::intents::Act;
use crate::scene::Case;

/// A composition under way.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchDraft {
    /// The recipe, what came before and after, and two kept aside.
    pub drafts: Drafts,
    /// The part that Left and Right change.
    pub part: RecipePart,
    /// Attempts made.
    pub attempts: Vec<Reached>,
    /// The kept recipe in view instead of the one at hand.
    pub compared: Option<Slot>,
    /// Whether it is seen in the other light.
    pub other_light: bool,
    /// Whether an attempt waits for its smile.
    pub awaits: bool,
    /// Whether "change the plan" was said once; it counts when it is said again.
    pub leaving: bool,
    /// What keeps the recipe from being made, from the latest attempt.
    pub problems: Vec<RecipeProblem>,
}

const fn slot(place: usize) -> Slot {
    if place == 0 { Slot::A } else { Slot::B }
}

impl BenchDraft {
    /// Begins with the task's own recipe.
    #[must_use]
    pub fn new(task: &BenchTask) -> Self {
        Self {
            drafts: Drafts::new(task.start.clone()),
            part: RecipePart::ALL[0],
            attempts: Vec::new(),
            compared: None,
            other_light: false,
            awaits: false,
            leaving: false,
            problems: Vec::new(),
        }
    }

    /// The recipe in view.
    #[must_use]
    pub fn recipe(&self) -> &Recipe {
        self.compared
            .and_then(|slot| self.drafts.kept(slot))
            .unwrap_or_else(|| self.drafts.current())
    }

    /// The smile in view.
    #[must_use]
    pub fn case(&self, task: &BenchTask) -> Case {
        let mut case = task.case_with(self.recipe());
        if self.other_light {
            case.illuminant = other_light(case.illuminant);
        }
        case
    }

    /// The smile that an attempt is judged by: the recipe at hand in the question's light.
    #[must_use]
    pub fn judged_case(&self, task: &BenchTask) -> Case {
        task.case_with(self.drafts.current())
    }

    /// Attempts left; `None` in free play.
    #[must_use]
    pub fn attempts_left(&self, task: &BenchTask) -> Option<usize> {
        task.attempts.map(|all| usize::from(all).saturating_sub(self.attempts.len()))
    }

    /// Changes the recipe.
    pub fn change(&mut self, to: Recipe) {
        self.compared = None;
        self.problems.clear();
        self.drafts.change(to);
    }

    /// Goes on with a change under way, as within one drag of a control.
    pub fn adjust(&mut self, to: Recipe) {
        self.compared = None;
        self.problems.clear();
        self.drafts.adjust(to);
    }

    /// The smiles of the kept recipes, in the light in view.
    #[must_use]
    pub fn kept_cases(&self, task: &BenchTask) -> Vec<(&'static str, Case)> {
        [(Slot::A, "Recipe A"), (Slot::B, "Recipe B")]
            .into_iter()
            .filter_map(|(slot, name)| {
                let mut case = task.case_with(self.drafts.kept(slot)?);
                if self.other_light {
                    case.illuminant = other_light(case.illuminant);
                }
                Some((name, case))
            })
            .collect()
    }

    pub(super) fn apply(&mut self, act: Act, task: &BenchTask) -> Outcome {
        // While an attempt is worked out, the recipe stands still.
        if self.awaits && !matches!(act, Act::Light | Act::Compare(_)) {
            return Outcome::Nothing;
        }
        let left_before = std::mem::replace(&mut self.leaving, false);
        match act {
            Act::Step(by) => self.step(by),
            Act::Move(by) => {
                let to = self.drafts.current().stepped(self.part, by, &task.limits);
                self.change(to);
            }
            Act::Undo => {
                self.compared = None;
                self.drafts.undo();
            }
            Act::Redo => {
                self.compared = None;
                self.drafts.redo();
            }
            Act::Keep(place) => self.drafts.keep(slot(place)),
            Act::Compare(place) if self.drafts.kept(slot(place)).is_none() => {
                return Outcome::Missing("Keep a recipe there first (Shift with A or B).");
            }
            Act::Compare(place) => {
                let slot = slot(place);
                self.compared = if self.compared == Some(slot) { None } else { Some(slot) };
            }
            Act::Light => self.other_light = !self.other_light,
            Act::Confirm if task.attempts.is_none() => {
                // What is in view becomes the recipe at hand.
                if let Some(slot) = self.compared.take() {
                    self.drafts.take_up(slot);
                }
            }
            Act::Yes if task.attempts.is_none() => return Outcome::FindBest,
            Act::None if task.attempts.is_none() => {}
            Act::None if left_before => return self.answer(true),
            Act::None => {
                self.leaving = true;
                return Outcome::Missing(
                    "N again: nothing will do here, and the plan must change.",
                );
            }
            Act::Yes if !self.attempts.is_empty() => return self.answer(false),
            Act::Yes => return Outcome::Missing("Make an attempt first (Enter)."),
            Act::Confirm => {
                self.compared = None;
                self.problems = task.limits.problems(self.drafts.current());
                if !self.problems.is_empty() {
                    return Outcome::Missing("This recipe cannot be made.");
                }
                self.awaits = true;
                return Outcome::Attempt;
            }
            _ => {}
        }
        Outcome::Nothing
    }

    fn step(&mut self, by: i32) {
        let parts = &RecipePart::ALL;
        let at = parts.iter().position(|part| *part == self.part).unwrap_or(0);
        self.part = parts[around(at, by, parts.len())];
    }

    /// Takes in what the attempt came to. The answer is whole after the last attempt, and where
    /// nobody needs another.
    pub(crate) fn attempted(&mut self, difference: ZoneDifference, task: &BenchTask) -> Outcome {
        self.awaits = false;
        self.attempts.push(Reached { recipe: self.drafts.current().clone(), difference });
        let is_met = difference.de00 <= ACCEPTABILITY_DE00;
        match self.attempts_left(task) {
            Some(0) => self.answer(false),
            Some(_) if is_met => self.answer(false),
            _ => Outcome::Nothing,
        }
    }

    fn answer(&self, change_plan: bool) -> Outcome {
        let attempts = self.attempts.clone();
        Outcome::Answer(Answer::Bench(BenchAnswer { attempts, change_plan }))
    }
}

/// The light to check a recipe in: a warm lamp for daylight, daylight for a lamp.
#[must_use]
pub const fn other_light(light: Illuminant) -> Illuminant {
    match light {
        Illuminant::D65 => Illuminant::LedB3,
        _ => Illuminant::D65,
    }
}

/// The recipe in view.
pub(super) fn asked_sights(task: &BenchTask, draft: &BenchDraft) -> Vec<Sight> {
    let name = match draft.compared {
        None => "Your recipe",
        Some(Slot::A) => "Recipe A",
        Some(Slot::B) => "Recipe B",
    };
    vec![Sight { name: name.to_owned(), case: draft.case(task) }]
}

/// What may be asked for next: an attempt, and the kept recipes.
pub(super) fn next_sights(task: &BenchTask, draft: &BenchDraft) -> Vec<Sight> {
    let judged = Sight { name: String::new(), case: draft.judged_case(task) };
    std::iter::once(judged).chain(kept_sights(task, draft)).collect()
}

/// The kept recipes, in the light in view.
pub(super) fn kept_sights(task: &BenchTask, draft: &BenchDraft) -> Vec<Sight> {
    let kept = draft.kept_cases(task).into_iter();
    kept.map(|(name, case)| Sight { name: name.to_owned(), case }).collect()
}

/// The attempts, and the best that was found.
pub(super) fn debrief_sights(task: &BenchTask, answer: &BenchAnswer) -> Vec<Sight> {
    let attempts = answer.attempts.iter().enumerate().map(|(number, reached)| Sight {
        name: format!("Attempt {}", number + 1),
        case: task.case_with(&reached.recipe),
    });
    let best = task.best.iter().map(|best| Sight {
        name: "Best that was found".to_owned(),
        case: task.case_with(&best.recipe),
    });
    attempts.chain(best).collect()
}

/// The attempts, and the best that was found.
pub(super) fn ranked(task: &BenchTask, answer: &BenchAnswer) -> Vec<Ranked> {
    let attempts = answer.attempts.iter().enumerate().map(|(k, reached)| Ranked {
        name: format!("Attempt {}", k + 1),
        difference: reached.difference,
        notes: Vec::new(),
        sight: Some(k),
    });
    let best = task.best.iter().map(|best| Ranked {
        name: "Best that was found".to_owned(),
        difference: best.difference,
        notes: Vec::new(),
        sight: Some(answer.attempts.len()),
    });
    attempts.chain(best).collect()
}
