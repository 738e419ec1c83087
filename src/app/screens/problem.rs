//! The dialog that says what failed and what to do.

use crate::app::input::Intent;
use crate::app::ui::{self, big_button, section, theme};
use bevy_egui::egui;

pub(super) fn draw(ctx: &egui::Context, text: &str) -> Option<Intent> {
    let mut asked = None;
    let frame = theme::card_frame().stroke(egui::Stroke::new(2.0, theme::EDGE));
    egui::Modal::new("problem".into())
        .frame(frame)
        .backdrop_color(egui::Color32::TRANSPARENT)
        .show(ctx, |ui| {
            ui.set_max_width(560.0);
            section(ui, "That did not work");
            ui.add_space(4.0);
            egui::ScrollArea::vertical().max_height(320.0).show(ui, |ui| {
                ui.add(egui::Label::new(text).wrap());
            });
            ui.add_space(theme::GAP);
            let close = big_button(ui, "Close");
            ui::give_focus(&close);
            if close.clicked() {
                asked = Some(Intent::DismissProblem);
            }
        });
    asked
}
