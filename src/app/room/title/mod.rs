//! The level list: a guided first hour, then every exercise with its levels, easy to hard.

use crate::app::shell::canvas::{Canvas, Draw};
use crate::app::shell::state::Screen;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, card, heading, paragraph, section, small};
use crate::play::cautions::CAUTIONS;
use crate::play::content::{ActiveContent, EXERCISES, FIRST_HOUR, FaultyFile, LevelEntry};
use crate::play::intents::Intent;
use crate::play::problem::Problem;
use crate::play::records::{LevelHistory, Records};
use crate::play::start::PendingStart;
use crate::words::count;
use bevy::prelude::*;
use bevy_egui::EguiPrimaryContextPass;
use bevy_egui::egui::{self, RichText, Ui};
use std::collections::BTreeMap;

/// Faults shown of one file at most.
const MOST_FAULTS: usize = 4;
/// A window narrower than this has no room for long names in its first line, points.
const NARROW: f32 = 780.0;
/// A window lower than this has no room for all cautions beside the list, points.
const LOW: f32 = 480.0;

/// The level list as drawn: read once on entering the screen.
#[derive(Resource, Debug, Default, Clone, PartialEq, Eq)]
pub struct TitleRows {
    /// The levels.
    pub groups: Vec<TitleGroup>,
    /// Files of one's own that cannot be played.
    pub faulty: Vec<FaultyFile>,
    /// The folder for levels of one's own.
    pub own_folder: Option<String>,
    /// Why results are not kept.
    pub unsaved: Option<String>,
}

/// Levels under one heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TitleGroup {
    /// The heading.
    pub title: String,
    /// What is done in it.
    pub what: String,
    /// The levels in order.
    pub rows: Vec<TitleRow>,
}

/// One level and what the results say of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TitleRow {
    /// The level.
    pub level: LevelEntry,
    /// What is written below its title.
    pub words: String,
    /// What the results say.
    pub history: LevelHistory,
    /// Its place in a guided order, from 1.
    pub step: Option<usize>,
}

pub(crate) fn list_levels(
    content: Res<ActiveContent>,
    records: Res<Records>,
    mut rows: ResMut<TitleRows>,
    mut problem: ResMut<Problem>,
) {
    let history = records.history().unwrap_or_else(|error| {
        problem.report(error.to_string());
        BTreeMap::new()
    });
    *rows = TitleRows::read(&content, &history, records.unsaved());
}

impl TitleRows {
    /// The list of the levels in use, their files read anew, with what the results say of them and
    /// why results are not kept.
    #[must_use]
    pub fn read(
        content: &ActiveContent,
        history: &BTreeMap<String, LevelHistory>,
        unsaved: Option<&str>,
    ) -> Self {
        content.0.look_again();
        Self {
            groups: grouped(&content.0.levels(), &content.0.own_levels(), history),
            faulty: content.0.faulty(),
            own_folder: content.0.own_folder().map(|folder| folder.display().to_string()),
            unsaved: unsaved.map(str::to_owned),
        }
    }
}

