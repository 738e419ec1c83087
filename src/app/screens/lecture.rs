//! A lecture on the projector: joining, the question, the solution, the summary. Type grows with
//! the window, so that the last row can read it.

use super::debrief;
use super::textures::{Content, Textures};
use crate::app::courses::PendingPart;
use crate::app::debrief::{DebriefView, Look};
use crate::app::exercising::Exercising;
use crate::app::input::Intent;
use crate::app::lecture::{Code, Lecture, RoomIntent, RoomStage};
use crate::app::scenes::Preparation;
use crate::app::session::Session;
use crate::app::ui::{
    ANSWER_AREA_HEIGHT, big_button, body, heading, paragraph, section, small, theme,
};
use crate::bake::ZoneDifference;
use crate::lecture::Tally;
use crate::level::course_format::Step;
use crate::psychophysics::Proportion;
use crate::trial::{Phase, Response, TrialOutcome, Verdict};
use bevy_egui::egui::{
    self, Align2, Color32, FontId, Painter, Pos2, Rect, Stroke, StrokeKind, Ui, pos2, vec2,
};
use std::time::SystemTime;

/// The window height that sizes below are meant for, points.
const DESIGN_HEIGHT: f32 = 720.0;
/// Height of the tally below the solution, points at the design height.
const TALLY_HEIGHT: f32 = 210.0;
/// Height of the question about options, and of the tally below its solution, the same.
const OPTIONS_HEIGHT: f32 = 250.0;
const REVEALED_HEIGHT: f32 = 130.0;

/// Height of the question about options in a window, points.
pub(super) fn options_height(window: Rect) -> f32 {
    OPTIONS_HEIGHT * scale(window)
}

/// Height of the tally of a question about options in a window, points.
pub(super) fn revealed_height(window: Rect) -> f32 {
    REVEALED_HEIGHT * scale(window)
}

/// How much larger or smaller than at the design height type is in this window.
fn scale(window: Rect) -> f32 {
    (window.height() / DESIGN_HEIGHT).min(window.width() / 1280.0).clamp(0.6, 4.0)
}

fn write(
    painter: &Painter,
    at: Pos2,
    anchor: Align2,
    text: &str,
    size: f32,
    colour: Color32,
) -> Rect {
    painter.text(at, anchor, text, FontId::proportional(size), colour)
}

