//! The question to the room: the picture for its time, the choices, the time left.

use super::solution::solution;
use super::{scale, write, write_within};
use crate::app::debrief::DebriefView;
use crate::app::input::Intent;
use crate::app::lecture::{Lecture, RoomIntent, RoomStage};
use crate::app::scenes::Preparation;
use crate::app::screens::textures::{Content, Textures};
use crate::app::screens::{pause, trial};
use crate::app::session::Session;
use crate::app::ui::{ANSWER_AREA_HEIGHT, big_button, quiet_button, theme};
use crate::trial::Phase;
use crate::words::count_of;
use bevy_egui::egui::{self, Align2, FontId, Painter, Rect, Stroke, StrokeKind, Ui, pos2, vec2};
use std::time::SystemTime;

/// A smile before the room: looked at, asked about, closed, revealed.
pub(in crate::app::screens) fn smile(
    ui: &mut Ui,
    session: &Session,
    lecture: &Lecture,
    textures: &Textures,
    view: DebriefView,
    preparation: &Preparation,
    now: SystemTime,
) -> Vec<Intent> {
    let window = ui.max_rect();
    match session.phase() {
        Phase::Mask => {
            let area = Rect::from_min_max(
                window.min,
                pos2(window.right(), (window.bottom() - ANSWER_AREA_HEIGHT).max(window.top())),
            );
            trial::show(ui, textures, Content::Mask, area, "a scrambled picture");
            Vec::new()
        }
        Phase::Response { .. } => question(ui, window, lecture, None),
        Phase::Debrief if lecture.stage() == RoomStage::Revealed => {
            solution(ui, window, session, lecture, textures, view)
        }
        Phase::Debrief => closed(ui, window, lecture),
        _ => trial::draw(ui, session, textures, view, preparation, now),
    }
}

/// The question, large, with the names of the choices and the time left.
pub(super) fn question(
    ui: &mut Ui,
    window: Rect,
    lecture: &Lecture,
    note: Option<&str>,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let k = scale(window);
    let painter = ui.painter().clone();
    let inner = window.shrink2(vec2(32.0 * k, 24.0 * k));
    let (left_s, open_s) = lecture.time_left_s();
    let Some(ballot) = lecture.ballot() else { return asked };
    write(
        &painter,
        pos2(inner.center().x, inner.top() + 10.0 * k),
        Align2::CENTER_TOP,
        "Which one?",
        104.0 * k,
        theme::INK,
    );
    write_within(
        &painter,
        pos2(inner.center().x, inner.top() + 138.0 * k),
        Align2::CENTER_TOP,
        note.unwrap_or(&ballot.question),
        30.0 * k,
        inner.width(),
    );
    choices(&painter, row_of(inner, 0.36, 0.20), &ballot.choices, k);
    if open_s.is_finite() {
        let seconds = format!("{:.0}", left_s.ceil());
        let at = pos2(inner.center().x, inner.top() + 0.70 * inner.height());
        write(&painter, at, Align2::CENTER_CENTER, &seconds, 104.0 * k, theme::INK);
        let bar = Rect::from_center_size(
            pos2(inner.center().x, inner.top() + 0.83 * inner.height()),
            vec2(0.7 * inner.width(), 18.0 * k),
        );
        painter.rect_filled(bar, 3.0, theme::GUIDE);
        let mut filled = bar;
        filled.set_width(bar.width() * (left_s / open_s.max(1e-9)) as f32);
        painter.rect_filled(filled, 3.0, theme::PAPER);
        painter.rect_stroke(bar, 3.0, Stroke::new(1.5, theme::EDGE), StrokeKind::Inside);
    }
    foot(ui, inner, k, lecture, &[("Close  (Enter)", Intent::Room(RoomIntent::Close))], &mut asked);
    asked
}

/// Height of what stands at the foot, points.
pub(super) fn foot_height(k: f32) -> f32 {
    // Two lines of type, or a control.
    (66.0 * k).max(50.0)
}

/// How many answered, where to answer with which code, and the instructor's keys.
pub(super) fn foot(
    ui: &mut Ui,
    inner: Rect,
    k: f32,
    lecture: &Lecture,
    buttons: &[(&str, Intent)],
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
            for (words, intent) in buttons {
                if big_button(ui, words).clicked() {
                    asked.push(intent.clone());
                }
            }
            if quiet_button(ui, pause::LABEL).clicked() {
                asked.push(Intent::Pause);
            }
        });
    });
}

/// A row of an area: from this share of its height, this share high.
pub(super) fn row_of(area: Rect, from: f32, share: f32) -> Rect {
    let top = area.top() + from * area.height();
    Rect::from_min_max(pos2(area.left(), top), pos2(area.right(), top + share * area.height()))
}

/// Where the cells of choices lie; the last is set apart, as "None" is.
pub(super) fn cells(area: Rect, count: usize) -> Vec<Rect> {
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

pub(super) fn choices(painter: &Painter, area: Rect, choices: &[String], k: f32) {
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
pub(super) fn cell_words(painter: &Painter, cell: Rect, words: &str, size: f32) {
    let room = 0.88 * cell.width();
    let longest = words.split(' ').map(str::len).max().unwrap_or(1) as f32;
    let size = size.min(room / (0.68 * longest));
    let galley = painter.layout(words.to_owned(), FontId::proportional(size), theme::INK, room);
    let at = cell.center() - galley.size() / 2.0;
    painter.galley(at, galley, theme::INK);
}

/// No more answers, and nothing of the solution yet.
pub(super) fn closed(ui: &mut Ui, window: Rect, lecture: &Lecture) -> Vec<Intent> {
    let mut asked = Vec::new();
    let k = scale(window);
    let painter = ui.painter().clone();
    let inner = window.shrink2(vec2(32.0 * k, 24.0 * k));
    let middle = pos2(inner.center().x, inner.top() + 0.34 * inner.height());
    write(&painter, middle, Align2::CENTER_CENTER, "Closed", 104.0 * k, theme::INK);
    let text = if lecture.address().is_some() {
        let (phones, answered) = lecture.phones();
        format!("{} answered", count_of(answered, phones, "phone", "phones"))
    } else {
        "Count the hands for each choice".to_owned()
    };
    let below = middle + vec2(0.0, 92.0 * k);
    write(&painter, below, Align2::CENTER_CENTER, &text, 36.0 * k, theme::INK);
    if let Some(ballot) = lecture.ballot() {
        choices(&painter, row_of(inner, 0.58, 0.16), &ballot.choices, k);
    }
    let reveal = [("Reveal  (Enter)", Intent::Room(RoomIntent::Reveal))];
    foot(ui, inner, k, lecture, &reveal, &mut asked);
    asked
}
