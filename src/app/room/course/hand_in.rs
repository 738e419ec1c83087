//! Handing in, and what the learner is told afterwards.

use crate::app::ui::page::{Page, back, back_at_once, nothing};
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, card, paragraph, section, small, text_field};
use crate::play::cautions::CAUTIONS;
use crate::play::course::Seat;
use crate::play::intents::CourseIntent;
use crate::play::intents::Intent;
use crate::play::keys::{KeyContext, label};
use bevy_egui::egui::{self, Ui};

pub(crate) fn draw(ui: &mut Ui, seat: &Seat, results: &str) -> Vec<Intent> {
    let edge = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 10));
    let state = seat.hand_in();
    if state.written.is_some() {
        egui::Panel::bottom("cautions").show_separator_line(false).frame(edge).show(ui, |ui| {
            small(ui, &CAUTIONS.replace('\n', " "));
        });
    }
    let title = if state.written.is_some() { "Handed in" } else { "Hand in" };
    let beside = |ui: &mut Ui, asked: &mut Vec<Intent>| {
        if state.written.is_some() {
            back_at_once(ui, "Done", asked);
        } else {
            back(ui, &label(KeyContext::HandIn, &Intent::BackToTitle, false), asked);
        }
    };
    Page::new(title).show(ui, beside, nothing, |ui, asked| match &state.written {
        None => {
            card(ui, |ui| folder(ui, seat, results, asked));
        }
        Some(file) => {
            card(ui, |ui| {
                section(ui, "Your file");
                paragraph(ui, &file.display().to_string());
                small(
                    ui,
                    "It holds your forms under your random id; practice stays on this \
                             computer. Give it to the instructor.",
                );
            });
            for feedback in &state.feedback {
                ui.add_space(8.0);
                card(ui, |ui| {
                    section(ui, &feedback.heading);
                    for line in &feedback.lines {
                        paragraph(ui, line);
                    }
                });
            }
        }
    })
}

fn folder(ui: &mut Ui, seat: &Seat, results: &str, asked: &mut Vec<Intent>) {
    let state = seat.hand_in();
    section(ui, "Folder for the file");
    small(ui, "Type another if the instructor named one.");
    let width = ui.available_width().min(900.0);
    let mut text = state.folder.clone();
    let (edit, is_done) =
        text_field(ui, "hand-in folder", &mut text, "folder for the hand-in", width);
    crate::app::ui::focus::give_focus(&edit);
    if edit.changed() {
        asked.push(Intent::Course(CourseIntent::Folder(text)));
    }
    if is_done {
        asked.push(Intent::Course(CourseIntent::HandIn));
    }
    ui.add_space(8.0);
    if let Some(fault) = &state.fault {
        section(ui, "Not handed in");
        paragraph(ui, fault);
        small(ui, &format!("Results: {results}"));
        ui.add_space(4.0);
    }
    let hand_in = Intent::Course(CourseIntent::HandIn);
    if big_button(ui, &label(KeyContext::HandIn, &hand_in, state.fault.is_some())).clicked() {
        asked.push(hand_in);
    }
}