/// Text no wider than `width`, made smaller where it must be.
fn write_within(
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

/// The QR code as dark squares on light ones, with the quiet zone of four modules that readers need.
fn draw_code(painter: &Painter, code: &Code, area: Rect) {
    painter.rect_filled(area, 0.0, Color32::WHITE);
    let module = area.width() / (code.width as f32 + 8.0);
    for (index, _) in code.dark.iter().enumerate().filter(|(_, dark)| **dark) {
        let (x, y) = ((index % code.width) as f32 + 4.0, (index / code.width) as f32 + 4.0);
        let at = area.min + module * vec2(x, y);
        // Edges meet, so that no light line runs between two dark squares.
        painter.rect_filled(
            Rect::from_min_size(at, vec2(module + 0.5, module + 0.5)),
            0.0,
            Color32::BLACK,
        );
    }
}

/// Between questions: how to join, what comes next, or the summary.
pub(super) fn draw(ui: &mut Ui, lecture: &Lecture, pending: &PendingPart) -> Vec<Intent> {
    let window = ui.max_rect();
    ui.painter().rect_filled(window, 0.0, theme::GREY);
    if lecture.is_over() { summary(ui, lecture) } else { joining(ui, window, lecture, pending) }
}

fn joining(ui: &mut Ui, window: Rect, lecture: &Lecture, pending: &PendingPart) -> Vec<Intent> {
    let k = scale(window);
    let inner = window.shrink2(vec2(40.0 * k, 28.0 * k));
    let side = (0.58 * inner.height()).min(0.38 * inner.width());
    let painter = ui.painter().clone();
    let left = inner.width() - side - 40.0 * k;
    let mut y = inner.top();
    let course = lecture.course();
    let title = write_within(&painter, inner.min, Align2::LEFT_TOP, &course.title, 46.0 * k, left);
    y = y.max(title.bottom()) + 18.0 * k;

    let (phones, _) = lecture.phones();
    match lecture.address() {
        Some((address, code)) => {
            let at = pos2(inner.left(), y);
            let line = write(
                &painter,
                at,
                Align2::LEFT_TOP,
                "Answer on your phone:",
                30.0 * k,
                theme::INK,
            );
            let at = pos2(inner.left(), line.bottom() + 6.0 * k);
            let line = write_within(&painter, at, Align2::LEFT_TOP, address, 46.0 * k, left);
            let at = pos2(inner.left(), line.bottom() + 14.0 * k);
            let joined = match phones {
                1 => "1 phone has joined".to_owned(),
                n => format!("{n} phones have joined"),
            };
            let line = write(&painter, at, Align2::LEFT_TOP, &joined, 40.0 * k, theme::INK);
            let at = pos2(inner.left(), line.bottom() + 8.0 * k);
            let line = write_within(
                &painter,
                at,
                Align2::LEFT_TOP,
                "Same network as this computer. No name is asked for, nothing about a phone is kept.",
                20.0 * k,
                left,
            );
            y = line.bottom();
            if let Some(code) = code {
                let area =
                    Rect::from_min_size(pos2(inner.right() - side, inner.top()), vec2(side, side));
                draw_code(&painter, code, area);
            }
        }
        None => {
            let at = pos2(inner.left(), y);
            y = write(&painter, at, Align2::LEFT_TOP, "Show of hands", 46.0 * k, theme::INK)
                .bottom();
        }
    }
    if let Some(trouble) = lecture.trouble() {
        let galley = painter.layout(trouble, FontId::proportional(20.0 * k), theme::INK, left);
        let at = pos2(inner.left(), y + 12.0 * k);
        y = at.y + galley.size().y;
        painter.galley(at, galley, theme::INK);
    }
    next_step(ui, inner, y + 26.0 * k, k, lecture, pending)
}

fn next_step(
    ui: &mut Ui,
    inner: Rect,
    y: f32,
    k: f32,
    lecture: &Lecture,
    pending: &PendingPart,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let course = lecture.course();
    let (what, begin) = match course.steps.get(lecture.step()) {
        Some(Step::Talk { title, minutes }) => (format!("{title} ({minutes:.0} min)"), "Go on"),
        Some(Step::Form { phase, .. }) => {
            let when = match phase.name() {
                "pre" => "Before: ",
                "post" => "After: ",
                _ => "",
            };
            (format!("{when}which tooth is the restoration?"), "Start")
        }
        Some(Step::Practice { .. }) => ("Practice together".to_owned(), "Start"),
        Some(Step::Measure { .. } | Step::FindIt { .. }) => {
            ("A step for single seats; it is left out here".to_owned(), "Go on")
        }
        None => ("The end".to_owned(), "Summary"),
    };
    let painter = ui.painter().clone();
    let number =
        format!("Step {} of {}", (lecture.step() + 1).min(course.steps.len()), course.steps.len());
    // Below what stands above, and low enough to be found at once.
    let top = y.max(inner.top() + 0.62 * inner.height());
    let line =
        write(&painter, pos2(inner.left(), top), Align2::LEFT_TOP, &number, 22.0 * k, theme::INK);
    let at = pos2(inner.left(), line.bottom() + 2.0 * k);
    let line = write_within(&painter, at, Align2::LEFT_TOP, &what, 40.0 * k, inner.width());
    let place = Rect::from_min_max(pos2(inner.left(), line.bottom() + 14.0 * k), inner.max);
    ui.scope_builder(egui::UiBuilder::new().max_rect(place), |ui| {
        if pending.is_waiting() {
            body(ui, "Laying out the smiles\u{2026}");
            return;
        }
        ui.horizontal_wrapped(|ui| {
            if big_button(ui, &format!("{begin}  (Enter)")).clicked() {
                asked.push(Intent::Room(RoomIntent::Begin));
            }
            if lecture.address().is_none() && big_button(ui, "Try a free port  (P)").clicked() {
                asked.push(Intent::Room(RoomIntent::OtherPort));
            }
            if big_button(ui, "Pause or end  (Escape)").clicked() {
                asked.push(Intent::Pause);
            }
            if big_button(ui, "Full screen  (F11)").clicked() {
                asked.push(Intent::ToggleFullScreen);
            }
        });
    });
    asked
}

/// A smile before the room: looked at, asked about, closed, revealed.
pub(super) fn smile(
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
            super::trial::show(ui, textures, Content::Mask, area, "a scrambled picture");
            Vec::new()
        }
        Phase::Response { .. } => question(ui, window, lecture, None),
        Phase::Debrief if lecture.stage() == RoomStage::Revealed => {
            solution(ui, window, session, lecture, textures, view)
        }
        Phase::Debrief => closed(ui, window, lecture),
        _ => super::trial::draw(ui, session, textures, view, preparation, now),
    }
}

