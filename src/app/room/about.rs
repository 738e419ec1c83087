//! Cautions, how it works, keys, and where results are kept.

use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, card, heading, page_keys, paragraph, section};
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
    let mut asked = Vec::new();
    let frame = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 20));
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        ui.horizontal(|ui| {
            heading(ui, "About and cautions");
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let back = big_button(ui, "Back");
                crate::app::ui::focus::give_focus(&back);
                if back.clicked() {
                    asked.push(Intent::BackToTitle);
                }
            });
        });
        ui.add_space(theme::GAP);
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            page_keys(ui);
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
        });
    });
    asked
}
