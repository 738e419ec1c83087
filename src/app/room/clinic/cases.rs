//! Cases of one's own in the form: the list to open one from, and what is asked before anything is lost.

use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, card, low_button, paragraph, section, small};
use crate::play::clinic::{CaseList, ClinicForm, FormQuestion};
use crate::play::intents::FormIntent;
use crate::play::intents::Intent;
use bevy_egui::egui::{self, Id, RichText, Ui};

/// Draws the list; what was asked for.
pub fn list(ui: &mut Ui, list: &CaseList) -> Vec<Intent> {
    let mut asked = Vec::new();
    let first_frame = is_new(ui, "case list", &list.folder);
    card(ui, |ui| {
        section(ui, "Your own cases");
        if list.files.is_empty() {
            paragraph(
                ui,
                "No case is here yet. One that is saved is kept as a file and can be opened again.",
            );
        }
        for (row, file) in list.files.iter().enumerate() {
            let name = file.path.file_name().unwrap_or(file.path.as_os_str()).to_string_lossy();
            let label = file.title.as_ref().map_or_else(
                || format!("{name}: no case can be read"),
                |title| format!("{title}: {name}"),
            );
            let response = low_button(ui, &label, 0.0);
            if row == 0 && first_frame {
                response.request_focus();
            }
            if response.gained_focus() {
                response.scroll_to_me(None);
            }
            if response.clicked() {
                asked.push(Intent::Form(FormIntent::Open(file.path.clone())));
            }
        }
        for fault in &list.faults {
            let words = RichText::new(fault).color(theme::INK).strong();
            ui.add(egui::Label::new(words).wrap());
        }
        small(ui, &format!("Folder: {}", list.folder));
    });
    asked
}

/// Draws what is asked, in place of the buttons; what was answered.
pub fn question(ui: &mut Ui, form: &ClinicForm, question: &FormQuestion) -> Vec<Intent> {
    let (words, answers) = match question {
        FormQuestion::Over { files, changed, other } => {
            let names: Vec<String> =
                files.iter().map(|(path, _)| path.display().to_string()).collect();
            let changed =
                if *changed { " The case was changed there since it was opened." } else { "" };
            let there = if names.len() == 1 { "is there already" } else { "are there already" };
            (
                format!("{} {there}.{changed} Save over?", names.join(" and ")),
                vec![
                    ("Leave it".to_owned(), FormIntent::No),
                    (format!("Save as {other}"), FormIntent::UnderAnotherName),
                    ("Save over".to_owned(), FormIntent::Yes),
                ],
            )
        }
        FormQuestion::Discard(path) => {
            let name = path.file_name().unwrap_or(path.as_os_str()).to_string_lossy();
            let title = form.form.title.trim();
            let title = if title.is_empty() { "no title" } else { title };
            (
                format!("What was typed ({title}) is not saved. Open {name} instead of it?"),
                vec![
                    ("Stay".to_owned(), FormIntent::No),
                    (format!("Open {name}"), FormIntent::Yes),
                ],
            )
        }
    };
    let mut asked = Vec::new();
    let first_frame = is_new(ui, "form question", &words);
    ui.add(egui::Label::new(RichText::new(&words).color(theme::INK).strong()).wrap());
    ui.horizontal_wrapped(|ui| {
        for (place, (label, intent)) in answers.into_iter().enumerate() {
            let response = big_button(ui, &label);
            // The answer that changes nothing has the focus.
            if place == 0 && first_frame {
                response.request_focus();
            }
            if response.clicked() {
                asked.push(Intent::Form(intent));
            }
        }
    });
    asked
}

/// Whether something was not on the screen in the frame before.
fn is_new(ui: &Ui, name: &str, what: &str) -> bool {
    let id = Id::new(name);
    let now = ui.ctx().cumulative_frame_nr();
    let last = ui.data_mut(|data| {
        let last = data.get_temp::<(u64, String)>(id);
        data.insert_temp(id, (now, what.to_owned()));
        last
    });
    last.is_none_or(|(frame, was)| frame + 1 < now || was != what)
}
