//! Blend: options in the mouth; the best, all that would pass, or none.

use super::buttons::actions;
use super::cells::{cells, options};
use crate::app::ui::widgets::body;
use crate::exercise::Question;
use crate::play::answer::{BlendDraft, Draft};
use crate::play::intents::Intent;
use bevy_egui::egui::Ui;

pub(super) fn draw(
    ui: &mut Ui,
    answer: &Draft,
    draft: &BlendDraft,
    teeth: usize,
    question: &Question,
) -> Vec<Intent> {
    let mark = |option: usize| match (draft.best == Some(option), draft.ticked.contains(&option)) {
        (true, _) => "best",
        (false, true) => "would pass",
        (false, false) => "",
    };
    let mut asked = options(ui, &cells(question, draft.current, mark));
    asked.extend(actions(ui, answer));
    if draft.none {
        body(ui, "You say: none of them would pass.");
    } else if teeth > 1 {
        body(ui, &format!("The {teeth} marked teeth are restored alike."));
    }
    asked
}
