//! One thing that can be set: its name, one step down, its value, one step up. A number also has a
//! track to drag along.

use crate::app::ui::hand::activated;
use crate::app::ui::theme;
use bevy_egui::egui::{
    self, Align2, FontId, Pos2, Rect, Sense, Stroke, StrokeKind, Ui, WidgetInfo, WidgetType, pos2,
    vec2,
};
use std::fmt::Debug;
use std::hash::Hash;

/// Height of a row, points.
pub const VALUE_ROW_HEIGHT: f32 = 27.0;
/// Width of the buttons, points.
const BUTTON_WIDTH: f32 = 28.0;

/// A row to be shown.
#[derive(Debug, Clone, PartialEq)]
pub struct ValueRow<'a> {
    /// What it is called.
    pub name: &'a str,
    /// Its value in words.
    pub value: &'a str,
    /// Whether the keys are at it.
    pub is_current: bool,
    /// Whether it means nothing at the moment.
    pub is_idle: bool,
    /// Where a number lies in its range, 0 to 1; `None` for names.
    pub share: Option<f64>,
}

/// What was asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RowAct {
    /// Steps up or down.
    Step(i32),
    /// To this share of the range; whether a new drag begins.
    Slide(f64, bool),
}

impl ValueRow<'_> {
    /// Draws the row over the width there is.
    pub fn show(&self, ui: &mut Ui, id: impl Hash + Debug) -> Option<RowAct> {
        let id = ui.id().with(id);
        let mut asked = None;
        let width = ui.available_width();
        let (row, _) = ui.allocate_exact_size(vec2(width, VALUE_ROW_HEIGHT), Sense::hover());
        if self.is_current {
            self.follow_keys(ui, row);
            ui.painter().rect(
                row.expand2(vec2(3.0, 1.0)),
                3.0,
                theme::CONTROL,
                Stroke::new(2.0, theme::EDGE),
                StrokeKind::Inside,
            );
        }
        let ink = if self.is_idle { theme::GUIDE } else { theme::INK };
        let names = (0.36 * width).clamp(96.0, 170.0);
        fitted(
            ui,
            self.name,
            ink,
            |size| Align2::LEFT_CENTER.anchor_size(pos2(row.left() + 4.0, row.center().y), size),
            names - 8.0,
        );
        let buttons = [(row.left() + names, "\u{2212}", -1), (row.right() - 30.0, "+", 1)];
        for (left, sign, steps) in buttons {
            let rect = Rect::from_min_size(pos2(left, row.top() + 1.0), vec2(BUTTON_WIDTH, 25.0));
            if self.button(ui, rect, id.with(steps), sign, steps) && !self.is_idle {
                asked = Some(RowAct::Step(steps));
            }
        }
        let middle = Rect::from_min_max(
            pos2(row.left() + names + BUTTON_WIDTH + 4.0, row.top()),
            pos2(row.right() - 34.0, row.bottom()),
        );
        if let Some(share) = self.share.filter(|_| !self.is_idle) {
            asked = self.track(ui, middle, id.with("track"), share).or(asked);
        }
        let centre = middle.center() - vec2(0.0, if self.share.is_some() { 4.0 } else { 0.0 });
        fitted(
            ui,
            self.value,
            ink,
            |size| Align2::CENTER_CENTER.anchor_size(centre, size),
            middle.width(),
        );
        asked
    }

    /// Keeps the row that the keys are at in view, when it changes.
    fn follow_keys(&self, ui: &Ui, row: Rect) {
        let place = egui::Id::new("value row at the keys");
        let now = self.name.to_owned();
        let before: Option<String> = ui.data(|data| data.get_temp(place));
        if before.as_ref() != Some(&now) {
            ui.scroll_to_rect(row.expand(8.0), None);
            ui.data_mut(|data| data.insert_temp(place, now));
        }
    }

    fn button(&self, ui: &Ui, rect: Rect, id: egui::Id, sign: &str, steps: i32) -> bool {
        let response = ui.interact(rect, id, Sense::click());
        response.widget_info(|| {
            let way = if steps < 0 { "less" } else { "more" };
            let label = format!("{} {}, {way}", self.name, self.value);
            WidgetInfo::labeled(WidgetType::Button, !self.is_idle, label)
        });
        let fill = if response.hovered() { theme::CONTROL_HOVER } else { theme::CONTROL };
        let stroke = Stroke::new(1.0, theme::EDGE);
        ui.painter().rect(rect, 3.0, fill, stroke, StrokeKind::Inside);
        let ink = if self.is_idle { theme::GUIDE } else { theme::INK };
        let font = FontId::proportional(18.0);
        ui.painter().text(rect.center(), Align2::CENTER_CENTER, sign, font, ink);
        if response.has_focus() {
            theme::focus_ring(ui.painter(), rect);
        }
        if response.gained_focus() {
            response.scroll_to_me(None);
        }
        activated(&response).is_some()
    }

    /// The track below the value. It takes no focus: the keys have steps.
    fn track(&self, ui: &Ui, area: Rect, id: egui::Id, share: f64) -> Option<RowAct> {
        let response = ui.interact(area, id, Sense::CLICK | Sense::DRAG);
        let (left, right) = (area.left() + 6.0, area.right() - 6.0);
        let y = area.bottom() - 3.0;
        let at = |share: f64| left + (right - left) * share.clamp(0.0, 1.0) as f32;
        let painter = ui.painter();
        let line = |from: f32, to: f32, width: f32, colour| {
            painter.line_segment([pos2(from, y), pos2(to, y)], Stroke::new(width, colour));
        };
        line(left, right, 2.0, theme::GUIDE);
        line(left, at(share), 3.0, theme::EDGE);
        let radius = if response.hovered() || response.dragged() { 5.0 } else { 3.5 };
        painter.circle(pos2(at(share), y), radius, theme::PAPER, Stroke::new(1.5, theme::INK));
        // The last move of a drag may come in the frame of its release.
        let is_asked = response.clicked() || response.dragged() || response.drag_stopped();
        let pointer: Pos2 = response.interact_pointer_pos().filter(|_| is_asked)?;
        let share = f64::from((pointer.x - left) / (right - left).max(1.0)).clamp(0.0, 1.0);
        Some(RowAct::Slide(share, response.drag_started() || response.clicked()))
    }
}

/// Text made to fit a width.
fn fitted(ui: &Ui, words: &str, ink: egui::Color32, place: impl Fn(egui::Vec2) -> Rect, room: f32) {
    let mut size = 16.0;
    let layout =
        |size: f32| ui.painter().layout_no_wrap(words.to_owned(), FontId::proportional(size), ink);
    let mut galley = layout(size);
    while galley.size().x > room && size > 11.0 {
        size -= 1.0;
        galley = layout(size);
    }
    ui.painter().galley(place(galley.size()).min, galley, ink);
}
