//! What a room sees of a question: its choices, how many answered, how they answered. Type grows with the
//! window, so that the last row can read it.

use crate::app::ui::hand::activated;
use crate::app::ui::said;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, quiet_button};
use crate::lecture::Tally;
use crate::play::intents::{Act, ExerciseIntent, Intent, Page};
use crate::play::keys::{
    KeyContext, Row, in_room_question, is_on_in_round, key_name, pause_label, with_digit,
};
use crate::play::lecture::{Lecture, RoomStage};
use crate::play::round::Exercising;
use crate::play::view::DebriefView;
use crate::trial::InputDevice;
use bevy_egui::egui::{
    self, Align2, Color32, FontId, Painter, Pos2, Rect, Stroke, StrokeKind, Ui, pos2, vec2,
};

/// The window height that sizes below are meant for, points.
const DESIGN_HEIGHT: f32 = 720.0;
/// Height of the tally below the solution, points at the design height.
pub(crate) const TALLY_HEIGHT: f32 = 210.0;
/// Height of the question about options, and of the tally below its solution, the same.
const OPTIONS_HEIGHT: f32 = 250.0;
const REVEALED_HEIGHT: f32 = 130.0;

/// Height of the question about options in a window, points.
pub(crate) fn options_height(window: Rect) -> f32 {
    OPTIONS_HEIGHT * scale(window)
}

/// Height of the tally of a question about options in a window, points.
pub(crate) fn revealed_height(window: Rect) -> f32 {
    REVEALED_HEIGHT * scale(window)
}

/// How much larger or smaller than at the design height type is in this window.
pub(crate) fn scale(window: Rect) -> f32 {
    (window.height() / DESIGN_HEIGHT).min(window.width() / 1280.0).clamp(0.6, 4.0)
}

pub(crate) fn write(
    painter: &Painter,
    at: Pos2,
    anchor: Align2,
    text: &str,
    size: f32,
    colour: Color32,
) -> Rect {
    said::text(painter, at, anchor, text, FontId::proportional(size), colour)
}

/// Text no wider than `width`, made smaller where it must be.
pub(crate) fn write_within(
    painter: &Painter,
    at: Pos2,
    anchor: Align2,
    text: &str,
    size: f32,
    width: f32,
) -> Rect {
    let galley = painter.layout_no_wrap(text.to_owned(), FontId::proportional(size), theme::INK);
    let fitted = size * (width / galley.size().x.max(1.0)).min(1.0);
    write(painter, at, anchor, text, fitted, theme::INK)
}

/// Height of what stands at the foot, points.
pub(crate) fn foot_height(k: f32) -> f32 {
    // Two lines of type, or a control.
    (66.0 * k).max(50.0)
}

/// How many answered, where to answer with which code, and the instructor's keys: rows of the table,
/// with what they say now.
pub(crate) fn foot(
    ui: &mut Ui,
    inner: Rect,
    k: f32,
    lecture: &Lecture,
    buttons: &[(&Row, String)],
    asked: &mut Vec<Intent>,
) {
    let painter = ui.painter().clone();
    let base = inner.bottom();
    if let Some((address, _)) = lecture.address() {
        let (phones, answered) = lecture.phones();
        let at = pos2(inner.left(), base);
        let text = format!("{answered} of {phones} have answered");
        let line = write(&painter, at, Align2::LEFT_BOTTOM, &text, 26.0 * k, theme::INK);
        // Whoever comes late joins from here; the controls keep the other half.
        let code = lecture.join_code().map_or_else(String::new, |code| format!("Code: {code}"));
        let half = 0.5 * inner.width() - 12.0 * k;
        let at = pos2(inner.left(), line.top() - 2.0 * k);
        let where_to = format!("{address}   {code}");
        write_within(&painter, at, Align2::LEFT_BOTTOM, &where_to, 24.0 * k, half);
    } else {
        let at = pos2(inner.left(), base);
        write(&painter, at, Align2::LEFT_BOTTOM, "Show of hands", 26.0 * k, theme::INK);
    }
    let place = Rect::from_min_max(pos2(inner.center().x, base - 40.0), inner.max);
    ui.scope_builder(egui::UiBuilder::new().max_rect(place), |ui| {
        ui.with_layout(egui::Layout::right_to_left(egui::Align::Max), |ui| {
            for (row, words) in buttons {
                if big_button(ui, words).clicked() {
                    asked.extend(row.asks(InputDevice::Pointer));
                }
            }
            if quiet_button(ui, &pause_label()).clicked() {
                asked.push(Intent::Pause);
            }
        });
    });
}

