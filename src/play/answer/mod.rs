//! An answer as it is made: what keys and buttons do in each exercise, step by step, until the
//! answer is whole.

mod bench;
mod outcome;
mod ranking;

pub use bench::{BenchDraft, other_light};
pub use outcome::Outcome;
pub use ranking::{Ranked, numbered, ranking};

use crate::exercise::{
    Answer, BlendAnswer, BracketAnswer, EffectDirection, LadderAnswer, MarginAnswer, MatchAnswer,
    MatchChoice, Prediction, Question, Task, TryInAnswer, TwoLightsAnswer, VerdictAnswer,
};
use crate::play::intents::Act;
use std::collections::BTreeSet;

/// An answer under way.
#[derive(Debug, Clone, PartialEq)]
pub enum Draft {
    /// To Blend.
    Blend(BlendDraft),
    /// To Ladder.
    Ladder(LadderDraft),
    /// To Match.
    Match(MatchDraft),
    /// To Two lights.
    TwoLights(TwoLightsDraft),
    /// To Bench.
    Bench(Box<BenchDraft>),
    /// To Try-in.
    TryIn(TryInDraft),
    /// To Bracket.
    Bracket(BracketDraft),
    /// To Margin.
    Margin(MarginDraft),
    /// To Verdict.
    Verdict,
}

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

/// Where a question of Two lights stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LightStep {
    /// Choose in the first light.
    First,
    /// Say whether to keep it in the second.
    Predict,
    /// See, and choose in the second.
    Second,
}

/// Options in one light, then in another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TwoLightsDraft {
    /// The step.
    pub step: LightStep,
    /// The option in view.
    pub current: usize,
    /// Options in all.
    pub count: usize,
    /// The choice in the first light.
    pub choice: Option<usize>,
    /// The prediction.
    pub keep: Option<bool>,
    /// The choice in the second light.
    pub second: Option<usize>,
}

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

/// Directions of an effect, in the order of their keys.
pub const DIRECTIONS: [EffectDirection; 4] = [
    EffectDirection::Darker,
    EffectDirection::None,
    EffectDirection::Lighter,
    EffectDirection::Warmer,
];
/// Largest predicted effect, tenths of ΔE00.
const MOST_TENTHS: u32 = 50;

const fn moved(from: usize, by: i32, count: usize) -> usize {
    if count == 0 {
        return 0;
    }
    (from as i64 + by as i64).rem_euclid(count as i64) as usize
}

impl Draft {
    /// The start of an answer to a question.
    #[must_use]
    pub fn new(question: &Question) -> Self {
        let count = question.sights.len();
        match &question.task {
            Task::Blend(task) => {
                Self::Blend(BlendDraft { count: task.options.len(), ..BlendDraft::default() })
            }
            Task::Ladder(task) => Self::Ladder(LadderDraft {
                order: (0..task.patches.len()).collect(),
                cursor: 0,
                held: false,
            }),
            Task::Match(task) => {
                Self::Match(MatchDraft { cursor: 0, count: task.tabs.len(), chosen: Vec::new() })
            }
            Task::TwoLights(task) => Self::TwoLights(TwoLightsDraft {
                step: LightStep::First,
                current: 0,
                count: task.options.len(),
                choice: None,
                keep: None,
                second: None,
            }),
            Task::Bench(task) => Self::Bench(Box::new(BenchDraft::new(task))),
            Task::TryIn(task) => Self::TryIn(TryInDraft {
                count: task.cements.len(),
                predictions: Vec::new(),
                direction: EffectDirection::None,
                tenths: 0,
                current: 0,
                seated: None,
            }),
            Task::Bracket(_) => Self::Bracket(BracketDraft {
                current: 0,
                count,
                picked: Vec::new(),
                placing: false,
                place: Some(50),
            }),
            Task::Margin(_) => Self::Margin(MarginDraft { count, ..MarginDraft::default() }),
            Task::Verdict(_) => Self::Verdict,
        }
    }

    /// The sight in view, by its place among those the step shows.
    #[must_use]
    pub fn current(&self) -> usize {
        match self {
            Self::Blend(draft) => draft.current,
            Self::TwoLights(draft) => draft.current,
            Self::TryIn(draft) => draft.current,
            Self::Bracket(draft) => draft.current,
            Self::Margin(draft) => draft.current,
            _ => 0,
        }
    }

    /// Does what was asked for.
    pub fn apply(&mut self, act: Act, question: &Question) -> Outcome {
        match (self, &question.task) {
            (Self::Blend(draft), _) => draft.apply(act),
            (Self::Ladder(draft), _) => draft.apply(act),
            (Self::Match(draft), _) => draft.apply(act),
            (Self::TwoLights(draft), _) => draft.apply(act),
            (Self::Bench(draft), Task::Bench(task)) => draft.apply(act, task),
            (Self::TryIn(draft), _) => draft.apply(act),
            (Self::Bracket(draft), _) => draft.apply(act),
            (Self::Margin(draft), _) => draft.apply(act),
            (Self::Verdict, _) => verdict(act),
            (Self::Bench(_), _) => Outcome::Nothing,
        }
    }
}

