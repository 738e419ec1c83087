//! Where values of a chart lie in the fields that are drawn.

use crate::chart::BlendChart;
use bevy_egui::egui::{Pos2, Rect, pos2};

/// Where the scale of colour ends, ΔE00: what is further off is as far off.
pub(super) const END_DE00: f64 = 6.0;
pub(super) const TITLE_HEIGHT: f32 = 34.0;
pub(super) const GAP: f32 = 16.0;
pub(super) const AXIS_PT: f32 = 18.0;

/// The scales of a chart: thickness to the right, lightness of the shade upwards.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scales<'a> {
    pub(super) chart: &'a BlendChart,
}

impl Scales<'_> {
    pub(super) fn thickness_range(&self) -> (f64, f64) {
        let axis = &self.chart.axes.thickness_mm;
        (axis.first().copied().unwrap_or(0.0), axis.last().copied().unwrap_or(1.0))
    }

    pub(super) fn lightness_range(&self) -> (f64, f64) {
        let axis = &self.chart.axes.shades;
        (axis.first().map_or(0.0, |s| s.l), axis.last().map_or(1.0, |s| s.l))
    }

    pub(super) fn place(&self, field: Rect, thickness_mm: f64, lightness: f64) -> Pos2 {
        let share =
            |value: f64, (low, high): (f64, f64)| ((value - low) / (high - low).max(1e-9)) as f32;
        pos2(
            field.left() + field.width() * share(thickness_mm, self.thickness_range()),
            field.bottom() - field.height() * share(lightness, self.lightness_range()),
        )
    }
}
