//! Small building blocks with the theme built in.

use crate::app::ui::theme;
use bevy_egui::egui::{self, Response, RichText, Ui, WidgetInfo, WidgetType};

/// A screen's title.
pub fn heading(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).heading().color(theme::INK));
}

/// A section title.
pub fn section(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).size(20.0).color(theme::INK));
}

/// One line or paragraph of body text.
pub fn body(ui: &mut Ui, text: &str) {
    ui.label(RichText::new(text).color(theme::INK));
}

/// A wrapped paragraph no wider than is comfortable to read.
pub fn paragraph(ui: &mut Ui, text: &str) {
    let width = ui.available_width().min(760.0);
    ui.scope(|ui| {
        ui.set_max_width(width);
        ui.add(egui::Label::new(RichText::new(text).color(theme::INK)).wrap());
    });
}

/// Second-rank text.
pub fn small(ui: &mut Ui, text: &str) {
    ui.add(egui::Label::new(RichText::new(text).small().color(theme::INK_SOFT)).wrap());
}

/// The same on one line, whatever room there is.
pub fn small_line(ui: &mut Ui, text: &str) {
    ui.add(egui::Label::new(RichText::new(text).small().color(theme::INK_SOFT)).extend());
}

/// What a key does: `Enter  continue`.
pub fn key_hint(ui: &mut Ui, hint: &str) {
    ui.label(RichText::new(hint).small().color(theme::INK));
}

/// A button with the focus ring. `label` is what assistive technology reads.
pub fn big_button(ui: &mut Ui, label: &str) -> Response {
    wide_button(ui, label, 0.0)
}

/// A [`big_button`] at least `width` points wide.
pub fn wide_button(ui: &mut Ui, label: &str, width: f32) -> Response {
    button_of(ui, label, egui::vec2(width, 36.0))
}

/// A [`wide_button`] of less height, where many stand in a column.
pub fn low_button(ui: &mut Ui, label: &str, width: f32) -> Response {
    button_of(ui, label, egui::vec2(width, 30.0))
}

fn button_of(ui: &mut Ui, label: &str, least: egui::Vec2) -> Response {
    let button = egui::Button::new(RichText::new(label).color(theme::INK));
    let response = ui.add(button.min_size(least));
    if response.has_focus() {
        theme::focus_ring(ui.painter(), response.rect);
    }
    response
}

/// A small control as grey as what it lies on, for what is always there and seldom wanted.
pub fn quiet_button(ui: &mut Ui, label: &str) -> Response {
    let padding = std::mem::replace(&mut ui.spacing_mut().button_padding, egui::vec2(10.0, 3.0));
    let button = egui::Button::new(RichText::new(label).size(15.0).color(theme::INK))
        .fill(theme::GREY)
        .stroke(egui::Stroke::new(1.0, theme::GUIDE))
        .min_size(egui::vec2(0.0, 28.0));
    // In this layout itself: where controls are wrapped, it goes to the next line as a whole.
    let response = ui.add(button);
    ui.spacing_mut().button_padding = padding;
    if response.has_focus() {
        theme::focus_ring(ui.painter(), response.rect);
    }
    response
}

/// A field for a line of text; whether Enter was pressed in it. `label` is what assistive technology
/// reads. The caret, selecting, copying and pasting are egui's.
pub fn text_field(
    ui: &mut Ui,
    id: impl std::hash::Hash + std::fmt::Debug,
    text: &mut String,
    label: &str,
    width: f32,
) -> (Response, bool) {
    let edit = egui::TextEdit::singleline(text)
        .id(egui::Id::new(id))
        .font(egui::FontId::monospace(18.0))
        .desired_width(width)
        .background_color(theme::PAPER)
        .margin(egui::Margin::symmetric(10, 8));
    let response = ui.add(edit);
    // What was typed egui says itself.
    response.widget_info(|| WidgetInfo::labeled(WidgetType::TextEdit, true, label));
    if response.has_focus() {
        theme::focus_ring(ui.painter(), response.rect.shrink(2.0));
    }
    if response.gained_focus() {
        response.scroll_to_me(None);
    }
    let is_done = response.lost_focus() && ui.input(|input| input.key_pressed(egui::Key::Enter));
    (response, is_done)
}

/// Lets Page Up and Page Down move what the scroll area around `ui` shows.
pub fn page_keys(ui: &mut Ui) {
    use egui::Key::{PageDown, PageUp};
    let pages =
        ui.input(|input| input.num_presses(PageDown) as f32 - input.num_presses(PageUp) as f32);
    if pages != 0.0 {
        // A few lines are seen again, so that the place is found.
        ui.scroll_with_delta(egui::vec2(0.0, -0.8 * pages * ui.clip_rect().height()));
    }
}

/// A card on the grey.
pub fn card<R>(ui: &mut Ui, contents: impl FnOnce(&mut Ui) -> R) -> R {
    theme::card_frame()
        .show(ui, |ui| {
            ui.set_width(ui.available_width());
            contents(ui)
        })
        .inner
}

/// A bar that shows `fraction` (0..=1) of something, with `label` for assistive technology.
pub fn progress_bar(ui: &mut Ui, fraction: f32, width: f32, height: f32, label: &str) {
    let fraction = fraction.clamp(0.0, 1.0);
    let (rect, response) = ui.allocate_exact_size(egui::vec2(width, height), egui::Sense::hover());
    let painter = ui.painter();
    painter.rect_filled(rect, 2.0, theme::GUIDE);
    let mut filled = rect;
    filled.set_width(rect.width() * fraction);
    painter.rect_filled(filled, 2.0, theme::PAPER);
    painter.rect_stroke(rect, 2.0, egui::Stroke::new(1.0, theme::EDGE), egui::StrokeKind::Inside);
    response.widget_info(|| WidgetInfo::labeled(WidgetType::ProgressIndicator, true, label));
}
