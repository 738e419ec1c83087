//! How the session went.

use crate::app::Problem;
use crate::app::input::Intent;
use crate::app::persist::Records;
use crate::app::session::Session;
use crate::app::ui::{self, big_button, card, heading, paragraph, section, theme};
use bevy::prelude::*;
use bevy_egui::egui::{self, Ui};

/// The session's summary in words, written once on entering the screen.
#[derive(Resource, Debug, Default, Clone, PartialEq, Eq)]
pub struct SummaryText {
    /// The level's title.
    pub title: String,
    /// The summary.
    pub text: String,
}

pub(super) fn write_summary(
    mut commands: Commands,
    session: Option<Res<Session>>,
    records: Res<Records>,
    mut problem: ResMut<Problem>,
) {
    let Some(session) = session else { return };
    let summary = |number| {
        if session.is_search() { records.find_summary(number) } else { records.summary(number) }
    };
    let text = match session.stored_as().map(summary) {
        Some(Ok(text)) => text,
        Some(Err(error)) => {
            problem.report(error.to_string());
            String::new()
        }
        None => "No smile was answered.".to_owned(),
    };
    commands.insert_resource(SummaryText { title: session.plan().title.clone(), text });
}

pub(super) fn draw(ui: &mut Ui, summary: Option<&SummaryText>, results: &str) -> Vec<Intent> {
    let mut asked = Vec::new();
    let frame = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 20));
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        ui.horizontal(|ui| {
            heading(ui, "Session summary");
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                let back = big_button(ui, "Back to the levels");
                ui::give_focus(&back);
                if back.clicked() {
                    asked.push(Intent::BackToTitle);
                }
            });
        });
        ui.add_space(theme::GAP);
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            if let Some(summary) = summary {
                card(ui, |ui| {
                    section(ui, &summary.title);
                    for line in summary.text.lines() {
                        paragraph(ui, line);
                    }
                });
            }
            ui.add_space(theme::GAP);
            paragraph(ui, &format!("Every answered smile is kept in {results}"));
        });
    });
    asked
}
