//! The answer row: identical outlines with the names of the teeth, and an equally large "None".

use crate::app::ui::hand::activated;
use crate::app::ui::picture_view::ANSWER_AREA_HEIGHT;
use crate::app::ui::theme;
use crate::level::course_format::ToothNames;
use crate::play::intents::Intent;
use crate::play::keys::{self, KeyContext, digit_of, with_digit};
use crate::scene::Tooth;
use crate::trial::InputDevice;
use bevy_egui::egui::text::LayoutJob;
use bevy_egui::egui::{
    self, Align, Align2, CornerRadius, FontId, Galley, Id, Painter, Rect, Response, Sense, Stroke,
    StrokeKind, Ui, WidgetInfo, WidgetType, vec2,
};
use std::sync::Arc;

/// Height of the row, points.
pub const ROW_HEIGHT: f32 = 92.0;
/// Widest cell, points.
const MAX_CELL_WIDTH: f32 = 84.0;
/// Size of names in words, of which four lines fit above the key, and where they begin, points.
const WORDS_PT: f32 = 12.0;
const WORDS_TOP: f32 = 4.0;
/// Size of the key on a cell, and how far from its lower edge it stands, points.
const KEY_PT: f32 = 13.0;
const KEY_FOOT: f32 = 8.0;

/// Where the row lies in a window, points.
#[must_use]
pub fn row_area(window: Rect) -> Rect {
    let top = (window.bottom() - ANSWER_AREA_HEIGHT).max(window.top()) + 6.0;
    Rect::from_min_max(
        egui::pos2(window.left() + 16.0, top),
        egui::pos2(window.right() - 16.0, top + ROW_HEIGHT),
    )
}

/// What was chosen in the row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RowAnswer {
    /// This tooth.
    Tooth(Tooth),
    /// No tooth: "none is restored".
    None,
}

/// The answer row as data.
#[derive(Debug, Clone, Copy)]
pub struct ToothRow<'a> {
    /// Teeth in the viewer's order, left to right.
    pub teeth: &'a [Tooth],
    /// Which cell the arrow keys are on: an index into `teeth`, or `teeth.len()` for "None".
    pub cursor: Option<usize>,
    /// How teeth are named.
    pub names: ToothNames,
}

impl ToothRow<'_> {
    /// The answer that cell `index` stands for.
    #[must_use]
    pub fn answer_at(&self, index: usize) -> RowAnswer {
        self.teeth.get(index).map_or(RowAnswer::None, |tooth| RowAnswer::Tooth(*tooth))
    }

    /// Draws the row centred in `rect` and returns the cell that was pressed, if any, and by what.
    ///
    /// A pointer answers when the button goes down, so that the reaction time does not include
    /// the release.
    pub fn show(&self, ui: &mut Ui, rect: Rect) -> Option<(RowAnswer, InputDevice)> {
        let mut pressed = None;
        for (index, cell) in self.cells(rect).into_iter().enumerate() {
            let response = self.cell(ui, index, cell);
            if let Some(device) = pressed_by(ui, &response) {
                pressed = Some((self.answer_at(index), device));
            }
        }
        pressed
    }

    /// Where the cells of a row drawn in `rect` lie: the teeth, then "None".
    #[must_use]
    pub fn cells(&self, rect: Rect) -> Vec<Rect> {
        let cells = self.teeth.len() + 1;
        // One empty half cell keeps "None" apart from the last tooth.
        let pitch = (rect.width() / (cells as f32 + 0.5)).min(MAX_CELL_WIDTH);
        let left = rect.center().x - pitch * (cells as f32 + 0.5) / 2.0;
        let cell = |index: usize| {
            let gap = if index == self.teeth.len() { pitch * 0.5 } else { 0.0 };
            Rect::from_min_size(
                egui::pos2(left + pitch * index as f32 + gap, rect.top()),
                vec2(pitch, rect.height()),
            )
            .shrink2(vec2(pitch * 0.07, 4.0))
        };
        (0..cells).map(cell).collect()
    }

    /// What is written on cell `index`, and what it is called where it is not seen.
    #[must_use]
    pub fn words_of(&self, index: usize) -> (String, String) {
        let RowAnswer::Tooth(tooth) = self.answer_at(index) else {
            return ("None".to_owned(), "none is restored".to_owned());
        };
        let explained = self.names.explained(tooth, self.teeth);
        let is_words = self.names == ToothNames::Words;
        let label = if is_words { explained } else { format!("tooth {explained}") };
        (self.names.of(tooth, self.teeth), label)
    }

    fn cell(&self, ui: &Ui, index: usize, cell: Rect) -> Response {
        let response = ui.interact(cell, Id::new(("answer cell", index)), Sense::click());
        let focused = response.has_focus() || self.cursor == Some(index);
        let fill = if response.hovered() { theme::CONTROL_HOVER } else { theme::CONTROL };
        let side = cell.width() * 0.36;
        let radius = match self.answer_at(index) {
            // Narrow, round neck above; broad edge below: a front tooth in the simplest form.
            RowAnswer::Tooth(_) => corner_radius(side, side * 0.45),
            RowAnswer::None => corner_radius(side * 0.2, side * 0.2),
        };
        let painter = ui.painter();
        painter.rect(cell, radius, fill, Stroke::new(1.5, theme::EDGE), StrokeKind::Inside);
        let (text, label) = self.words_of(index);
        if text.contains(' ') {
            // A name of several words takes as many lines, above the key.
            let lines = in_lines(painter, text, cell);
            painter.galley(cell.center_top() + vec2(0.0, WORDS_TOP), lines, theme::INK);
        } else {
            let font = FontId::proportional((cell.width() * 0.34).clamp(16.0, 22.0));
            painter.text(cell.center(), Align2::CENTER_CENTER, text, font, theme::INK);
        }
        let key = key_of(index, self.teeth.len());
        painter.text(
            cell.center_bottom() - vec2(0.0, KEY_FOOT),
            Align2::CENTER_BOTTOM,
            key,
            FontId::proportional(KEY_PT),
            theme::INK_SOFT,
        );
        if focused {
            theme::focus_ring(painter, cell.shrink(3.0));
        }
        let label = match self.answer_at(index) {
            RowAnswer::Tooth(_) => with_digit(&label, index),
            RowAnswer::None => keys::named(KeyContext::Response, &NONE, &label),
        };
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &label));
        response
    }
}

