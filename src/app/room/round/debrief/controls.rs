//! The controls of a debrief, as the table of keys has them.

use crate::app::room::round::drawn::Drawn;
use crate::app::ui::hand::activated;
use crate::app::ui::widgets::{low_button, quiet_button, small_line};
use crate::play::intents::{ExerciseIntent, Intent};
use crate::play::keys::{Row, in_debrief, in_question, is_on_in_round, pause_label};
use crate::trial::InputDevice;
use crate::words::count_of;
use bevy_egui::egui::{self, Ui};

/// Width of a column of controls, and height and distance of each, points.
pub(super) const CONTROLS_WIDTH: f32 = 210.0;
const CONTROL_HEIGHT: f32 = 30.0;
const CONTROL_GAP: f32 = 4.0;

/// What can be done, in order.
fn offered(drawn: Drawn<'_>) -> Vec<&'static Row> {
    let exercising = drawn.exercising;
    if exercising.mode().free().is_some() {
        let back = Intent::Exercise(ExerciseIntent::TogglePage(exercising.page()));
        return in_question(exercising, true).controls().filter(|row| row.is_for(&back)).collect();
    }
    let next = Intent::Exercise(ExerciseIntent::ReviewNext(1));
    let has_next = shows_smiles(drawn) && exercising.sights().len() > 1;
    let offered = in_debrief(exercising, drawn.preparation);
    offered.controls().filter(|row| has_next || !row.is_for(&next)).collect()
}

/// Whether what is explained are smiles and not flat colours.
fn shows_smiles(drawn: Drawn<'_>) -> bool {
    drawn.exercising.marked().is_some_and(|(question, ..)| question.has_layers())
}

/// Height of all controls, below one another in a width, points.
pub(super) fn height_in(width: f32, drawn: Drawn<'_>) -> f32 {
    let rows = offered(drawn).len().div_ceil(columns_in(width)) + 1;
    rows as f32 * (CONTROL_HEIGHT + CONTROL_GAP) + 8.0
}

/// The controls, each of the same width, as many beside each other as there is room for.
pub(super) fn controls(ui: &mut Ui, drawn: Drawn<'_>) -> Vec<Intent> {
    let mut asked = Vec::new();
    ui.spacing_mut().button_padding.y = 3.0;
    ui.spacing_mut().item_spacing = egui::vec2(8.0, CONTROL_GAP);
    ui.spacing_mut().interact_size.y = CONTROL_HEIGHT;
    let columns = columns_in(ui.available_width());
    let width = ui.available_width() / columns as f32 - 8.0;
    let exercising = drawn.exercising;
    for line in offered(drawn).chunks(columns) {
        ui.horizontal(|ui| {
            for row in line {
                let is_on = |intent: &Intent| is_on_in_round(intent, drawn.view, exercising);
                let response = low_button(ui, &row.label_now(is_on), width);
                if response.gained_focus() {
                    response.scroll_to_me(None);
                }
                if activated(&response).is_some() {
                    asked.extend(row.asks(InputDevice::Pointer));
                }
            }
        });
    }
    if exercising.mode().free().is_some() {
        return asked;
    }
    ui.horizontal_wrapped(|ui| {
        let pause = quiet_button(ui, &pause_label());
        if pause.gained_focus() {
            pause.scroll_to_me(None);
        }
        if activated(&pause).is_some() {
            asked.push(Intent::Pause);
        }
        let sitting = exercising.sitting();
        let (answered, total) = (sitting.answered(), sitting.round().questions.len());
        // Where there is no room beside, it goes to the next line as a whole.
        small_line(ui, &count_of(answered, total, "question", "questions"));
    });
    asked
}

/// Controls that have room beside each other.
fn columns_in(width: f32) -> usize {
    ((width / CONTROLS_WIDTH) as usize).max(1)
}
