//! The debrief of a question: the smiles again with their twin, every option by how far it was off,
//! and what it came to in sentences.

mod controls;
pub(super) mod study;

use self::controls::{CONTROLS_WIDTH, controls};
use super::drawn::{Drawn, GAP, split};
use super::{patches, smile};
use crate::app::ui::hand::activated;
use crate::app::ui::number_line::Mark as LineMark;
use crate::app::ui::number_line::number_line;
use crate::app::ui::theme;
use crate::app::ui::widgets::{page_keys, section, small};
use crate::exercise::{Answer, Mark, MatchChoice, Question, Task};
use crate::play::answer::ranking;
use crate::play::answer::{Ranked, numbered};
use crate::play::intents::{ExerciseIntent, Intent, Page};
use crate::play::keys::with_digit;
use crate::words::signed;
use bevy_egui::egui::{
    self, Rect, RichText, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType,
};

/// Height of the explanation below the picture, points: at least, its share of a tall window, and at
/// most, as all controls below one another are no higher.
const PANEL_HEIGHT: f32 = 336.0;
const PANEL_SHARE: f32 = 0.3;
const MOST_PANEL_HEIGHT: f32 = 440.0;
/// From this width on, sentences and table stand side by side, points.
const TWO_COLUMNS: f32 = 760.0;
/// Where the notes begin in a line of the table, points.
const NOTES_LEFT: f32 = 190.0;
/// Widest the number line gets, points.
const NUMBER_LINE: f32 = 760.0;
/// A table of at most so many lines leaves room above it for the number line.
const SHORT_TABLE: usize = 3;

pub(super) fn draw(ui: &mut Ui, window: Rect, drawn: Drawn<'_>) -> Vec<Intent> {
    let Some((question, answer, mark)) = drawn.exercising.marked() else { return Vec::new() };
    let page = drawn.exercising.page();
    if page != Page::Smile && question.has_layers() {
        return study::study(ui, window, page, drawn);
    }
    let height = (PANEL_SHARE * window.height()).clamp(PANEL_HEIGHT, MOST_PANEL_HEIGHT);
    let (picture, panel) = split(window, height);
    let value_only = drawn.view.value_only;
    match (&question.task, answer) {
        (Task::Ladder(task), Answer::Ladder(answer)) => {
            patches::orders(ui, picture, &answer.order, task, value_only);
        }
        (Task::Match(task), Answer::Match(answer)) => {
            let chosen = match answer.choice {
                MatchChoice::Tab(tab) => vec![tab],
                MatchChoice::Between(one, other) => vec![one, other],
            };
            patches::compared(ui, picture, task, &chosen, value_only);
        }
        _ => smile::show(ui, picture, drawn),
    }
    let ranked = ranking(question, answer, drawn.exercising.mode().is_room());
    let mut asked = Vec::new();
    ui.scope_builder(
        egui::UiBuilder::new().max_rect(panel.shrink2(egui::vec2(20.0, 10.0))),
        |ui| {
            ui.set_clip_rect(panel);
            let text_width = ui.available_width() - CONTROLS_WIDTH - GAP;
            ui.horizontal_top(|ui| {
                ui.allocate_ui_with_layout(
                    egui::vec2(text_width, ui.available_height()),
                    egui::Layout::top_down(egui::Align::Min),
                    |ui| {
                        ui.set_width(text_width);
                        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
                            page_keys(ui);
                            ui.spacing_mut().item_spacing.y = 5.0;
                            asked.extend(explanation(ui, question, mark, &ranked, drawn));
                        });
                    },
                );
                ui.add_space(10.0);
                ui.vertical(|ui| {
                    ui.set_width(CONTROLS_WIDTH);
                    let area = egui::ScrollArea::vertical().id_salt("controls");
                    area.auto_shrink([false, false]).show(ui, |ui| {
                        // Room for the focus ring.
                        ui.add_space(4.0);
                        asked.extend(controls(ui, drawn));
                    });
                });
            });
        },
    );
    asked
}

