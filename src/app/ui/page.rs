//! What screens of words and controls stand on: a page with a title and a body that scrolls, and a column
//! in the middle.
//!
//! Both scroll by wheel, drag, Page Up and Page Down where they are higher than the window, and leave room
//! for the ring around the outermost controls.

use crate::app::ui::focus::give_focus;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, heading, page_keys};
use crate::play::intents::Intent;
use bevy_egui::egui::{Align, CentralPanel, Frame, Layout, Margin, ScrollArea, Ui};

/// Room around a page, points.
const MARGIN: Margin = Margin { left: 28, right: 28, top: 20, bottom: 20 };
/// Room around a column, points.
const COLUMN_MARGIN: Margin = Margin { left: 36, right: 36, top: 20, bottom: 20 };
/// Room for the focus ring, points.
const RING: Margin = Margin::same(6);

/// A page with a title.
#[derive(Debug, Clone, Copy)]
pub struct Page<'a> {
    title: &'a str,
    has_page_keys: bool,
}

impl<'a> Page<'a> {
    /// A page with this title.
    #[must_use]
    pub const fn new(title: &'a str) -> Self {
        Self { title, has_page_keys: true }
    }

    /// The page where Page Up and Page Down mean something else.
    #[must_use]
    pub const fn without_page_keys(self) -> Self {
        Self { has_page_keys: false, ..self }
    }

    /// Draws it: at the right of the title `beside`, from the right; `below` it, standing still; and the
    /// `body`, which scrolls. Returns what was asked for.
    pub fn show(
        self,
        ui: &mut Ui,
        beside: impl FnOnce(&mut Ui, &mut Vec<Intent>),
        below: impl FnOnce(&mut Ui),
        body: impl FnOnce(&mut Ui, &mut Vec<Intent>),
    ) -> Vec<Intent> {
        let mut asked = Vec::new();
        let frame = Frame::NONE.fill(theme::GREY).inner_margin(MARGIN);
        CentralPanel::default().frame(frame).show(ui, |ui| {
            ui.horizontal(|ui| {
                heading(ui, self.title);
                ui.with_layout(Layout::right_to_left(Align::Center), |ui| beside(ui, &mut asked));
            });
            below(ui);
            ui.add_space(4.0);
            ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
                if self.has_page_keys {
                    page_keys(ui);
                }
                Frame::NONE.inner_margin(RING).show(ui, |ui| body(ui, &mut asked));
            });
        });
        asked
    }
}

/// Nothing between title and body.
pub fn nothing(_: &mut Ui) {}

/// The control that goes back to the list of levels.
pub fn back(ui: &mut Ui, label: &str, asked: &mut Vec<Intent>) {
    if big_button(ui, label).clicked() {
        asked.push(Intent::BackToTitle);
    }
}

/// The same where it is what Enter does: it has the focus at first.
pub fn back_at_once(ui: &mut Ui, label: &str, asked: &mut Vec<Intent>) {
    let back = big_button(ui, label);
    give_focus(&back);
    if back.clicked() {
        asked.push(Intent::BackToTitle);
    }
}

/// A column at most `width` points wide in the middle of the window. Returns what was asked for.
pub fn column(
    ui: &mut Ui,
    width: f32,
    body: impl FnOnce(&mut Ui, &mut Vec<Intent>),
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let frame = Frame::NONE.fill(theme::GREY).inner_margin(COLUMN_MARGIN);
    CentralPanel::default().frame(frame).show(ui, |ui| {
        ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            page_keys(ui);
            let width = ui.available_width().min(width);
            let margin = (ui.available_width() - width) / 2.0;
            ui.horizontal(|ui| {
                ui.add_space(margin);
                ui.vertical(|ui| {
                    ui.set_width(width);
                    body(ui, &mut asked);
                });
            });
        });
    });
    asked
}
