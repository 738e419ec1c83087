//! The question to the room: the picture for its time, the choices, the time left.

use crate::app::picture::textures::{Content, Textures};
use crate::app::room::lecture::screen::solution::solution;
use crate::app::ui::picture_view::{ANSWER_AREA_HEIGHT, PictureView};
use crate::app::ui::projector::{choices, foot, row_of, scale, write, write_within};
use crate::app::ui::theme;
use crate::play::intents::Intent;
use crate::play::keys::{Key, KeyContext, Offered, Row};
use crate::play::lecture::{Lecture, RoomStage};
use crate::play::session::Session;
use crate::play::view::DebriefView;
use crate::trial::Phase;
use crate::words::count_of;
use bevy_egui::egui::{Align2, Rect, Stroke, StrokeKind, Ui, pos2, vec2};

/// A smile before the room: looked at, asked about, closed, revealed.
pub(crate) fn smile(
    ui: &mut Ui,
    session: &Session,
    lecture: &Lecture,
    textures: &Textures,
    view: DebriefView,
) -> Vec<Intent> {
    let window = ui.max_rect();
    match session.phase() {
        Phase::Mask => {
            let area = Rect::from_min_max(
                window.min,
                pos2(window.right(), (window.bottom() - ANSWER_AREA_HEIGHT).max(window.top())),
            );
            mask(ui, textures, area);
            Vec::new()
        }
        Phase::Response { .. } => question(ui, window, lecture, None),
        Phase::Debrief if lecture.stage() == RoomStage::Revealed => {
            solution(ui, window, session, lecture, textures, view)
        }
        Phase::Debrief => closed(ui, window, lecture),
        _ => Vec::new(),
    }
}

fn mask(ui: &mut Ui, textures: &Textures, area: Rect) {
    let Some(texture) = textures.get(Content::Mask) else { return };
    PictureView {
        texture: texture.id,
        size_px: texture.size_px,
        centre_row: texture.size_px[1] as f32 / 2.0,
        zoom: 1,
        overlays: &[],
        description: "a scrambled picture",
    }
    .show(ui, area);
}

/// The question, large, with the names of the choices and the time left.
pub(crate) fn question(
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
    foot(ui, inner, k, lecture, &buttons(KeyContext::RoomAsked), &mut asked);
    asked
}

/// No more answers, and nothing of the solution yet.
pub(crate) fn closed(ui: &mut Ui, window: Rect, lecture: &Lecture) -> Vec<Intent> {
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
    foot(ui, inner, k, lecture, &buttons(KeyContext::RoomClosed), &mut asked);
    asked
}

/// What the instructor can do next.
fn buttons(context: KeyContext) -> Vec<(&'static Row, String)> {
    let offered = Offered::all(context);
    let next = offered.controls().filter(|row| row.key == Key::Enter);
    next.map(|row| (row, row.label(false))).collect()
}
