//! Cautions, how it works, keys, and where results are kept.

use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::page::{Page, back_at_once, nothing};
use crate::app::ui::theme;
use crate::app::ui::widgets::{card, paragraph, section};
use crate::play::cautions::CAUTIONS;
use crate::play::intents::Intent;
use crate::play::keys;
use crate::play::records::Records;
use bevy::prelude::*;
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, Ui};

pub(crate) fn screen(app: &mut App) {
    app.add_systems(
        EguiPrimaryContextPass,
        draw_screen.in_set(Draw::Screen).run_if(in_state(Screen::About)),
    );
}

fn draw_screen(mut canvas: Canvas, records: Res<Records>) -> Result {
    canvas.draw(|ui| draw(ui, &records.location()))
}

pub(crate) fn draw(ui: &mut Ui, results: &str) -> Vec<Intent> {
    let beside = |ui: &mut Ui, asked: &mut Vec<Intent>| back_at_once(ui, "Back", asked);
    Page::new("About and cautions").show(ui, beside, nothing, |ui, _| {
        card(ui, |ui| {
            section(ui, "Cautions");
            paragraph(ui, &CAUTIONS.replace('\n', " "));
        });
        ui.add_space(theme::GAP);
        card(ui, |ui| {
            section(ui, "How a smile is made");
            paragraph(
                ui,
                "The colour of every tooth is computed from layers: enamel over dentin, or \
                     ceramic and cement over the prepared tooth. A restored smile has a twin with \
                     the same shapes, light and texture in which that tooth is natural. The \
                     difference between the two is the truth that your answer is judged by. About \
                     one smile in four has no restoration.",
            );
        });
        ui.add_space(theme::GAP);
        card(ui, |ui| {
            section(ui, "Keys");
            egui::Grid::new("keys").num_columns(2).spacing([28.0, 6.0]).show(ui, |ui| {
                for (key, meaning) in keys::about() {
                    ui.label(key);
                    ui.label(meaning);
                    ui.end_row();
                }
            });
        });
        ui.add_space(theme::GAP);
        card(ui, |ui| {
            section(ui, "Your results");
            paragraph(ui, &format!("They are kept on this computer only, in {results}"));
        });
    })
}