/// A row of an area: from this share of its height, this share high.
pub(crate) fn row_of(area: Rect, from: f32, share: f32) -> Rect {
    let top = area.top() + from * area.height();
    Rect::from_min_max(pos2(area.left(), top), pos2(area.right(), top + share * area.height()))
}

/// Where the cells of choices lie; the last is set apart, as "None" is.
pub(crate) fn cells(area: Rect, count: usize) -> Vec<Rect> {
    let pitch = area.width() / (count as f32 + 0.4);
    (0..count)
        .map(|place| {
            let gap = if place + 1 == count { 0.4 * pitch } else { 0.0 };
            let left = area.left() + pitch * place as f32 + gap;
            Rect::from_min_max(
                pos2(left + 0.05 * pitch, area.top()),
                pos2(left + 0.95 * pitch, area.bottom()),
            )
        })
        .collect()
}

pub(crate) fn choices(painter: &Painter, area: Rect, choices: &[String], k: f32) {
    for (cell, words) in cells(area, choices.len()).into_iter().zip(choices) {
        let radius = (0.12 * cell.width()) as u8;
        painter.rect(
            cell,
            egui::CornerRadius::same(radius),
            theme::CONTROL,
            Stroke::new(2.0, theme::EDGE),
            StrokeKind::Inside,
        );
        cell_words(painter, cell, words, 46.0 * k);
    }
}

/// A choice's name in its cell, in several lines where it is long.
pub(crate) fn cell_words(painter: &Painter, cell: Rect, words: &str, size: f32) {
    let room = 0.88 * cell.width();
    let longest = words.split(' ').map(str::len).max().unwrap_or(1) as f32;
    let size = size.min(room / (0.68 * longest));
    let galley = painter.layout(words.to_owned(), FontId::proportional(size), theme::INK, room);
    let at = cell.center() - galley.size() / 2.0;
    said::galley(painter, at, galley, theme::INK);
}

/// Answers as columns; right ones are light, framed twice and ticked.
pub(crate) fn columns(painter: &Painter, area: Rect, choices: &[String], tally: &Tally, k: f32) {
    let most = tally.counts.iter().copied().max().unwrap_or(0).max(1) as f32;
    let label = 34.0 * k;
    let number = 30.0 * k;
    for (place, cell) in cells(area, choices.len()).into_iter().enumerate() {
        let count = tally.counts.get(place).copied().unwrap_or(0);
        let is_right = tally.right.contains(&place);
        let room = (cell.height() - label - number).max(4.0);
        let foot = cell.bottom() - label;
        let column = Rect::from_min_max(
            pos2(cell.left(), foot - (room * count as f32 / most).max(2.0)),
            pos2(cell.right(), foot),
        );
        let fill = if is_right { theme::PAPER } else { theme::GUIDE };
        painter.rect(column, 2.0, fill, Stroke::new(2.0, theme::EDGE), StrokeKind::Inside);
        if is_right && column.height() > 14.0 {
            let stroke = Stroke::new(2.0, theme::EDGE);
            painter.rect_stroke(column.shrink(5.0), 1.0, stroke, StrokeKind::Inside);
        }
        let words = if is_right { format!("\u{2714} {count}") } else { count.to_string() };
        let at = pos2(cell.center().x, column.top() - 1.0);
        write(painter, at, Align2::CENTER_BOTTOM, &words, 24.0 * k, theme::INK);
        let name = Rect::from_min_max(pos2(cell.left(), foot + 2.0), cell.max);
        cell_words(painter, name, choices.get(place).map_or("", String::as_str), 28.0 * k);
    }
}