/// A name of several words, centred below one another within a cell's width.
fn in_lines(painter: &Painter, text: String, cell: Rect) -> Arc<Galley> {
    let room = cell.width() - 4.0;
    let mut lines = LayoutJob::simple(text, FontId::proportional(WORDS_PT), theme::INK, room);
    lines.halign = Align::Center;
    painter.layout_job(lines)
}

/// What the last cell asks for.
const NONE: Intent = Intent::Answer(None, InputDevice::Keyboard);

/// The key that answers cell `index` of a row of `teeth` teeth, as written on the cell.
fn key_of(index: usize, teeth: usize) -> String {
    if index == teeth {
        keys::key_name(KeyContext::Response, &NONE)
    } else {
        digit_of(index).to_owned()
    }
}

fn corner_radius(top: f32, bottom: f32) -> CornerRadius {
    let (top, bottom) = (top as u8, bottom as u8);
    CornerRadius { nw: top, ne: top, sw: bottom, se: bottom }
}

/// Pointer down on the cell, or Enter / Space / assistive click while it has the focus.
fn pressed_by(ui: &Ui, response: &Response) -> Option<InputDevice> {
    if response.hovered() && ui.input(|input| input.pointer.primary_pressed()) {
        return Some(InputDevice::Pointer);
    }
    // The click that ends with the release was the press's.
    activated(response).filter(|device| *device == InputDevice::Keyboard)
}

#[cfg(test)]
mod tests {
    use super::*;
    use bevy_egui::egui::{Context, Event, Modifiers, PointerButton, Pos2, RawInput, pos2};

    /// Draws the row in one frame with these events and returns what was pressed.
    fn frame(ctx: &Context, row: &ToothRow<'_>, events: Vec<Event>) -> Option<RowAnswer> {
        let window = Rect::from_min_size(Pos2::ZERO, vec2(1280.0, 800.0));
        let input = RawInput { screen_rect: Some(window), events, ..RawInput::default() };
        let mut pressed = None;
        let mut output = ctx.run_ui(input, |ui| pressed = row.show(ui, row_area(window)));
        // Nothing is painted here.
        output.textures_delta.clear();
        pressed.map(|(answer, device)| {
            assert_eq!(device, InputDevice::Pointer);
            answer
        })
    }

    fn button(pos: Pos2, pressed: bool) -> Vec<Event> {
        let (button, modifiers) = (PointerButton::Primary, Modifiers::NONE);
        vec![Event::PointerMoved(pos), Event::PointerButton { pos, button, pressed, modifiers }]
    }

    #[test]
    fn the_button_going_down_answers_once_and_beside_the_cells_nothing_does() {
        let teeth = Tooth::arch(6);
        let row = ToothRow { teeth: &teeth, cursor: None, names: ToothNames::Iso3950 };
        let cells = row.cells(row_area(Rect::from_min_size(Pos2::ZERO, vec2(1280.0, 800.0))));
        for (index, cell) in cells.iter().enumerate() {
            let ctx = Context::default();
            let centre = cell.center();
            assert_eq!(frame(&ctx, &row, vec![Event::PointerMoved(centre)]), None);
            assert_eq!(frame(&ctx, &row, button(centre, true)), Some(row.answer_at(index)));
            assert_eq!(frame(&ctx, &row, button(centre, false)), None);
        }
        let ctx = Context::default();
        let beside = pos2(cells[0].left() - 20.0, cells[0].center().y);
        assert_eq!(frame(&ctx, &row, vec![Event::PointerMoved(beside)]), None);
        assert_eq!(frame(&ctx, &row, button(beside, true)), None);
    }

    #[test]
    fn ten_teeth_fit_the_smallest_window_without_overlap() {
        let teeth = Tooth::arch(10);
        let row = ToothRow { teeth: &teeth, cursor: None, names: ToothNames::Iso3950 };
        let window = Rect::from_min_size(Pos2::ZERO, vec2(800.0, 600.0));
        let cells = row.cells(row_area(window));
        for cell in &cells {
            // WCAG 2.2, success criterion 2.5.8: a target of at least 24 by 24.
            assert!(cell.width() >= 24.0 && cell.height() >= 24.0, "{cell:?}");
            assert!(window.contains_rect(*cell), "{cell:?}");
        }
        assert!(cells.windows(2).all(|pair| pair[0].right() < pair[1].left()));
        // Names in words end above the key and within the cell.
        let row = ToothRow { names: ToothNames::Words, ..row };
        let mut output = Context::default().run_ui(RawInput::default(), |ui| {
            for (index, cell) in cells[..10].iter().enumerate() {
                let lines = in_lines(ui.painter(), row.words_of(index).0, *cell);
                let low = WORDS_TOP + lines.size().y;
                assert!(low <= cell.height() - KEY_FOOT - KEY_PT, "{low} {cell:?} {lines:?}");
                assert!(lines.size().x <= cell.width(), "{cell:?} {lines:?}");
                assert!(lines.size().y > 1.5 * WORDS_PT, "more than one line: {lines:?}");
            }
        });
        output.textures_delta.clear();
    }
}