/// The question, large, with the names of the choices and the time left.
fn question(ui: &mut Ui, window: Rect, lecture: &Lecture, note: Option<&str>) -> Vec<Intent> {
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

/// How many answered, where to answer, and the instructor's keys.
fn foot(
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
        let at = pos2(line.right() + 28.0 * k, base);
        write(&painter, at, Align2::LEFT_BOTTOM, address, 22.0 * k, theme::INK_SOFT);
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
        });
    });
}

/// A row of an area: from this share of its height, this share high.
fn row_of(area: Rect, from: f32, share: f32) -> Rect {
    let top = area.top() + from * area.height();
    Rect::from_min_max(pos2(area.left(), top), pos2(area.right(), top + share * area.height()))
}

/// Where the cells of choices lie; the last is set apart, as "None" is.
fn cells(area: Rect, count: usize) -> Vec<Rect> {
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

fn choices(painter: &Painter, area: Rect, choices: &[String], k: f32) {
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
fn cell_words(painter: &Painter, cell: Rect, words: &str, size: f32) {
    let room = 0.88 * cell.width();
    let longest = words.split(' ').map(str::len).max().unwrap_or(1) as f32;
    let size = size.min(room / (0.68 * longest));
    let galley = painter.layout(words.to_owned(), FontId::proportional(size), theme::INK, room);
    let at = cell.center() - galley.size() / 2.0;
    painter.galley(at, galley, theme::INK);
}

/// No more answers, and nothing of the solution yet.
fn closed(ui: &mut Ui, window: Rect, lecture: &Lecture) -> Vec<Intent> {
    let mut asked = Vec::new();
    let k = scale(window);
    let painter = ui.painter().clone();
    let inner = window.shrink2(vec2(32.0 * k, 24.0 * k));
    let middle = pos2(inner.center().x, inner.top() + 0.34 * inner.height());
    write(&painter, middle, Align2::CENTER_CENTER, "Closed", 104.0 * k, theme::INK);
    let text = if lecture.address().is_some() {
        let (phones, answered) = lecture.phones();
        format!("{answered} of {phones} phones answered")
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

/// The smile again with its outlines, what it was, and how the room answered.
fn solution(
    ui: &mut Ui,
    window: Rect,
    session: &Session,
    lecture: &Lecture,
    textures: &Textures,
    view: DebriefView,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let k = scale(window);
    let (Some(outcome), Some(shown)) = (session.last_outcome(), session.shown()) else {
        return asked;
    };
    let height = TALLY_HEIGHT * k + 52.0;
    let split = window.bottom() - height;
    let picture = Rect::from_min_max(window.min, pos2(window.right(), split));
    let response = lecture.room_response(&session.plan().teeth).unwrap_or(Response::Timeout);
    let of_room =
        TrialOutcome { response, verdict: Verdict::of(outcome.restored, response), ..*outcome };
    debrief::picture(ui, picture, &of_room, shown, textures, view);
    let painter = ui.painter().clone();
    let truth = match (outcome.restored, shown.scene.truth.as_ref()) {
        (Some(tooth), Some(truth)) => {
            let teeth = &session.plan().teeth;
            let place = teeth.iter().position(|t| *t == tooth).map_or(0, |p| p + 1);
            format!(
                "{}: {:.1} ΔE00, mostly {}",
                session.names().name(tooth, place),
                truth.difference.de00,
                largest_part(&truth.difference)
            )
        }
        _ => "No restoration: every tooth is natural".to_owned(),
    };
    let inner =
        Rect::from_min_max(pos2(window.left(), split), window.max).shrink2(vec2(24.0 * k, 6.0 * k));
    let line =
        write_within(&painter, inner.min, Align2::LEFT_TOP, &truth, 34.0 * k, 0.62 * inner.width());
    if let (Some(ballot), Some(tally)) = (lecture.ballot(), lecture.tally()) {
        let right = format!("{} of {} right", tally.right_answers(), tally.answers());
        let at = pos2(inner.right(), line.center().y);
        write(&painter, at, Align2::RIGHT_CENTER, &right, 34.0 * k, theme::INK);
        let area = Rect::from_min_max(
            pos2(inner.left(), line.bottom() + 4.0 * k),
            pos2(inner.right(), inner.bottom() - 44.0),
        );
        columns(&painter, area, &ballot.choices, tally, k);
    } else {
        let at = pos2(inner.left(), line.bottom() + 16.0 * k);
        write(&painter, at, Align2::LEFT_TOP, "Who had it?", 34.0 * k, theme::INK);
    }
    solution_keys(ui, inner, shown.scene.truth.is_some(), view, &mut asked);
    asked
}

/// The part of a difference that is largest, in words.
fn largest_part(difference: &ZoneDifference) -> &'static str {
    let (value, chroma, hue) = (difference.dl00, difference.dc00, difference.dh00);
    if value.abs() >= chroma.abs().max(hue.abs()) {
        if value < 0.0 { "too dark" } else { "too light" }
    } else if chroma.abs() >= hue.abs() {
        if chroma < 0.0 { "too weak in chroma" } else { "too strong in chroma" }
    } else {
        "off in hue"
    }
}

fn solution_keys(
    ui: &mut Ui,
    inner: Rect,
    has_twin: bool,
    view: DebriefView,
    asked: &mut Vec<Intent>,
) {
    let place = Rect::from_min_max(pos2(inner.left(), inner.bottom() - 38.0), inner.max);
    ui.scope_builder(egui::UiBuilder::new().max_rect(place), |ui| {
        ui.spacing_mut().button_padding.x = 9.0;
        ui.spacing_mut().item_spacing.x = 6.0;
        ui.horizontal(|ui| {
            let mut key = |ui: &mut Ui, words: &str, intent: Intent| {
                if big_button(ui, words).clicked() {
                    asked.push(intent);
                }
            };
            key(ui, "Next  (Enter)", Intent::Continue);
            if has_twin {
                key(ui, "Twin  (Space)", Intent::ToggleTwin);
                key(
                    ui,
                    if view.auto_blink { "Stop  (B)" } else { "Blink  (B)" },
                    Intent::ToggleAutoBlink,
                );
                let pair = if view.look == Look::SideBySide { "Smile  (S)" } else { "Pair  (S)" };
                key(ui, pair, Intent::ToggleSideBySide);
                let map = if view.look == Look::Map { "Smile  (M)" } else { "Map  (M)" };
                key(ui, map, Intent::ToggleMap);
            }
            key(
                ui,
                if view.value_only { "Colour  (V)" } else { "Value  (V)" },
                Intent::ToggleValueOnly,
            );
        });
    });
}

/// Answers as columns; right ones are light, framed twice and ticked.
fn columns(painter: &Painter, area: Rect, choices: &[String], tally: &Tally, k: f32) {
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
pub(super) fn over_options(
    ui: &mut Ui,
    area: Rect,
    lecture: &Lecture,
    exercising: &Exercising,
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
                pos2(inner.right(), inner.bottom() - 50.0),
            );
            choices(&painter, row, &ballot.choices, k);
            let button = if is_closed {
                ("Reveal  (Enter)", Intent::Room(RoomIntent::Reveal))
            } else {
                ("Close  (Enter)", Intent::Room(RoomIntent::Close))
            };
            foot(ui, inner, k, lecture, &[button], &mut asked);
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
            let keys = "Enter next, C chart, L layers";
            write(&painter, at, Align2::LEFT_TOP, keys, 20.0 * k, theme::INK);
        }
        RoomStage::Watching => {}
    }
    asked
}

/// What the group found and took for a restoration, by question; before against after.
fn summary(ui: &mut Ui, lecture: &Lecture) -> Vec<Intent> {
    let mut asked = Vec::new();
    let k = scale(ui.max_rect());
    let frame = egui::Frame::NONE.fill(theme::GREY).inner_margin(egui::Margin::symmetric(28, 20));
    egui::CentralPanel::default().frame(frame).show(ui, |ui| {
        ui.horizontal(|ui| {
            heading(ui, "What the room saw");
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Center), |ui| {
                if big_button(ui, "Done  (Enter)").clicked() {
                    asked.push(Intent::Room(RoomIntent::Begin));
                }
                if !lecture.record().items().is_empty()
                    && big_button(ui, "Write counts to a file  (W)").clicked()
                {
                    asked.push(Intent::Room(RoomIntent::Save));
                }
            });
        });
        if let Some(file) = lecture.saved() {
            small(ui, &format!("Written to {}", file.display()));
        }
        ui.add_space(8.0);
        egui::ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            comparison(ui, lecture, k);
            for (place, part) in lecture.record().parts().into_iter().enumerate() {
                ui.add_space(theme::GAP);
                section(ui, &part.part.title);
                body(
                    ui,
                    &format!(
                        "{} smiles. Restorations found: {}. Taken for restored without one: {}.",
                        part.asked,
                        share(part.hits),
                        share(part.false_alarms)
                    ),
                );
                ui.push_id(place, |ui| items(ui, lecture, &part.part.title));
            }
            if lecture.record().items().is_empty() {
                paragraph(ui, "Nothing was asked.");
            }
            ui.add_space(theme::GAP);
            small(ui, &crate::app::cli::CAUTIONS.replace('\n', " "));
        });
    });
    asked
}

