//! The level list.

use crate::app::Problem;
use crate::app::cli::CAUTIONS;
use crate::app::content::{ActiveContent, LevelEntry};
use crate::app::input::Intent;
use crate::app::persist::Records;
use crate::app::ui::{self, big_button, card, heading, paragraph, section, small, theme};
use bevy::prelude::*;
use bevy_egui::egui::{self, Ui};

/// The level list as drawn: read once on entering the screen.
#[derive(Resource, Debug, Default, Clone, PartialEq, Eq)]
pub struct TitleRows(pub Vec<TitleRow>);

/// One level and whether a session of it was left unfinished.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TitleRow {
    /// The level.
    pub level: LevelEntry,
    /// Trials answered in an unfinished session.
    pub unfinished: Option<usize>,
}

pub(super) fn list_levels(
    content: Res<ActiveContent>,
    records: Res<Records>,
    mut rows: ResMut<TitleRows>,
    mut problem: ResMut<Problem>,
) {
    rows.0.clear();
    for level in content.0.levels() {
        let unfinished = match records.unfinished(&level.id) {
            Ok(unfinished) => unfinished.map(|session| session.answered),
            Err(error) => {
                problem.report(error.to_string());
                None
            }
        };
        rows.0.push(TitleRow { level, unfinished });
    }
}

pub(super) fn draw(ui: &mut Ui, rows: &TitleRows, status: Option<&str>) -> Vec<Intent> {
    let mut asked = Vec::new();
    let frame = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 20));
    let edge = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 10));
    egui::Panel::bottom("cautions").show_separator_line(false).frame(edge).show(ui, |ui| {
        small(ui, &CAUTIONS.replace('\n', " "));
    });
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        ui.horizontal(|ui| {
            heading(ui, "Second Glance");
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if big_button(ui, "Quit").clicked() {
                    asked.push(Intent::Quit);
                }
                if big_button(ui, "About and cautions").clicked() {
                    asked.push(Intent::OpenAbout);
                }
            });
        });
        paragraph(
            ui,
            "One tooth in these smiles may be a restoration. You have a few seconds to find it.",
        );
        ui.add_space(4.0);
        ui.horizontal_wrapped(|ui| {
            if big_button(ui, "Measure what you see").clicked() {
                asked.push(Intent::OpenMeasure);
            }
            small(
                ui,
                "How small a difference you notice, without feedback. Or practise, with feedback:",
            );
        });
        ui.add_space(4.0);
        let status = status.unwrap_or("Arrow keys or Tab choose, Enter starts");
        small(ui, status);
        ui.add_space(4.0);
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            // Room for the focus ring of the outermost buttons.
            egui::Frame::NONE.inner_margin(egui::Margin::symmetric(6, 6)).show(ui, |ui| {
                if rows.0.is_empty() {
                    section(ui, "There are no levels to play");
                    paragraph(ui, "Give a folder with level files by --levels.");
                }
                for (index, row) in rows.0.iter().enumerate() {
                    asked.extend(level_card(ui, row, index == 0));
                    ui.add_space(6.0);
                }
            });
        });
    });
    asked
}

fn level_card(ui: &mut Ui, row: &TitleRow, is_first: bool) -> Option<Intent> {
    let mut asked = None;
    let level = &row.level;
    card(ui, |ui| {
        ui.horizontal_top(|ui| {
            let buttons = 250.0;
            let text_width = (ui.available_width() - buttons).max(200.0);
            ui.allocate_ui_with_layout(
                egui::vec2(text_width, 0.0),
                egui::Layout::top_down(egui::Align::Min),
                |ui| {
                    ui.set_width(text_width);
                    section(ui, &level.title);
                    ui.add(egui::Label::new(&level.teaches).wrap());
                    small(ui, &format!("{}, {} smiles", level.difficulty_in_words(), level.trials));
                },
            );
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
                ui.push_id(&level.id, |ui| {
                    let start = big_button(
                        ui,
                        if row.unfinished.is_some() { "Start anew" } else { "Start" },
                    );
                    if start.clicked() {
                        asked = Some(Intent::StartLevel(level.id.clone()));
                    }
                    let mut first = start;
                    if let Some(answered) = row.unfinished {
                        let label = format!("Continue after {answered}");
                        first = big_button(ui, &label);
                        if first.clicked() {
                            asked = Some(Intent::ContinueLevel(level.id.clone()));
                        }
                    }
                    if is_first {
                        ui::give_focus(&first);
                    }
                    if first.gained_focus() {
                        first.scroll_to_me(None);
                    }
                });
            });
        });
    });
    asked
}
