//! Margin: the onlay whose margin disappears, or none.

use super::buttons::actions;
use super::cells::{cells, options};
use crate::app::ui::widgets::body;
use crate::exercise::Question;
use crate::play::answer::{Draft, MarginDraft};
use crate::play::intents::Intent;
use bevy_egui::egui::Ui;

pub(super) fn draw(
    ui: &mut Ui,
    answer: &Draft,
    draft: &MarginDraft,
    question: &Question,
) -> Vec<Intent> {
    let mark = |option: usize| if draft.choice == Some(option) { "hides it best" } else { "" };
    let mut asked = options(ui, &cells(question, draft.current, mark));
    asked.extend(actions(ui, answer));
    if draft.none {
        body(ui, "You say: none of them hides its margin.");
    }
    asked
}
