//! Two lights: options in one light, a prediction, then the same options in another.

use super::outcome::Outcome;
use super::ranking::{Ranked, name_of, note};
use crate::exercise::{Answer, Question, Sight, TwoLightsAnswer, TwoLightsTask};
use crate::play::around::around;
use crate::play::intents::Act;

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

impl TwoLightsDraft {
    pub(super) fn new(task: &TwoLightsTask) -> Self {
        Self {
            step: LightStep::First,
            current: 0,
            count: task.options.len(),
            choice: None,
            keep: None,
            second: None,
        }
    }

    pub(super) fn apply(&mut self, act: Act) -> Outcome {
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
                self.current = around(self.current, by, self.count);
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

/// The smiles in the light of the step.
pub(super) fn asked_sights(
    question: &Question,
    task: &TwoLightsTask,
    draft: &TwoLightsDraft,
) -> Vec<Sight> {
    match draft.step {
        LightStep::First | LightStep::Predict => question.sights.clone(),
        LightStep::Second => task.second_sights.clone(),
    }
}

/// The smiles in both lights.
pub(super) fn debrief_sights(question: &Question, task: &TwoLightsTask) -> Vec<Sight> {
    let lit = |sight: &Sight, light: &str| Sight {
        name: format!("{}, {light}", sight.name),
        case: sight.case.clone(),
    };
    let first = question.sights.iter().map(|sight| lit(sight, task.first_light.name()));
    let second = task.second_sights.iter().map(|sight| lit(sight, task.second_light.name()));
    first.chain(second).collect()
}

/// Every option in each light.
pub(super) fn ranked(
    question: &Question,
    task: &TwoLightsTask,
    answer: &TwoLightsAnswer,
) -> Vec<Ranked> {
    let count = task.options.len();
    let lit = |second: bool, light: &str| {
        let chosen = if second { answer.second_choice } else { answer.choice };
        task.options
            .iter()
            .enumerate()
            .map(|(k, option)| Ranked {
                name: format!("{}, {light}", name_of(question, k)),
                difference: if second { option.second } else { option.first },
                notes: note(chosen == k, "your choice").into_iter().collect(),
                sight: Some(if second { count + k } else { k }),
            })
            .collect::<Vec<_>>()
    };
    let mut all = lit(false, task.first_light.name());
    all.extend(lit(true, task.second_light.name()));
    all
}

#[cfg(test)]
mod tests {
    use super::*;

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
}