/// What lies over a question about options: the question and its clock, or that it is closed, or
/// how the room answered. The smiles stay where they are.
pub(crate) fn over_options(
    ui: &mut Ui,
    area: Rect,
    lecture: &Lecture,
    exercising: &Exercising,
    value_only: bool,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let window = ui.max_rect();
    let k = scale(window);
    ui.painter().rect_filled(area, 0.0, theme::GREY);
    let painter = ui.painter().clone();
    let inner = area.shrink2(vec2(24.0 * k, 8.0 * k));
    let Some(ballot) = lecture.ballot() else { return asked };
    let (left_s, _) = lecture.time_left_s();
    match lecture.stage() {
        RoomStage::Asked | RoomStage::Closed => {
            let is_closed = lecture.stage() == RoomStage::Closed;
            let words = if is_closed { "Closed" } else { ballot.question.as_str() };
            let clock = if is_closed { String::new() } else { format!("{:.0}", left_s.ceil()) };
            let line = write_within(
                &painter,
                inner.min,
                Align2::LEFT_TOP,
                words,
                48.0 * k,
                0.8 * inner.width(),
            );
            let at = pos2(inner.right(), line.center().y);
            write(&painter, at, Align2::RIGHT_CENTER, &clock, 64.0 * k, theme::INK);
            let row = Rect::from_min_max(
                pos2(inner.left(), line.bottom() + 8.0 * k),
                pos2(inner.right(), inner.bottom() - foot_height(k)),
            );
            choices(&painter, row, &ballot.choices, k);
            asked.extend(show_options(ui, row, &ballot.choices, exercising));
            let context =
                if is_closed { KeyContext::RoomClosedQuestion } else { KeyContext::RoomQuestion };
            let view = DebriefView { value_only, ..DebriefView::default() };
            let offered = in_room_question(context, exercising);
            let buttons: Vec<(&Row, String)> = offered
                .controls()
                .map(|row| (row, row.label_now(|intent| is_on_in_round(intent, view, exercising))))
                .collect();
            foot(ui, inner, k, lecture, &buttons, &mut asked);
        }
        RoomStage::Revealed => {
            let words = match (lecture.tally(), exercising.marked().is_some()) {
                (Some(tally), _) => {
                    format!("{} of {} right", tally.right_answers(), tally.answers())
                }
                (None, _) => "Who had it?".to_owned(),
            };
            let line = write(&painter, inner.min, Align2::LEFT_TOP, &words, 34.0 * k, theme::INK);
            if let Some(tally) = lecture.tally() {
                let row = Rect::from_min_max(
                    pos2(inner.left() + 0.28 * inner.width(), inner.top()),
                    inner.max,
                );
                columns(&painter, row, &ballot.choices, tally, k);
            }
            let at = pos2(inner.left(), line.bottom() + 4.0);
            let key = |intent| key_name(KeyContext::RoomRevealedQuestion, &intent);
            let page = |page| key(Intent::Exercise(ExerciseIntent::TogglePage(page)));
            let (next, chart, layers) =
                (key(Intent::Continue), page(Page::Chart), page(Page::Layers));
            let keys = format!("{next} next, {chart} chart, {layers} layers");
            write(&painter, at, Align2::LEFT_TOP, &keys, 20.0 * k, theme::INK);
        }
        RoomStage::Watching => {}
    }
    asked
}

/// The choices that are options, each to be shown large by a click or its digit.
fn show_options(ui: &Ui, row: Rect, choices: &[String], exercising: &Exercising) -> Option<Intent> {
    let options =
        cells(row, choices.len()).into_iter().zip(choices).take(exercising.sights().len());
    let mut shown = None;
    for (place, (cell, name)) in options.enumerate() {
        let response = ui.interact(cell, egui::Id::new(("option", place)), egui::Sense::click());
        response.widget_info(|| {
            let label = with_digit(&format!("show {name}"), place);
            egui::WidgetInfo::labeled(egui::WidgetType::Button, true, label)
        });
        if response.has_focus() {
            theme::focus_ring(ui.painter(), cell);
        }
        if let Some(device) = activated(&response) {
            let act = ExerciseIntent::Act(Act::Choose(place), device);
            shown = Some(Intent::Exercise(act));
        }
    }
    shown
}