impl BlendDraft {
    fn apply(&mut self, act: Act) -> Outcome {
        match act {
            Act::Choose(option) if option < self.count => self.current = option,
            Act::Move(by) | Act::Step(by) => self.current = moved(self.current, by, self.count),
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

impl LadderDraft {
    fn apply(&mut self, act: Act) -> Outcome {
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

impl MatchDraft {
    fn apply(&mut self, act: Act) -> Outcome {
        match act {
            Act::Choose(tab) if tab < self.count => self.cursor = tab,
            Act::Move(by) | Act::Step(by) => self.cursor = moved(self.cursor, by, self.count),
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

impl TwoLightsDraft {
    fn apply(&mut self, act: Act) -> Outcome {
        match (self.step, act) {
            (LightStep::Predict, Act::Yes) => self.keep = Some(true),
            (LightStep::Predict, Act::No) => self.keep = Some(false),
            (LightStep::Predict, Act::Confirm) => {
                if self.keep.is_none() {
                    return Outcome::Missing("Will you keep it (K) or change it (C)?");
                }
                self.step = LightStep::Second;
                self.current = self.choice.unwrap_or(0);
            }
            (LightStep::Predict, _) => {}
            (_, Act::Choose(option)) if option < self.count => self.current = option,
            (_, Act::Move(by) | Act::Step(by)) => {
                self.current = moved(self.current, by, self.count);
            }
            (LightStep::First, Act::Pick | Act::Tick) => self.choice = Some(self.current),
            (LightStep::Second, Act::Pick | Act::Tick) => self.second = Some(self.current),
            (LightStep::First, Act::Confirm) => {
                let Some(choice) = self.choice else {
                    return Outcome::Missing("Pick an option first (B).");
                };
                self.current = choice;
                self.step = LightStep::Predict;
            }
            (LightStep::Second, Act::Confirm) => {
                let (Some(choice), Some(keep)) = (self.choice, self.keep) else {
                    return Outcome::Nothing;
                };
                let Some(second_choice) = self.second else {
                    return Outcome::Missing("Pick an option for this light (B).");
                };
                let answer = TwoLightsAnswer { choice, keep, second_choice };
                return Outcome::Answer(Answer::TwoLights(answer));
            }
            _ => {}
        }
        Outcome::Nothing
    }
}

impl TryInDraft {
    /// Whether every cement has been predicted, so that all may be seen.
    #[must_use]
    pub const fn may_see(&self) -> bool {
        self.predictions.len() + 1 >= self.count
    }

    fn apply(&mut self, act: Act) -> Outcome {
        if self.may_see() { self.choose(act) } else { self.predict(act) }
    }

    fn predict(&mut self, act: Act) -> Outcome {
        let at = DIRECTIONS.iter().position(|d| *d == self.direction).unwrap_or(1);
        match act {
            Act::Choose(direction) if direction < DIRECTIONS.len() => {
                self.turn_to(DIRECTIONS[direction]);
            }
            Act::None => self.turn_to(EffectDirection::None),
            Act::Step(by) => self.turn_to(DIRECTIONS[moved(at, by, DIRECTIONS.len())]),
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
            Act::Move(by) | Act::Step(by) => self.current = moved(self.current, by, self.count),
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

impl BracketDraft {
    /// Percent that one step of the keys moves the place.
    const STEP: i32 = 5;

    fn apply(&mut self, act: Act) -> Outcome {
        match act {
            Act::Choose(option) if option < self.count => self.current = option,
            Act::Move(by) if self.placing => {
                let from = self.place.map_or(50, |place| place as i32);
                self.place = Some((from + Self::STEP * by).clamp(0, 100) as u32);
            }
            Act::Move(by) | Act::Step(by) => self.current = moved(self.current, by, self.count),
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

impl MarginDraft {
    fn apply(&mut self, act: Act) -> Outcome {
        match act {
            Act::Choose(option) if option < self.count => self.current = option,
            Act::Move(by) | Act::Step(by) => self.current = moved(self.current, by, self.count),
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

fn verdict(act: Act) -> Outcome {
    let accept = match act {
        Act::Yes => true,
        Act::No => false,
        Act::Confirm => return Outcome::Missing("Accept (A) or remake (R)?"),
        _ => return Outcome::Nothing,
    };
    Outcome::Answer(Answer::Verdict(VerdictAnswer { accept }))
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

    #[test]
    fn no_second_light_before_the_prediction() {
        let mut draft = TwoLightsDraft {
            step: LightStep::First,
            current: 0,
            count: 4,
            choice: None,
            keep: None,
            second: None,
        };
        assert!(matches!(draft.apply(Act::Confirm), Outcome::Missing(_)));
        draft.apply(Act::Choose(1));
        draft.apply(Act::Pick);
        draft.apply(Act::Confirm);
        assert!(matches!(draft.apply(Act::Confirm), Outcome::Missing(_)));
        assert_eq!(draft.step, LightStep::Predict);
        draft.apply(Act::No);
        draft.apply(Act::Confirm);
        draft.apply(Act::Move(1));
        draft.apply(Act::Pick);
        let answer = TwoLightsAnswer { choice: 1, keep: false, second_choice: 2 };
        assert_eq!(draft.apply(Act::Confirm), Outcome::Answer(Answer::TwoLights(answer)));
    }

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
