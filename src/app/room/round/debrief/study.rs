//! The chart and the layers of the smile in view.

use super::controls::{CONTROLS_WIDTH, controls, height_in};
use crate::app::room::round::drawn::{Drawn, GAP};
use crate::app::ui::blend_chart::{BlendChartView, ChartCursor};
use crate::app::ui::cross_section::cross_section;
use crate::app::ui::widgets::{section, small};
use crate::play::intents::{Intent, Page};
use bevy_egui::egui::{self, Rect, Ui};

/// Chart and layers are drawn at least this large, points.
const LEAST_STUDY: egui::Vec2 = egui::vec2(560.0, 260.0);
/// From this width on, the controls stand beside chart and layers, points.
const WIDE_STUDY: f32 = 780.0;

/// The chart or the layers of the smile in view, with the controls beside it or, where the window is
/// too narrow for both, below.
pub(in crate::app::room::round) fn study(
    ui: &mut Ui,
    window: Rect,
    page: Page,
    drawn: Drawn<'_>,
) -> Vec<Intent> {
    let inner = window.shrink2(egui::vec2(20.0, 12.0));
    let is_beside = inner.width() >= WIDE_STUDY + CONTROLS_WIDTH + GAP;
    let (area, panel) = if is_beside {
        let x = inner.right() - CONTROLS_WIDTH;
        (
            Rect::from_min_max(inner.min, egui::pos2(x - GAP, inner.bottom())),
            Rect::from_min_max(egui::pos2(x, inner.top()), inner.max),
        )
    } else {
        let y = inner.bottom() - height_in(inner.width(), drawn);
        (
            Rect::from_min_max(inner.min, egui::pos2(inner.right(), y - 4.0)),
            Rect::from_min_max(egui::pos2(inner.left(), y), inner.max),
        )
    };
    studied(ui, area, page, drawn);
    ui.scope_builder(egui::UiBuilder::new().max_rect(panel), |ui| {
        let area = egui::ScrollArea::vertical().id_salt("controls").auto_shrink([false, false]);
        area.show(ui, |ui| {
            // Room for the focus ring.
            ui.add_space(4.0);
            controls(ui, drawn)
        })
    })
    .inner
    .inner
}

/// The chart or the layers of the smile in view.
pub(in crate::app::room::round) fn studied(ui: &mut Ui, area: Rect, page: Page, drawn: Drawn<'_>) {
    let sights = drawn.exercising.sights();
    let name = sights.get(drawn.exercising.in_view()).map_or("", |sight| sight.name.as_str());
    let study = drawn.exercising.study();
    ui.scope_builder(egui::UiBuilder::new().max_rect(area), |ui| {
        let behind = if study.is_behind(page) { ", being worked out anew…" } else { "" };
        section(ui, &format!("{name}{behind}"));
        let room = egui::vec2(area.width(), area.bottom() - ui.cursor().top() - 4.0);
        // What would be too small to read is scrolled to instead.
        let size = room.max(LEAST_STUDY);
        ui.set_clip_rect(area.intersect(ui.clip_rect()));
        let scroll = egui::ScrollArea::both().id_salt("study").auto_shrink([false, false]);
        scroll.show(ui, |ui| match page {
            Page::Chart => match study.chart() {
                Some(chart) => {
                    let id = egui::Id::new("chart cursor");
                    let mut cursor: Option<ChartCursor> =
                        ui.data(|data| data.get_temp(id)).flatten();
                    let tooth = &drawn.exercising.tooth_said(chart.tooth);
                    BlendChartView { chart, tooth }.show(ui, size, &mut cursor);
                    ui.data_mut(|data| data.insert_temp(id, cursor));
                }
                None => nothing_yet(ui, study.is_done(page), "chart"),
            },
            _ => match study.section() {
                Some(layers) => {
                    let tooth = drawn.exercising.tooth_said(layers.tooth);
                    cross_section(ui, size, layers, &tooth);
                }
                None => nothing_yet(ui, study.is_done(page), "cross-section"),
            },
        });
    });
}

fn nothing_yet(ui: &mut Ui, is_done: bool, what: &str) {
    if !is_done {
        small(ui, &format!("Computing the {what}…"));
    } else {
        small(ui, &format!("There is no {what}: the tooth in this smile is natural."));
    }
}
