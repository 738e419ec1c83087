//! Who owns the keyboard: the focused control, or the screen.

use bevy::prelude::Resource;
use bevy_egui::egui;

/// Whether a control held the keyboard focus when the last frame was drawn. While one does,
/// Enter, Space and the arrows belong to it and not to the screen.
#[derive(Resource, Debug, Default, Clone, Copy, PartialEq, Eq)]
pub struct FocusHeld(pub bool);

/// Whether any control has the keyboard focus.
#[must_use]
pub fn has_focused_widget(ctx: &egui::Context) -> bool {
    ctx.memory(|memory| memory.focused().is_some())
}

/// Gives `response` the focus when nothing has it and the pointer is not at work.
pub fn give_focus(response: &egui::Response) {
    if !has_focused_widget(&response.ctx) {
        response.request_focus();
    }
}
