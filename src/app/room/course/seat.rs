//! Who sits where: the learner's random id, the seat, the time to answer.

use crate::app::ui::focus::give_focus;
use crate::app::ui::page::column;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, card, heading, paragraph, section, small, text_field};
use crate::play::course::SeatForm;
use crate::play::intents::Intent;
use crate::play::intents::{CourseIntent, SeatField};
use crate::play::keys::{self, KeyContext};
use bevy_egui::egui::{self, RichText, Ui};

pub(crate) fn draw(ui: &mut Ui, form: &SeatForm) -> Vec<Intent> {
    column(ui, 760.0, |ui, asked| {
        heading(ui, &form.course().title);
        paragraph(ui, &form.course().teaches);
        ui.add_space(theme::GAP);
        card(ui, |ui| fields(ui, form, asked));
        ui.add_space(theme::GAP);
        if let Some(fault) = form.fault() {
            card(ui, |ui| {
                section(ui, "This cannot be used");
                paragraph(ui, fault);
            });
            ui.add_space(theme::GAP);
        }
        ui.horizontal(|ui| {
            for intent in [Intent::Course(CourseIntent::Enter), Intent::BackToTitle] {
                let words = keys::label(KeyContext::SeatForm, &intent, false);
                if big_button(ui, &words).clicked() {
                    asked.push(intent);
                }
            }
        });
        ui.add_space(4.0);
        small(
            ui,
            "Tab goes from field to field, Space chooses the time to answer. No name is \
                         asked for or kept.",
        );
    })
}

fn fields(ui: &mut Ui, form: &SeatForm, asked: &mut Vec<Intent>) {
    section(ui, "Learner id");
    small(ui, "The digits 0-9 and a-f from your slip of paper.");
    field(ui, form, SeatField::Learner, "learner id", 320.0, asked);
    ui.add_space(6.0);
    section(ui, "Seat number");
    small(ui, "It decides the order of your smiles.");
    field(ui, form, SeatField::Seat, "seat number", 120.0, asked);
    ui.add_space(6.0);
    section(ui, "Time to answer");
    small(
        ui,
        "Longer only where it was granted to you. How long a smile is seen stays the same; the \
         factor is kept with your results.",
    );
    ui.horizontal_wrapped(|ui| {
        let chosen = form.response_factor();
        for (place, factor) in form.course().accommodation.choices().into_iter().enumerate() {
            let is_chosen = (factor - chosen).abs() < 1e-9;
            let words = words(factor, form.course().response_s);
            let mark = if is_chosen { "\u{2714}" } else { "\u{25cb}" };
            let button = egui::Button::new(RichText::new(format!("{mark}  {words}")))
                .min_size(egui::vec2(0.0, 36.0))
                .fill(if is_chosen { theme::CONTROL_PRESSED } else { theme::CONTROL });
            let response = ui.add(button);
            if response.has_focus() {
                theme::focus_ring(ui.painter(), response.rect);
            }
            if response.clicked() {
                let choices = form.course().accommodation.choices();
                let now = choices.iter().position(|f| (f - chosen).abs() < 1e-9).unwrap_or(0);
                let by = place as i32 - now as i32;
                asked.push(Intent::Course(CourseIntent::Accommodate(by)));
            }
        }
    });
    // Room for the focus ring.
    ui.add_space(4.0);
}

/// A factor on the time to answer in words.
pub(crate) fn words(factor: f64, response_s: f64) -> String {
    if factor == 0.0 {
        return "no limit".to_owned();
    }
    let seconds = format!("{:.0} s", factor * response_s);
    if factor == 1.0 { seconds } else { format!("{seconds} (\u{d7}{factor})") }
}

/// A field for a text. Enter in it takes the seat.
fn field(
    ui: &mut Ui,
    form: &SeatForm,
    which: SeatField,
    label: &str,
    width: f32,
    asked: &mut Vec<Intent>,
) {
    let mut text = form.text(which).to_owned();
    let (edit, is_done) = text_field(ui, ("seat form", which), &mut text, label, width);
    if form.first_open() == which {
        give_focus(&edit);
    }
    if edit.changed() {
        asked.push(Intent::Course(CourseIntent::Write(which, text)));
    }
    if is_done {
        asked.push(Intent::Course(CourseIntent::Enter));
    }
}
