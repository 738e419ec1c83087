//! Match: the nearest tab, or two that the tooth lies between.

use super::buttons::actions;
use crate::app::ui::widgets::body;
use crate::play::answer::{Draft, MatchDraft};
use crate::play::intents::Intent;
use bevy_egui::egui::Ui;

pub(super) fn draw(ui: &mut Ui, answer: &Draft, draft: &MatchDraft) -> Vec<Intent> {
    let words = match draft.chosen[..] {
        [] => "Which tab is nearest the marked tooth? Choose one, or two that it lies between."
            .to_owned(),
        [one] => format!("Nearest: tab {}.", one + 1),
        [one, other, ..] => {
            format!("Between tabs {} and {}.", one.min(other) + 1, one.max(other) + 1)
        }
    };
    body(ui, &words);
    actions(ui, answer)
}
