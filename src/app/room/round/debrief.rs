//! The debrief of a question: the smiles again with their twin, every option by how far it was off,
//! and what it came to in sentences.

use crate::app::room::round::{Drawn, patches, smile};
use crate::app::ui::blend_chart::{BlendChartView, ChartCursor};
use crate::app::ui::cross_section::cross_section;
use crate::app::ui::hand::activated;
use crate::app::ui::number_line::Mark as LineMark;
use crate::app::ui::number_line::number_line;
use crate::app::ui::pause_control::LABEL;
use crate::app::ui::theme;
use crate::app::ui::widgets::{
    digit_of, low_button, page_keys, quiet_button, section, small, small_line, with_key,
};
use crate::exercise::{Answer, Mark, MatchChoice, Question, Task};
use crate::play::answer::ranking;
use crate::play::answer::{Ranked, numbered};
use crate::play::intents::Intent;
use crate::play::intents::{ExerciseIntent, Page};
use crate::play::view::{Look, Side};
use crate::words::count_of;
use crate::words::signed;
use bevy_egui::egui::{
    self, Rect, RichText, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType,
};

/// Height of the explanation below the picture, points: at least, its share of a tall window, and at
/// most, as all controls below one another are no higher.
const PANEL_HEIGHT: f32 = 336.0;
const PANEL_SHARE: f32 = 0.3;
const MOST_PANEL_HEIGHT: f32 = 440.0;
/// Chart and layers are drawn at least this large, points.
const LEAST_STUDY: egui::Vec2 = egui::vec2(560.0, 260.0);
/// From this width on, the controls stand beside chart and layers, points.
const WIDE_STUDY: f32 = 780.0;
/// Width of a column of controls, and height and distance of each, points.
const CONTROLS_WIDTH: f32 = 210.0;
const CONTROL_HEIGHT: f32 = 30.0;
const CONTROL_GAP: f32 = 4.0;
/// Distance of what stands side by side, points.
const GAP: f32 = 20.0;
/// From this width on, sentences and table stand side by side, points.
const TWO_COLUMNS: f32 = 760.0;
/// Where the notes begin in a line of the table, points.
const NOTES_LEFT: f32 = 190.0;
/// Widest the number line gets, points.
const NUMBER_LINE: f32 = 760.0;
/// A table of at most so many lines leaves room above it for the number line.
const SHORT_TABLE: usize = 3;

pub(crate) fn draw(ui: &mut Ui, window: Rect, drawn: Drawn<'_>) -> Vec<Intent> {
    let Some((question, answer, mark)) = drawn.exercising.marked() else { return Vec::new() };
    let page = drawn.exercising.page();
    if page != Page::Smile && has_layers(question) {
        return study(ui, window, page, question, drawn);
    }
    let height = (PANEL_SHARE * window.height()).clamp(PANEL_HEIGHT, MOST_PANEL_HEIGHT);
    let (picture, panel) = crate::app::room::round::split(window, height);
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
                        asked.extend(controls(ui, question, drawn));
                    });
                });
            });
        },
    );
    asked
}

/// Whether there is a chart and a cross-section to show.
fn has_layers(question: &Question) -> bool {
    !matches!(question.task, Task::Ladder(_) | Task::Match(_))
}

