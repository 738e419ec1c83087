//! What a chart says at a place.

use super::panel::{BlendChart, HOLDS_DE00, Panel, Tried, zones_at};
use crate::bake::ZoneDifference;
use crate::colorimetry::Lch;
use crate::scene::Translucency;

/// What the chart says at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Thickness in the middle of the tooth, mm.
    pub thickness_mm: f64,
    /// Shade, between those of the axis where the place is.
    pub shade: Lch,
    /// Difference to the twin.
    pub difference: ZoneDifference,
}

impl BlendChart {
    /// How far a mark's reading may lie from the difference that is stated of its restoration, which comes
    /// from the finished maps, ΔE00: the estimator is held to 0.15 of those (its coarse face), and marks
    /// to 0.05 of the estimator.
    pub const ERROR_DE00: f64 = 0.2;

    /// Whether the chart reads a difference at a mark's place.
    pub(super) fn reads(&self, mark: &Tried, difference: &ZoneDifference) -> bool {
        let reading = self
            .panel(mark.translucency)
            .and_then(|panel| self.at(panel, mark.thickness_mm, mark.lightness));
        reading.is_some_and(|reading| {
            let read = reading.difference;
            [
                read.de00 - difference.de00,
                read.dl00 - difference.dl00,
                read.dc00 - difference.dc00,
                read.dh00 - difference.dh00,
            ]
            .iter()
            .all(|off| off.abs() <= HOLDS_DE00)
        })
    }

    /// The panel of a translucency.
    #[must_use]
    pub fn panel(&self, translucency: Translucency) -> Option<&Panel> {
        self.panels.iter().find(|panel| panel.translucency == translucency)
    }

    /// What a panel says at a thickness in mm and a lightness of shade; `None` outside the axes and
    /// where no ceramic is.
    #[must_use]
    pub fn at(&self, panel: &Panel, thickness_mm: f64, lightness: f64) -> Option<Reading> {
        let (columns, rows) = (self.axes.thickness_mm.len(), self.axes.shades.len());
        let (column, row) = (self.axes.column_of(thickness_mm), self.axes.row_of(lightness));
        let inside = |x: f64, n: usize| (-1e-9..=(n as f64 - 1.0 + 1e-9)).contains(&x);
        if columns == 0 || rows == 0 || !inside(column, columns) || !inside(row, rows) {
            return None;
        }
        let zones = zones_at(&panel.nodes, &self.axes, column, row);
        let difference = ZoneDifference::of_thirds(&self.natural, &zones);
        let i = (row.max(0.0).floor() as usize).min(rows - 1);
        let (below, above) = (self.axes.shades[i], self.axes.shades[(i + 1).min(rows - 1)]);
        let t = (row - i as f64).clamp(0.0, 1.0);
        let mix = |a: f64, b: f64| a + t * (b - a);
        let shade =
            Lch { l: mix(below.l, above.l), c: mix(below.c, above.c), h: mix(below.h, above.h) };
        difference.de00.is_finite().then_some(Reading { thickness_mm, shade, difference })
    }

    /// What a panel says at one of its nodes: at a real shade.
    #[must_use]
    pub fn node(&self, panel: &Panel, column: usize, row: usize) -> Option<Reading> {
        let thickness_mm = *self.axes.thickness_mm.get(column)?;
        let shade = *self.axes.shades.get(row)?;
        let zones = panel.nodes.get(row * self.axes.thickness_mm.len() + column)?;
        let difference = ZoneDifference::of_thirds(&self.natural, zones);
        difference.de00.is_finite().then_some(Reading { thickness_mm, shade, difference })
    }

    /// The node that blends best among the shades at the restoration's own thickness: what would
    /// have worked in this room. Each panel gives its own.
    #[must_use]
    pub fn best_shade(&self, panel: &Panel, thickness_mm: f64) -> Option<Reading> {
        self.axes
            .shades
            .iter()
            .filter_map(|shade| self.at(panel, thickness_mm, shade.l))
            .min_by(|a, b| a.difference.de00.total_cmp(&b.difference.de00))
    }

    /// Largest ΔE00 of the nodes; 0 where there are none.
    #[must_use]
    pub fn largest_de00(&self) -> f64 {
        let columns = self.axes.thickness_mm.len().max(1);
        let all = self.panels.iter().flat_map(|panel| {
            (0..panel.nodes.len()).filter_map(move |i| self.node(panel, i % columns, i / columns))
        });
        all.map(|reading| reading.difference.de00).fold(0.0, f64::max)
    }
}
