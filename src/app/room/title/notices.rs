//! What stands above the level list where something is wrong.

use crate::app::ui::theme;
use crate::app::ui::widgets::{card, paragraph, section, small};
use crate::play::content::FaultyFile;
use crate::words::count;
use bevy_egui::egui::{self, RichText, Ui};

/// Faults shown of one file at most.
const MOST_FAULTS: usize = 4;

/// Results end with the program: why, and what to do.
pub(super) fn not_kept(ui: &mut Ui, reason: &str) {
    card(ui, |ui| {
        section(ui, "Results are not kept");
        paragraph(ui, &format!("{}.", capital(reason)));
        paragraph(
            ui,
            "Everything can be played, but what you answer is gone when the program ends. Put this \
             right and start again, or give another folder by --data-dir.",
        );
    });
}

/// Nothing to list.
pub(super) fn no_levels(ui: &mut Ui, folder: Option<&str>, fault: Option<&FaultyFile>) {
    card(ui, |ui| {
        section(ui, "There are no levels to play");
        let place = folder.map_or_else(String::new, |folder| format!(" Looked in {folder}."));
        paragraph(
            ui,
            &format!(
                "Give a folder with level files by --levels, or start without it to play the levels \
                 that come with the program.{place}"
            ),
        );
        for fault in fault.iter().flat_map(|file| &file.faults) {
            small(ui, fault);
        }
    });
}

/// Files that cannot be played, with every fault.
pub(super) fn faulty(ui: &mut Ui, files: &[&FaultyFile]) {
    card(ui, |ui| {
        let files_in_words = count(files.len(), "file", "files");
        section(ui, &format!("{files_in_words} of yours cannot be played"));
        let them = if files.len() == 1 { "it" } else { "them" };
        small(
            ui,
            &format!("Put {them} right and come back to this list; all others can be played."),
        );
        for file in files {
            for fault in file.faults.iter().take(MOST_FAULTS) {
                ui.add(egui::Label::new(RichText::new(fault).color(theme::INK)).wrap());
            }
            if let Some(more) = file.faults.len().checked_sub(MOST_FAULTS).filter(|n| *n > 0) {
                small(ui, &format!("and {more} more: second-glance check lists them all"));
            }
        }
    });
}

/// A sentence with its first letter large.
fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(char::to_uppercase);
    first.map_or_else(String::new, |first| first.chain(letters).collect())
}