/// The first hour, levels of one's own, then the exercises in their order. `levels` go from easy to
/// hard.
fn grouped(
    levels: &[LevelEntry],
    own: &[String],
    history: &BTreeMap<String, LevelHistory>,
) -> Vec<TitleGroup> {
    let of = |level: &LevelEntry| history.get(&level.id).copied().unwrap_or_default();
    let known = |id: &str| levels.iter().find(|level| level.id == id);
    let steps = FIRST_HOUR.iter().filter_map(|(id, why)| Some((known(id)?, *why)));
    let steps: Vec<TitleRow> = steps
        .enumerate()
        .map(|(index, (level, why))| TitleRow {
            level: level.clone(),
            words: why.to_owned(),
            history: of(level),
            step: Some(index + 1),
        })
        .collect();
    let mut groups = Vec::new();
    if !steps.is_empty() {
        groups.push(TitleGroup {
            title: "Start here".to_owned(),
            what:
                "A guided first hour: from value alone to a single dark central incisor. In order."
                    .to_owned(),
            rows: steps,
        });
    }
    let is_own = |level: &&LevelEntry| own.contains(&level.id);
    let row = |level: &LevelEntry| TitleRow {
        level: level.clone(),
        words: level.teaches.clone(),
        history: of(level),
        step: None,
    };
    let own_rows: Vec<TitleRow> = levels.iter().filter(is_own).map(row).collect();
    if !own_rows.is_empty() {
        groups.push(TitleGroup {
            title: "Your own levels".to_owned(),
            what: "From your folder of levels.".to_owned(),
            rows: own_rows,
        });
    }
    for (exercise, title, what) in EXERCISES {
        let of_it = levels.iter().filter(|level| !is_own(level) && level.exercise == exercise);
        let rows: Vec<TitleRow> = of_it.map(row).collect();
        if !rows.is_empty() {
            groups.push(TitleGroup { title: title.to_owned(), what: what.to_owned(), rows });
        }
    }
    groups
}

/// The row that is to be played next: of the steps, the first not done from the one played last on,
/// then from the beginning; where all are done, the one after it. Without steps, the very first row.
fn next_row(groups: &[TitleGroup]) -> Option<(usize, usize)> {
    let first = groups.first()?;
    let steps = first.rows.iter().filter(|row| row.step.is_some()).count();
    let played = (0..steps).filter(|step| first.rows[*step].history.newest.is_some());
    let Some(last) = played.max_by_key(|step| first.rows[*step].history.newest) else {
        return Some((0, 0));
    };
    let mut in_order = (last..steps).chain(0..last);
    let open = in_order.find(|step| !first.rows[*step].history.is_done);
    Some((0, open.unwrap_or((last + 1) % steps.max(1))))
}

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
    let mut asked = Vec::new();
    let frame = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 20));
    let edge = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 10));
    let window = ui.available_size();
    egui::Panel::bottom("cautions").show_separator_line(false).frame(edge).show(ui, |ui| {
        small(ui, &cautions(window.y));
    });
    let is_narrow = window.x < NARROW;
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        ui.horizontal(|ui| {
            heading(ui, "Second Glance");
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if big_button(ui, "Quit").clicked() {
                    asked.push(Intent::Quit);
                }
                let words = if is_narrow { "About" } else { "About and cautions" };
                if big_button(ui, words).clicked() {
                    asked.push(Intent::OpenAbout);
                }
                if big_button(ui, "Courses").clicked() {
                    asked.push(Intent::OpenCourses);
                }
                let words = if is_narrow { "Measure" } else { "Measure what you see" };
                if big_button(ui, words).clicked() {
                    asked.push(Intent::OpenMeasure);
                }
            });
        });
        match status {
            Some(status) => {
                ui.label(RichText::new(status).color(theme::INK).strong());
            }
            None => small(ui, "Arrow keys or Tab choose, Enter starts"),
        }
        ui.add_space(4.0);
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            // Room for the focus ring of the outermost buttons.
            egui::Frame::NONE.inner_margin(egui::Margin::symmetric(6, 6)).show(ui, |ui| {
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
                let files: Vec<&FaultyFile> =
                    rows.faulty.iter().filter(|file| !of_folder(file)).collect();
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
                            ui.push_id((number, index), |ui| {
                                level_card(ui, row, is_next, has_notice)
                            })
                            .inner,
                        );
                        ui.add_space(4.0);
                    }
                    ui.add_space(theme::GAP);
                }
                if rows.groups.len() < 2 {
                    asked.extend(without_levels(ui));
                }
            });
        });
    });
    asked
}

/// The cautions or, where they would take the room of the list, the first and where the others are.
fn cautions(height: f32) -> String {
    if height >= LOW {
        return CAUTIONS.replace('\n', " ");
    }
    format!("{} More: About.", CAUTIONS.lines().next().unwrap_or_default())
}

