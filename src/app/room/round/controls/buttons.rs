//! Buttons made from the table of keys: those that answer, and ways to look.

use crate::app::room::round::drawn::Drawn;
use crate::app::ui::hand::activated;
use crate::app::ui::theme;
use crate::app::ui::widgets::low_button;
use crate::play::answer::Draft;
use crate::play::intents::{ExerciseIntent, Intent};
use crate::play::keys::{self, Asked, Row, is_on_in_answer, is_on_in_round};
use bevy_egui::egui::{self, RichText, Ui};

/// The controls by which the step at hand is answered.
pub(super) fn actions(ui: &mut Ui, draft: &Draft) -> Vec<Intent> {
    let mut asked = Vec::new();
    ui.horizontal_wrapped(|ui| {
        for row in keys::actions(Asked::of(draft)) {
            let label = row.label_now(|intent| match intent {
                Intent::Exercise(ExerciseIntent::Act(act, _)) => is_on_in_answer(*act, draft),
                _ => false,
            });
            asked.extend(pressed(ui, row, &label));
        }
    });
    asked
}

/// What a row of the table asks for where its control is pressed.
pub(super) fn pressed(ui: &mut Ui, row: &Row, label: &str) -> Option<Intent> {
    activated(&low_button(ui, label, 0.0)).and_then(|device| row.asks(device))
}

/// Ways to look.
pub(super) fn views(ui: &mut Ui, drawn: Drawn<'_>) -> Vec<Intent> {
    let exercising = drawn.exercising;
    let press = |row: &Row| {
        let label = row.label_now(|intent| is_on_in_round(intent, drawn.view, exercising));
        pressed(ui, row, &label)
    };
    keys::views(exercising).into_iter().filter_map(press).collect()
}

/// A strong line of text.
pub(super) fn strong(ui: &mut Ui, text: &str) {
    ui.add(egui::Label::new(RichText::new(text).color(theme::INK).strong()).wrap());
}