/// The chart or the layers of the smile in view, with the controls beside it or, where the window is
/// too narrow for both, below.
pub(crate) fn study(
    ui: &mut Ui,
    window: Rect,
    page: Page,
    question: &Question,
    drawn: Drawn<'_>,
) -> Vec<Intent> {
    let inner = window.shrink2(egui::vec2(20.0, 12.0));
    let is_beside = inner.width() >= WIDE_STUDY + CONTROLS_WIDTH + GAP;
    let (area, panel) = if is_beside {
        let x = inner.right() - CONTROLS_WIDTH;
        (
            Rect::from_min_max(inner.min, egui::pos2(x - GAP, inner.bottom())),
            Rect::from_min_max(egui::pos2(x, inner.top()), inner.max),
        )
    } else {
        let rows = offered(question, drawn).len().div_ceil(columns_in(inner.width())) + 1;
        let height = rows as f32 * (CONTROL_HEIGHT + CONTROL_GAP) + 8.0;
        let y = inner.bottom() - height;
        (
            Rect::from_min_max(inner.min, egui::pos2(inner.right(), y - 4.0)),
            Rect::from_min_max(egui::pos2(inner.left(), y), inner.max),
        )
    };
    studied(ui, area, page, drawn);
    ui.scope_builder(egui::UiBuilder::new().max_rect(panel), |ui| {
        let area = egui::ScrollArea::vertical().id_salt("controls").auto_shrink([false, false]);
        area.show(ui, |ui| {
            // Room for the focus ring.
            ui.add_space(4.0);
            controls(ui, question, drawn)
        })
    })
    .inner
    .inner
}

/// The chart or the layers of the smile in view.
pub(crate) fn studied(ui: &mut Ui, area: Rect, page: Page, drawn: Drawn<'_>) {
    let sights = drawn.exercising.sights();
    let name = sights.get(drawn.exercising.in_view()).map_or("", |sight| sight.name.as_str());
    let study = drawn.exercising.study();
    ui.scope_builder(egui::UiBuilder::new().max_rect(area), |ui| {
        let behind = if study.is_behind(page) { ", being worked out anew…" } else { "" };
        section(ui, &format!("{name}{behind}"));
        let room = egui::vec2(area.width(), area.bottom() - ui.cursor().top() - 4.0);
        // What would be too small to read is scrolled to instead.
        let size = room.max(LEAST_STUDY);
        ui.set_clip_rect(area.intersect(ui.clip_rect()));
        let scroll = egui::ScrollArea::both().id_salt("study").auto_shrink([false, false]);
        scroll.show(ui, |ui| match page {
            Page::Chart => match study.chart() {
                Some(chart) => {
                    let id = egui::Id::new("chart cursor");
                    let mut cursor: Option<ChartCursor> =
                        ui.data(|data| data.get_temp(id)).flatten();
                    let tooth = &drawn.exercising.tooth_said(chart.tooth);
                    BlendChartView { chart, tooth }.show(ui, size, &mut cursor);
                    ui.data_mut(|data| data.insert_temp(id, cursor));
                }
                None => nothing_yet(ui, study.is_done(page), "chart"),
            },
            _ => match study.section() {
                Some(layers) => {
                    let tooth = drawn.exercising.tooth_said(layers.tooth);
                    cross_section(ui, size, layers, &tooth);
                }
                None => nothing_yet(ui, study.is_done(page), "cross-section"),
            },
        });
    });
}

