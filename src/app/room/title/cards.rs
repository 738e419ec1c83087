//! The cards of the level list.

use super::rows::{TitleRow, facts_of, title_of};
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, card, section, small};
use crate::play::intents::Intent;
use bevy_egui::egui::{self, Ui};

/// One level. Where a notice stands above, the focus that `is_next` gives scrolls nothing: the notice
/// is read first.
pub(super) fn level_card(
    ui: &mut Ui,
    row: &TitleRow,
    is_next: bool,
    has_notice: bool,
) -> Option<Intent> {
    let mut asked = None;
    let level = &row.level;
    card(ui, |ui| {
        ui.horizontal_top(|ui| {
            let unfinished = row.history.unfinished;
            let buttons = if unfinished.is_some() { 300.0 } else { 130.0 };
            let text_width = (ui.available_width() - buttons).max(200.0);
            ui.allocate_ui_with_layout(
                egui::vec2(text_width, 0.0),
                egui::Layout::top_down(egui::Align::Min),
                |ui| {
                    ui.set_width(text_width);
                    ui.spacing_mut().item_spacing.y = 3.0;
                    section(ui, &title_of(row));
                    ui.add(egui::Label::new(&row.words).wrap());
                    small(ui, &facts_of(row));
                },
            );
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
                let words = if unfinished.is_some() { "Start anew" } else { "Start" };
                let start = big_button(ui, words);
                if start.clicked() {
                    asked = Some(Intent::StartLevel(level.id.clone()));
                }
                let mut first = start;
                if let Some(answered) = unfinished {
                    let label = format!("Continue after {answered}");
                    let go_on = big_button(ui, &label);
                    if go_on.clicked() {
                        asked = Some(Intent::ContinueLevel(level.id.clone()));
                    }
                    if first.gained_focus() {
                        first.scroll_to_me(None);
                    }
                    first = go_on;
                }
                let nothing_has_it = !crate::app::ui::focus::has_focused_widget(ui.ctx());
                if is_next {
                    crate::app::ui::focus::give_focus(&first);
                }
                if is_next && nothing_has_it && has_notice {
                    return;
                }
                if first.gained_focus() {
                    first.scroll_to_me(None);
                }
            });
        });
    });
    asked
}

/// What needs no level.
pub(super) fn without_levels(ui: &mut Ui) -> Vec<Intent> {
    let mut asked = Vec::new();
    section(ui, "Free play and your own cases");
    small(ui, "Nothing is asked or scored.");
    for (title, what, label, intent) in [
        (
            "Bench, free play",
            "Any prepared tooth, any room, any recipe: see what each thing does.",
            "Set up",
            Intent::OpenBenchSetup,
        ),
        (
            "A case from the clinic",
            "Measured colours and room of your own, to rehearse on the bench or keep as a level and \
             open again.",
            "Open the form",
            Intent::OpenClinicForm,
        ),
    ] {
        card(ui, |ui| {
            ui.horizontal_top(|ui| {
                let width = (ui.available_width() - 170.0).max(200.0);
                ui.allocate_ui_with_layout(
                    egui::vec2(width, 0.0),
                    egui::Layout::top_down(egui::Align::Min),
                    |ui| {
                        ui.set_width(width);
                        ui.spacing_mut().item_spacing.y = 3.0;
                        section(ui, title);
                        ui.add(egui::Label::new(what).wrap());
                    },
                );
                ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
                    let open = big_button(ui, label);
                    if open.gained_focus() {
                        open.scroll_to_me(None);
                    }
                    if open.clicked() {
                        asked.push(intent);
                    }
                });
            });
        });
        ui.add_space(4.0);
    }
    ui.add_space(theme::GAP);
    asked
}