fn explanation(
    ui: &mut Ui,
    question: &Question,
    mark: &Mark,
    ranked: &[Ranked],
    drawn: Drawn<'_>,
) -> Vec<Intent> {
    let in_view = drawn.exercising.in_view();
    let line = ranked.iter().find(|line| line.sight == Some(in_view));
    let sentences = |ui: &mut Ui| {
        // A room has no one answer that could score; what it does not vote on, the desk answers.
        let is_voted = matches!(question.task, Task::Blend(_) | Task::Verdict(_));
        if !(drawn.exercising.mode().is_room() && is_voted) {
            section(ui, &mark.headline());
        }
        for sentence in &mark.sentences {
            ui.add(egui::Label::new(RichText::new(sentence).color(theme::INK)).wrap());
        }
    };
    let difference = |ui: &mut Ui| {
        if let Some(line) = line {
            ui.add_space(4.0);
            let width = (ui.available_width() - 14.0).min(NUMBER_LINE);
            number_line(ui, width, &LineMark::rows_of(&line.difference));
        }
    };
    let table = |ui: &mut Ui| {
        let mut asked = Vec::new();
        if ranked.len() > 1 {
            ui.add_space(4.0);
            let keys = numbered(ranked);
            small(ui, "Nearest first: ΔE00, then value, chroma and hue apart from the twin");
            for line in ranked {
                let is_in_view = line.sight.is_some() && line.sight == Some(in_view);
                let keyed = keys.iter().find(|(_, sight)| line.sight == Some(*sight));
                let place = keyed.and_then(|(number, _)| number.checked_sub(1));
                asked.extend(ranked_line(ui, line, place, is_in_view));
            }
        }
        if let (Task::Blend(task), Some(line)) = (&question.task, line)
            && let Some(option) = line.sight.and_then(|sight| task.options.get(sight))
        {
            ui.add(egui::Label::new(RichText::new(&option.cause).color(theme::INK)).wrap());
        }
        asked
    };
    if ui.available_width() < TWO_COLUMNS {
        sentences(ui);
        difference(ui);
        return table(ui);
    }
    // Side by side, so that nothing has to be scrolled to.
    ui.columns(2, |columns| {
        let is_short = ranked.len() <= SHORT_TABLE;
        // Columns stretch their words otherwise.
        let layout = egui::Layout::top_down(egui::Align::Min);
        columns[0].with_layout(layout, |ui| {
            sentences(ui);
            if !is_short {
                difference(ui);
            }
        });
        let right = columns[1].with_layout(layout, |ui| {
            if is_short {
                difference(ui);
            }
            table(ui)
        });
        right.inner
    })
}

/// One option; a press shows it, as does the digit of its place.
fn ranked_line(
    ui: &mut Ui,
    line: &Ranked,
    place: Option<usize>,
    is_in_view: bool,
) -> Option<Intent> {
    let d = line.difference;
    let notes = match line.notes.join(", ") {
        notes if notes.is_empty() => line.name.clone(),
        notes => format!("{}: {notes}", line.name),
    };
    let parts = [d.dl00, d.dc00, d.dh00].map(signed);
    let words = format!("{:.1}   {}   {notes}", d.de00, parts.join(" "));
    let width = ui.available_width() - 14.0;
    let font = egui::FontId::proportional(16.0);
    // Long notes take several lines.
    let room = width - NOTES_LEFT - 4.0;
    let notes = ui.painter().layout(notes, font.clone(), theme::INK, room);
    let size = egui::vec2(width, (notes.size().y + 6.0).max(26.0));
    let (rect, response) = ui.allocate_exact_size(size, Sense::click());
    response.widget_info(|| {
        let label = place.map_or_else(|| words.clone(), |place| with_digit(&words, place));
        WidgetInfo::selected(WidgetType::SelectableLabel, true, is_in_view, label)
    });
    let painter = ui.painter();
    if is_in_view {
        let stroke = Stroke::new(2.0, theme::EDGE);
        painter.rect(rect, 3.0, theme::PAPER, stroke, StrokeKind::Inside);
    } else if response.hovered() && line.sight.is_some() {
        painter.rect_filled(rect, 3.0, theme::CONTROL_HOVER);
    }
    let number = |right: f32, words: String| {
        let at = egui::pos2(rect.left() + right, rect.center().y);
        painter.text(at, egui::Align2::RIGHT_CENTER, words, font.clone(), theme::INK);
    };
    number(34.0, format!("{:.1}", d.de00));
    for (index, part) in parts.into_iter().enumerate() {
        number(82.0 + 46.0 * index as f32, part);
    }
    let at = egui::pos2(rect.left() + NOTES_LEFT, rect.center().y - notes.size().y / 2.0);
    painter.galley(at, notes, theme::INK);
    if response.has_focus() {
        theme::focus_ring(painter, rect.shrink(3.0));
    }
    let sight = line.sight.filter(|_| activated(&response).is_some())?;
    Some(Intent::Exercise(ExerciseIntent::Review(sight)))
}
