//! Two lights: a choice, whether it will hold, and a choice in the other light.

use super::buttons::actions;
use super::cells::{cells, options};
use crate::app::ui::widgets::body;
use crate::exercise::Question;
use crate::play::answer::{Draft, LightStep, TwoLightsDraft};
use crate::play::intents::Intent;
use bevy_egui::egui::Ui;

pub(super) fn draw(
    ui: &mut Ui,
    answer: &Draft,
    draft: &TwoLightsDraft,
    (first, second): (&str, &str),
    question: &Question,
) -> Vec<Intent> {
    match draft.step {
        LightStep::First | LightStep::Second => {
            let is_first = draft.step == LightStep::First;
            let mark = |option: usize| {
                if is_first {
                    if draft.choice == Some(option) { "your choice" } else { "" }
                } else if draft.second == Some(option) {
                    "your choice now"
                } else if draft.choice == Some(option) {
                    "chosen before"
                } else {
                    ""
                }
            };
            let mut asked = options(ui, &cells(question, draft.current, mark));
            let light = if is_first { first } else { second };
            ui.label(format!("Light: {light}. Which option blends best in it?"));
            asked.extend(actions(ui, answer));
            asked
        }
        LightStep::Predict => {
            let choice = draft.choice.and_then(|c| question.sights.get(c));
            let name = choice.map_or("your choice", |sight| sight.name.as_str());
            body(ui, &format!("Before you see it in {second}: will {name} still be your choice?"));
            let said = match draft.keep {
                Some(true) => "You say: I will keep it.",
                Some(false) => "You say: I will change it.",
                None => "",
            };
            let asked = actions(ui, answer);
            body(ui, said);
            asked
        }
    }
}