fn nothing_yet(ui: &mut Ui, is_done: bool, what: &str) {
    if !is_done {
        small(ui, &format!("Computing the {what}…"));
    } else {
        small(ui, &format!("There is no {what}: the tooth in this smile is natural."));
    }
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
                let key = keyed.and_then(|(number, _)| number.checked_sub(1)).map_or("", digit_of);
                asked.extend(ranked_line(ui, line, key, is_in_view));
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

/// One option; a press shows it, as does the key.
fn ranked_line(ui: &mut Ui, line: &Ranked, key: &str, is_in_view: bool) -> Option<Intent> {
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
        WidgetInfo::selected(WidgetType::SelectableLabel, true, is_in_view, with_key(&words, key))
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

/// What can be done, in order, each with its key.
fn offered(question: &Question, drawn: Drawn<'_>) -> Vec<(String, Intent)> {
    let mut offered = Vec::new();
    let mut offer = |label: String, intent: Intent| offered.push((label, intent));
    let toggle = |page| Intent::Exercise(ExerciseIntent::TogglePage(page));
    let at = drawn.exercising.page();
    if drawn.exercising.mode().free().is_some() {
        let key = if at == Page::Chart { "C" } else { "X" };
        offer(format!("Back to the smile  ({key})"), toggle(at));
        return offered;
    }
    let sitting = drawn.exercising.sitting();
    let (answered, total) = (sitting.answered(), sitting.round().questions.len());
    let next = if answered >= total { "Finish  (Enter)" } else { "Continue  (Enter)" };
    offer(next.to_owned(), Intent::Continue);
    let view = drawn.view;
    let shown = drawn.exercising.shown(drawn.preparation);
    let shows_smile = !matches!(question.task, Task::Ladder(_) | Task::Match(_));
    if at == Page::Smile && shows_smile && shown.is_some_and(|s| s.scene.truth.is_some()) {
        let other = if view.side() == Some(Side::Twin) { "Show restored" } else { "Show natural" };
        offer(format!("{other}  (Space)"), Intent::ToggleTwin);
        let auto = if view.auto_blink { "Stop blinking" } else { "Blink" };
        offer(format!("{auto}  (B)"), Intent::ToggleAutoBlink);
        let or_smile =
            |look, words: &'static str| if view.look == look { "Whole smile" } else { words };
        let map = or_smile(Look::Map, "Difference map");
        offer(format!("{map}  (M)"), Intent::ToggleMap);
        let pair = or_smile(Look::SideBySide, "Side by side");
        offer(format!("{pair}  (S)"), Intent::ToggleSideBySide);
    }
    if at == Page::Smile {
        let value = if view.value_only { "Show colour" } else { "Value only" };
        offer(format!("{value}  (V)"), Intent::ToggleValueOnly);
    }
    if has_layers(question) {
        for (page, key, words) in [(Page::Chart, "C", "Blend chart"), (Page::Layers, "X", "Layers")]
        {
            let words = if at == page { "Back to the smile" } else { words };
            offer(format!("{words}  ({key})"), toggle(page));
        }
    }
    if shows_smile && drawn.exercising.sights().len() > 1 {
        let next = Intent::Exercise(ExerciseIntent::ReviewNext(1));
        offer("Next smile  (Right)".to_owned(), next);
    }
    offered
}

/// The controls, each of the same width, as many beside each other as there is room for.
fn controls(ui: &mut Ui, question: &Question, drawn: Drawn<'_>) -> Vec<Intent> {
    let mut asked = Vec::new();
    ui.spacing_mut().button_padding.y = 3.0;
    ui.spacing_mut().item_spacing = egui::vec2(8.0, CONTROL_GAP);
    ui.spacing_mut().interact_size.y = CONTROL_HEIGHT;
    let columns = columns_in(ui.available_width());
    let width = ui.available_width() / columns as f32 - 8.0;
    for row in offered(question, drawn).chunks(columns) {
        ui.horizontal(|ui| {
            for (label, intent) in row {
                let response = low_button(ui, label, width);
                if response.gained_focus() {
                    response.scroll_to_me(None);
                }
                if activated(&response).is_some() {
                    asked.push(intent.clone());
                }
            }
        });
    }
    if drawn.exercising.mode().free().is_some() {
        return asked;
    }
    ui.horizontal_wrapped(|ui| {
        let pause = quiet_button(ui, LABEL);
        if pause.gained_focus() {
            pause.scroll_to_me(None);
        }
        if activated(&pause).is_some() {
            asked.push(Intent::Pause);
        }
        let sitting = drawn.exercising.sitting();
        let (answered, total) = (sitting.answered(), sitting.round().questions.len());
        // Where there is no room beside, it goes to the next line as a whole.
        small_line(ui, &count_of(answered, total, "question", "questions"));
    });
    asked
}

/// Controls that have room beside each other.
fn columns_in(width: f32) -> usize {
    ((width / CONTROLS_WIDTH) as usize).max(1)
}
