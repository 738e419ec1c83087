//! The controls below the smile, a file an exercise.

mod bench;
mod blend;
mod bracket;
mod buttons;
mod cells;
mod line;
mod margin;
mod matching;
mod try_in;
mod two_lights;

use super::drawn::Drawn;
use crate::app::ui::pause_control::pause_control;
use crate::app::ui::theme;
use crate::app::ui::widgets::body;
use crate::exercise::{Question, Task, light_in_words};
use crate::play::answer::Draft;
use crate::play::intents::Intent;
use bevy_egui::egui::{RichText, Ui};

/// Height of the controls, points.
pub(super) const fn height(draft: &Draft) -> f32 {
    match draft {
        Draft::Bench(_) => bench::HEIGHT,
        Draft::TryIn(draft) if !draft.may_see() => 214.0,
        Draft::Bracket(draft) if draft.placing => 190.0,
        Draft::Bracket(_) | Draft::TwoLights(_) => 182.0,
        Draft::Blend(_)
        | Draft::Ladder(_)
        | Draft::Match(_)
        | Draft::TryIn(_)
        | Draft::Margin(_)
        | Draft::Verdict => 150.0,
    }
}

pub(super) fn draw(
    ui: &mut Ui,
    draft: &Draft,
    question: &Question,
    drawn: Drawn<'_>,
) -> Vec<Intent> {
    let mut asked = of_exercise(ui, draft, question, drawn);
    let has_smiles = !matches!(draft, Draft::Ladder(_) | Draft::Bench(_) | Draft::Verdict);
    // Nothing more lies beside a brief view, and the form of the bench has its own.
    let is_brief = matches!(draft, Draft::Verdict) && drawn.exercising.may_look();
    if !is_brief && !matches!(draft, Draft::Bench(_)) {
        ui.horizontal_wrapped(|ui| {
            if has_smiles {
                asked.extend(buttons::views(ui, drawn));
            }
            asked.extend(pause_control(ui));
        });
    }
    if let Some(missing) = drawn.exercising.missing() {
        ui.label(RichText::new(missing).color(theme::INK).strong());
    }
    asked
}

fn of_exercise(ui: &mut Ui, answer: &Draft, question: &Question, drawn: Drawn<'_>) -> Vec<Intent> {
    match (&question.task, answer) {
        (Task::Blend(task), Draft::Blend(draft)) => {
            blend::draw(ui, answer, draft, task.teeth.len(), question)
        }
        (Task::Ladder(_), Draft::Ladder(_)) => {
            body(ui, "Order the patches by value, the lightest on the left.");
            buttons::actions(ui, answer)
        }
        (Task::Match(_), Draft::Match(draft)) => matching::draw(ui, answer, draft),
        (Task::TwoLights(task), Draft::TwoLights(draft)) => {
            let lights = (light_in_words(task.first_light), light_in_words(task.second_light));
            two_lights::draw(ui, answer, draft, lights, question)
        }
        (Task::Bench(task), Draft::Bench(draft)) => bench::draw(ui, answer, draft, task, drawn),
        (Task::TryIn(task), Draft::TryIn(draft)) => try_in::draw(ui, answer, draft, task),
        (Task::Bracket(task), Draft::Bracket(draft)) => {
            bracket::draw(ui, answer, draft, task, question)
        }
        (Task::Margin(_), Draft::Margin(draft)) => margin::draw(ui, answer, draft, question),
        (Task::Verdict(_), Draft::Verdict) => {
            body(ui, "Would you accept the marked tooth?");
            buttons::actions(ui, answer)
        }
        // An answer to another question than the one that is asked.
        (
            Task::Blend(_)
            | Task::Ladder(_)
            | Task::Match(_)
            | Task::TwoLights(_)
            | Task::Bench(_)
            | Task::TryIn(_)
            | Task::Bracket(_)
            | Task::Margin(_)
            | Task::Verdict(_),
            _,
        ) => Vec::new(),
    }
}