fn share(of: Proportion) -> String {
    of.value().map_or_else(
        || "not counted".to_owned(),
        |share| format!("{:.0} % ({} of {})", 100.0 * share, of.successes, of.total),
    )
}

fn comparison(ui: &mut Ui, lecture: &Lecture, k: f32) {
    let Some(compared) = lecture.record().comparison() else { return };
    let [before, after] = compared.means.map(|mean| 100.0 * mean);
    let change = compared.change;
    let width = ui.available_width();
    let (area, response) = ui.allocate_exact_size(vec2(width, 150.0 * k), egui::Sense::hover());
    response.widget_info(|| {
        egui::WidgetInfo::labeled(egui::WidgetType::Image, true, "share of right answers")
    });
    let painter = ui.painter();
    let track = width - 360.0 * k;
    for (row, (name, percent)) in
        [(&compared.titles[0], before), (&compared.titles[1], after)].into_iter().enumerate()
    {
        let y = area.top() + (30.0 + 56.0 * row as f32) * k;
        let name_at = pos2(area.left(), y);
        write(painter, name_at, Align2::LEFT_CENTER, name, 30.0 * k, theme::INK);
        let from = pos2(area.left() + 180.0 * k, y - 18.0 * k);
        let whole = Rect::from_min_size(from, vec2(track, 36.0 * k));
        painter.rect_filled(whole, 2.0, theme::GUIDE);
        let mut filled = whole;
        filled.set_width(whole.width() * (percent / 100.0) as f32);
        painter.rect_filled(filled, 2.0, theme::PAPER);
        painter.rect_stroke(whole, 2.0, Stroke::new(1.5, theme::EDGE), StrokeKind::Inside);
        let at = pos2(whole.right() + 16.0 * k, y);
        write(
            painter,
            at,
            Align2::LEFT_CENTER,
            &format!("{percent:.0} % right"),
            30.0 * k,
            theme::INK,
        );
    }
    paragraph(
        ui,
        &format!(
            "Change of the share of right answers: {:+.0} points (95 % interval {:+.0} to {:+.0}), over {} phones that answered \
             at least half of both. A room without comparison groups also gains by practice alone.",
            100.0 * change.mean,
            100.0 * change.interval.0,
            100.0 * change.interval.1,
            change.count
        ),
    );
}

fn items(ui: &mut Ui, lecture: &Lecture, part: &str) {
    let record = lecture.record();
    let parts = record.parts();
    egui::Grid::new("items").num_columns(5).striped(true).spacing([22.0, 5.0]).show(ui, |ui| {
        for words in ["Item", "It was", "Found", "False alarms", "Commonest error"] {
            ui.strong(words);
        }
        ui.end_row();
        let of_part = record.items().iter().filter(|item| {
            record.title_of(item) == part && parts.iter().any(|p| p.part.title == part)
        });
        for (number, item) in of_part.enumerate() {
            ui.label((number + 1).to_string());
            ui.label(&item.truth);
            ui.label(item.hits().map_or_else(|| "\u{2013}".to_owned(), share));
            ui.label(item.false_alarms().map_or_else(|| "\u{2013}".to_owned(), share));
            let error = item.commonest_error();
            ui.label(
                error.map_or_else(|| "\u{2013}".to_owned(), |(name, n)| format!("{name} ({n})")),
            );
            ui.end_row();
        }
    });
}