/// Results end with the program: why, and what to do.
fn not_kept(ui: &mut Ui, reason: &str) {
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
fn no_levels(ui: &mut Ui, folder: Option<&str>, fault: Option<&FaultyFile>) {
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
fn faulty(ui: &mut Ui, files: &[&FaultyFile]) {
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

/// What needs no level.
fn without_levels(ui: &mut Ui) -> Vec<Intent> {
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

/// A sentence with its first letter large.
fn capital(words: &str) -> String {
    let mut letters = words.chars();
    let first = letters.next().map(char::to_uppercase);
    first.map_or_else(String::new, |first| first.chain(letters).collect())
}

/// One level. Where a notice stands above, the focus that `is_next` gives scrolls nothing: the notice
/// is read first.
fn level_card(ui: &mut Ui, row: &TitleRow, is_next: bool, has_notice: bool) -> Option<Intent> {
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

fn title_of(row: &TitleRow) -> String {
    let done = if row.history.is_done { " (done)" } else { "" };
    match row.step {
        Some(step) => format!("{step}.  {}{done}", row.level.title),
        None => format!("{}{done}", row.level.title),
    }
}

fn facts_of(row: &TitleRow) -> String {
    let level = &row.level;
    let of_what = if level.exercise == "glance" { "smiles" } else { "questions" };
    let facts = format!("{}, {} {of_what}", level.difficulty_in_words(), level.trials);
    let exercise = EXERCISES.iter().find(|(name, ..)| *name == level.exercise);
    match (row.step, exercise) {
        (Some(_), Some((_, title, _))) => format!("{title}, {facts}"),
        _ => facts,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level(id: &str, exercise: &'static str) -> LevelEntry {
        LevelEntry {
            id: id.to_owned(),
            title: id.to_owned(),
            teaches: String::new(),
            difficulty: 3,
            trials: 10,
            exercise,
        }
    }

    #[test]
    fn the_first_hour_comes_first_and_points_at_what_is_open() {
        let first_id = FIRST_HOUR[0].0;
        let levels = [level("b", "blend"), level(first_id, "glance"), level("l", "ladder")];
        let mut history = BTreeMap::new();
        let groups = grouped(&levels, &[], &history);
        let titles: Vec<&str> = groups.iter().map(|group| group.title.as_str()).collect();
        assert_eq!(titles, ["Start here", "Glance", "Ladder", "Blend"]);
        assert_eq!(next_row(&groups), Some((0, 0)));
        let done = LevelHistory { is_done: true, unfinished: None, newest: Some(1) };
        history.insert(first_id.to_owned(), done);
        let groups = grouped(&levels, &[], &history);
        assert!(title_of(&groups[0].rows[0]).ends_with("(done)"));
        assert_eq!(groups[0].rows.len(), 1, "steps without a level are left out");
        assert_eq!(grouped(&[], &[], &history), []);
        assert_eq!(next_row(&[]), None);
    }

    #[test]
    fn after_a_step_comes_the_next_whatever_was_left_out_before() {
        let levels: Vec<LevelEntry> =
            FIRST_HOUR.iter().map(|(id, _)| level(id, "glance")).collect();
        let mut history = BTreeMap::new();
        let next = |history: &BTreeMap<String, LevelHistory>| {
            next_row(&grouped(&levels, &[], history)).unwrap().1
        };
        let mut play = |step: usize, number, is_done: bool| {
            let unfinished = (!is_done).then_some(2);
            let played = LevelHistory { unfinished, is_done, newest: Some(number) };
            history.insert(FIRST_HOUR[step].0.to_owned(), played);
            next(&history)
        };
        // Only the third was played.
        assert_eq!(play(2, 1, true), 3);
        // One that was left half-way is gone on with.
        assert_eq!(play(3, 2, false), 3);
        assert_eq!(play(0, 3, true), 1);
        for step in 0..FIRST_HOUR.len() {
            play(step, 10 + step as i64, true);
        }
        assert_eq!(play(2, 40, true), 3, "all are done");
    }
}
