//! The dialog that says what failed and what to do.

use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, section};
use crate::play::intents::Intent;
use crate::play::problem::Problem;
use bevy::prelude::{App, IntoScheduleConfigs, Res, Result};
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui;

pub(crate) fn screen(app: &mut App) {
    app.add_systems(EguiPrimaryContextPass, draw_message.in_set(Draw::Message));
}

fn draw_message(mut canvas: Canvas, problem: Res<Problem>) -> Result {
    match &problem.0 {
        Some(text) => canvas.over(|ctx| draw(ctx, text)),
        None => Ok(()),
    }
}

pub(crate) fn draw(ctx: &egui::Context, text: &str) -> Option<Intent> {
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
            crate::app::ui::focus::give_focus(&close);
            if close.clicked() {
                asked = Some(Intent::DismissProblem);
            }
        });
    asked
}
