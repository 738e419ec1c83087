//! The control that opens the pause menu.

use crate::app::ui::hand::activated;
use crate::app::ui::widgets::quiet_button;
use crate::play::intents::Intent;
use crate::play::keys::pause_label;
use bevy_egui::egui::{self, Rect, Ui};

/// The control that opens the menu, in the upper right corner of `area`.
pub(crate) fn corner(ui: &mut Ui, area: Rect) -> Option<Intent> {
    let place = Rect::from_min_max(
        egui::pos2(area.left(), area.top() + 10.0),
        egui::pos2(area.right() - 12.0, area.top() + 46.0),
    );
    let layout = egui::Layout::right_to_left(egui::Align::Min);
    let button = |ui: &mut Ui| quiet_button(ui, &pause_label()).clicked();
    let builder = egui::UiBuilder::new().max_rect(place).layout(layout);
    ui.scope_builder(builder, button).inner.then_some(Intent::Pause)
}

/// Opens the menu that pauses and leaves.
pub(crate) fn pause_control(ui: &mut Ui) -> Option<Intent> {
    activated(&quiet_button(ui, &pause_label())).map(|_| Intent::Pause)
}
