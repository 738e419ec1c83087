//! Whether a control has the keyboard, and giving it to one.

use bevy_egui::egui;

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
