//! A lecture on the projector: joining, the question, the solution, the summary. Type grows with
//! the window, so that the last row can read it.

mod asked;
mod solution;
mod summary;

use crate::app::ui::projector::{scale, write, write_within};
use crate::app::ui::said;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, body};
use crate::level::course_format::Step;
use crate::play::intents::Intent;
use crate::play::intents::RoomIntent;
use crate::play::keys::{self, KeyContext};
use crate::play::lecture::Code;
use crate::play::lecture::Lecture;
use crate::words::count;
pub(crate) use asked::smile;
use bevy_egui::egui::{self, Align2, Color32, FontId, Painter, Rect, Ui, pos2, vec2};
#[cfg(test)]
pub(crate) use solution::truth_in_words;
use summary::summary;

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
pub(crate) fn draw(ui: &mut Ui, lecture: &Lecture, waits: bool) -> Vec<Intent> {
    let window = ui.max_rect();
    ui.painter().rect_filled(window, 0.0, theme::GREY);
    if lecture.is_over() { summary(ui, lecture) } else { joining(ui, window, lecture, waits) }
}

fn joining(ui: &mut Ui, window: Rect, lecture: &Lecture, waits: bool) -> Vec<Intent> {
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
            let code_text = lecture.join_code().map_or_else(String::new, |c| format!("Code: {c}"));
            let at = pos2(inner.left(), line.bottom() + 2.0 * k);
            let line = write_within(&painter, at, Align2::LEFT_TOP, &code_text, 46.0 * k, left);
            let at = pos2(inner.left(), line.bottom() + 8.0 * k);
            let joined = count(phones, "phone has joined", "phones have joined");
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
            let others = lecture.other_addresses();
            if !others.is_empty() {
                let words = format!("Also at {}", others.join(", "));
                let font = FontId::proportional(16.0 * k);
                let galley = painter.layout(words, font, theme::INK, left);
                let at = pos2(inner.left(), y + 4.0 * k);
                y = at.y + galley.size().y;
                said::galley(&painter, at, galley, theme::INK);
            }
            if let Some(code) = code {
                let area =
                    Rect::from_min_size(pos2(inner.right() - side, inner.top()), vec2(side, side));
                draw_code(&painter, code, area);
                said::picture(&painter, area, "the address as a code for cameras of phones");
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
        said::galley(&painter, at, galley, theme::INK);
    }
    next_step(ui, inner, y + 26.0 * k, k, lecture, waits)
}

fn next_step(
    ui: &mut Ui,
    inner: Rect,
    y: f32,
    k: f32,
    lecture: &Lecture,
    waits: bool,
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
        if waits {
            body(ui, "Laying out the smiles\u{2026}");
            return;
        }
        ui.horizontal_wrapped(|ui| {
            let next = Intent::Room(RoomIntent::Begin);
            let words = keys::named(KeyContext::RoomHub, &next, begin);
            if big_button(ui, &words).clicked() {
                asked.push(next);
            }
            for intent in
                [Intent::Room(RoomIntent::OtherPort), Intent::Pause, Intent::ToggleFullScreen]
            {
                // A page that is served needs no other port.
                let is_served = lecture.address().is_some();
                if is_served && intent == Intent::Room(RoomIntent::OtherPort) {
                    continue;
                }
                if big_button(ui, &keys::label(KeyContext::RoomHub, &intent, false)).clicked() {
                    asked.push(intent);
                }
            }
        });
    });
    asked
}
