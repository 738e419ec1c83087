//! The level list: a guided first hour, then every exercise with its levels, easy to hard.

mod cards;
mod notices;
mod rows;

pub use rows::{TitleGroup, TitleRow, TitleRows};

use self::cards::{level_card, without_levels};
use self::notices::{faulty, no_levels, not_kept};
use self::rows::{list_levels, next_row};
use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::page::Page;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, section, small};
use crate::play::cautions::CAUTIONS;
use crate::play::content::FaultyFile;
use crate::play::intents::Intent;
use crate::play::start::PendingStart;
use bevy::prelude::*;
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, RichText, Ui};

/// A window narrower than this has no room for long names in its first line, points.
const NARROW: f32 = 780.0;
/// A window lower than this has no room for all cautions beside the list, points.
const LOW: f32 = 480.0;

pub(crate) fn screen(app: &mut App) {
    app.init_resource::<TitleRows>().add_systems(OnEnter(Screen::Title), list_levels).add_systems(
        EguiPrimaryContextPass,
        draw_screen.in_set(Draw::Screen).run_if(in_state(Screen::Title)),
    );
}

fn draw_screen(mut canvas: Canvas, rows: Res<TitleRows>, pending: Res<PendingStart>) -> Result {
    let status = match (pending.waits(), pending.is_under_way()) {
        (true, true) => Some("Laying out the session…"),
        (true, false) => Some("Measuring the display…"),
        (false, _) => None,
    };
    canvas.draw(|ui| draw(ui, &rows, status))
}

/// Draws the screen; what was asked for.
pub fn draw(ui: &mut Ui, rows: &TitleRows, status: Option<&str>) -> Vec<Intent> {
    let edge = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 10));
    let window = ui.available_size();
    egui::Panel::bottom("cautions").show_separator_line(false).frame(edge).show(ui, |ui| {
        small(ui, &cautions(window.y));
    });
    let beside = |ui: &mut Ui, asked: &mut Vec<Intent>| elsewhere(ui, window.x < NARROW, asked);
    let below = |ui: &mut Ui| match status {
        Some(status) => {
            ui.label(RichText::new(status).color(theme::INK).strong());
        }
        None => small(ui, "Arrow keys or Tab choose, Enter starts"),
    };
    Page::new("Second Glance").without_page_keys().show(ui, beside, below, |ui, asked| {
        if let Some(reason) = &rows.unsaved {
            not_kept(ui, reason);
            ui.add_space(theme::GAP);
        }
        // What is wrong with the folder itself stands where nothing can be listed for it.
        let of_folder = |file: &&FaultyFile| {
            rows.groups.is_empty()
                && rows.own_folder.as_ref() == Some(&file.file.display().to_string())
        };
        if rows.groups.is_empty() {
            let of_folder = rows.faulty.iter().find(of_folder);
            no_levels(ui, rows.own_folder.as_deref(), of_folder);
            ui.add_space(theme::GAP);
        }
        let files: Vec<&FaultyFile> = rows.faulty.iter().filter(|file| !of_folder(file)).collect();
        if !files.is_empty() {
            faulty(ui, &files);
            ui.add_space(theme::GAP);
        }
        let next = next_row(&rows.groups);
        let has_notice = rows.unsaved.is_some() || !files.is_empty();
        for (number, group) in rows.groups.iter().enumerate() {
            if number == 1 {
                asked.extend(without_levels(ui));
            }
            section(ui, &group.title);
            small(ui, &group.what);
            for (index, row) in group.rows.iter().enumerate() {
                let is_next = next == Some((number, index));
                asked.extend(
                    ui.push_id((number, index), |ui| level_card(ui, row, is_next, has_notice))
                        .inner,
                );
                ui.add_space(4.0);
            }
            ui.add_space(theme::GAP);
        }
        if rows.groups.len() < 2 {
            asked.extend(without_levels(ui));
        }
    })
}

/// The cautions or, where they would take the room of the list, the first and where the others are.
fn cautions(height: f32) -> String {
    if height >= LOW {
        return CAUTIONS.replace('\n', " ");
    }
    format!("{} More: About.", CAUTIONS.lines().next().unwrap_or_default())
}

/// Where else one can go from here, from the right.
fn elsewhere(ui: &mut Ui, is_narrow: bool, asked: &mut Vec<Intent>) {
    let (about, measure) = if is_narrow {
        ("About", "Measure")
    } else {
        ("About and cautions", "Measure what you see")
    };
    for (words, intent) in [
        ("Quit", Intent::Quit),
        (about, Intent::OpenAbout),
        ("Courses", Intent::OpenCourses),
        (measure, Intent::OpenMeasure),
    ] {
        if big_button(ui, words).clicked() {
            asked.push(intent);
        }
    }
}
