//! The blend chart: fields of difference over thickness and shade, one for each translucency.
//!
//! Read without colour, too: lines of 0.8 (solid) and 1.8 ΔE00 (dashed) carry their numbers, what
//! was tried carries its letter, and the cursor's values stand below in words.

mod axes;
mod panel;
mod scales;
mod words;

use crate::app::ui::blend_chart::axes::{cross_hair, legend};
use crate::app::ui::blend_chart::scales::{AXIS_PT, GAP, Scales, TITLE_HEIGHT};
use crate::app::ui::blend_chart::words::{chroma_and_hue, name_of, reading_in_words};
use crate::app::ui::theme;
use crate::chart::BlendChart;
use crate::scene::Preparation;
use bevy_egui::egui::{
    EventFilter, FontId, Key, Rect, Response, Sense, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2,
};

/// Where somebody reads the chart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChartCursor {
    /// Which panel.
    pub panel: usize,
    /// Thickness in the middle of the tooth, mm.
    pub thickness_mm: f64,
    /// Lightness of the shade.
    pub lightness: f64,
}

/// A chart to be shown.
#[derive(Debug, Clone, Copy)]
pub struct BlendChartView<'a> {
    /// The chart.
    pub chart: &'a BlendChart,
    /// What its tooth is called within a sentence.
    pub tooth: &'a str,
}

/// Step of the keyboard cursor along thickness, mm.
const KEY_STEP_MM: f64 = 0.05;

const AXIS_HEIGHT: f32 = 62.0;
/// A line of what is read at the cursor.
const READING_HEIGHT: f32 = 34.0;
/// Narrower than this, what is read takes two lines.
const NARROW: f32 = 860.0;
/// Two lines on what the chart is of.
const NOTE_HEIGHT: f32 = 38.0;
const NOTE_PT: f32 = 15.0;
const AXIS_WIDTH: f32 = 74.0;
const LEGEND_WIDTH: f32 = 92.0;

fn is_narrow(rect: Rect) -> bool {
    rect.width() < NARROW
}

fn reading_height(rect: Rect) -> f32 {
    if is_narrow(rect) { 1.6 * READING_HEIGHT } else { READING_HEIGHT }
}

impl BlendChartView<'_> {
    /// Draws the chart in `size` points (760 × 420 and more reads well, 560 × 260 fits) and moves the cursor: the
    /// pointer sets it; with the focus, left and right change the thickness, up and down the shade,
    /// and Page Up and Page Down the panel.
    pub fn show(&self, ui: &mut Ui, size: Vec2, cursor: &mut Option<ChartCursor>) -> Response {
        let (rect, response) = ui.allocate_exact_size(size, Sense::click());
        let fields = self.fields(rect);
        if response.clicked() {
            response.request_focus();
        }
        self.move_by_pointer(&response, &fields, cursor);
        if response.has_focus() {
            let filter = EventFilter {
                horizontal_arrows: true,
                vertical_arrows: true,
                ..EventFilter::default()
            };
            ui.memory_mut(|memory| memory.set_focus_lock_filter(response.id, filter));
            self.move_by_keys(ui, cursor);
        }
        let painter = ui.painter_at(rect.expand(6.0));
        let scales = self.scales();
        for (index, (panel, field)) in self.chart.panels.iter().zip(&fields).enumerate() {
            scales.draw_panel(&painter, panel, *field, index == 0);
            if let Some(cursor) = cursor.filter(|cursor| cursor.panel == index) {
                let at = scales.place(*field, cursor.thickness_mm, cursor.lightness);
                cross_hair(&painter, *field, at);
            }
        }
        if let Some(field) = fields.last() {
            legend(&painter, *field);
        }
        let words = self.in_words(cursor.as_ref());
        let left = rect.left() + if is_narrow(rect) { 4.0 } else { AXIS_WIDTH };
        let laid_out = |words: &str, points: f32, ink| {
            let font = FontId::proportional(points);
            painter.layout(words.to_owned(), font, ink, rect.right() - left)
        };
        let galley = laid_out(&words, AXIS_PT + 1.0, theme::INK);
        let middle = rect.bottom() - reading_height(rect) / 2.0;
        painter.galley(pos2(left, middle - galley.size().y / 2.0), galley, theme::INK);
        let note = self.note();
        let galley = laid_out(&note, NOTE_PT, theme::INK_SOFT);
        let top = rect.bottom() - reading_height(rect) - NOTE_HEIGHT;
        painter.galley(pos2(left, top), galley, theme::INK_SOFT);
        if response.has_focus() {
            theme::focus_ring(&painter, rect.shrink(2.0));
        }
        let spoken = format!("{words}. {note}");
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Other, true, &spoken));
        response
    }

    const fn scales(&self) -> Scales<'_> {
        Scales { chart: self.chart }
    }

    /// Where the panels' fields lie in a rectangle.
    #[must_use]
    pub fn fields(&self, rect: Rect) -> Vec<Rect> {
        let count = self.chart.panels.len().max(1);
        let room = rect.width() - AXIS_WIDTH - LEGEND_WIDTH - GAP * (count - 1) as f32;
        let width = (room / count as f32).max(40.0);
        let top = rect.top() + TITLE_HEIGHT;
        let around = TITLE_HEIGHT + AXIS_HEIGHT + NOTE_HEIGHT + reading_height(rect);
        let height = (rect.height() - around).max(40.0);
        (0..self.chart.panels.len())
            .map(|index| {
                let left = rect.left() + AXIS_WIDTH + (width + GAP) * index as f32;
                Rect::from_min_size(pos2(left, top), vec2(width, height))
            })
            .collect()
    }

    fn move_by_pointer(
        &self,
        response: &Response,
        fields: &[Rect],
        cursor: &mut Option<ChartCursor>,
    ) {
        let Some(at) = response.hover_pos() else { return };
        // A pointer that lies still leaves the cursor to the keyboard.
        let moved = response.ctx.input(|i| i.pointer.delta() != Vec2::ZERO) || response.clicked();
        if !moved && cursor.is_some() {
            return;
        }
        for (panel, field) in fields.iter().enumerate().filter(|(_, field)| field.contains(at)) {
            let (low_mm, high_mm) = self.scales().thickness_range();
            let (low, high) = self.scales().lightness_range();
            let x = f64::from((at.x - field.left()) / field.width());
            let y = f64::from((field.bottom() - at.y) / field.height());
            *cursor = Some(ChartCursor {
                panel,
                thickness_mm: low_mm + x * (high_mm - low_mm),
                lightness: low + y * (high - low),
            });
        }
    }

    fn move_by_keys(&self, ui: &Ui, cursor: &mut Option<ChartCursor>) {
        let pressed = |key| ui.input(|input| input.num_presses(key)) as f64;
        let across = pressed(Key::ArrowRight) - pressed(Key::ArrowLeft);
        let up = pressed(Key::ArrowUp) - pressed(Key::ArrowDown);
        let panels = pressed(Key::PageDown) - pressed(Key::PageUp);
        if cursor.is_none() {
            *cursor = self.start();
        }
        if let Some(cursor) = cursor
            && (across, up, panels) != (0.0, 0.0, 0.0)
        {
            *cursor = self.moved(*cursor, across, up, panels);
        }
    }

    /// Where the cursor begins: on the first thing that was tried.
    #[must_use]
    pub fn start(&self) -> Option<ChartCursor> {
        let tried = self.chart.tried.first()?;
        let panel = self.chart.panels.iter().position(|p| p.translucency == tried.translucency)?;
        let (thickness_mm, lightness) = (tried.thickness_mm, tried.lightness);
        Some(ChartCursor { panel, thickness_mm, lightness })
    }

    /// The cursor some steps on, held to the chart: thickness by 0.05 mm, the shade to the next one
    /// that there is.
    #[must_use]
    pub fn moved(&self, from: ChartCursor, across: f64, up: f64, panels: f64) -> ChartCursor {
        let axes = &self.chart.axes;
        let (low, high) = self.scales().thickness_range();
        let last_panel = self.chart.panels.len().saturating_sub(1) as f64;
        let last_row = axes.shades.len().saturating_sub(1) as f64;
        // The next shade up or down also from between two.
        let row = axes.row_of(from.lightness);
        let row = match up {
            0.0 => row,
            up if up > 0.0 => (row + 1e-6).floor() + up,
            down => (row - 1e-6).ceil() + down,
        };
        let lightness = if up == 0.0 {
            from.lightness
        } else {
            let row = row.clamp(0.0, last_row) as usize;
            axes.shades.get(row).map_or(from.lightness, |shade| shade.l)
        };
        ChartCursor {
            panel: (from.panel as f64 + panels).clamp(0.0, last_panel) as usize,
            thickness_mm: (from.thickness_mm + across * KEY_STEP_MM).clamp(low, high),
            lightness,
        }
    }

    /// The values at the cursor, or what to do to read some.
    #[must_use]
    pub fn in_words(&self, cursor: Option<&ChartCursor>) -> String {
        let Some(cursor) = cursor else {
            return "Point at the chart, or use the arrow keys, to read values".to_owned();
        };
        let Some(panel) = self.chart.panels.get(cursor.panel) else { return String::new() };
        let name = name_of(panel.translucency);
        match self.chart.at(panel, cursor.thickness_mm, cursor.lightness) {
            Some(reading) => format!("{name}, {}", reading_in_words(&reading)),
            None => format!("{name}: no ceramic of this class has that colour"),
        }
    }

    /// What all shades share, whose chart it is, and what has no mark on it.
    #[must_use]
    pub fn note(&self) -> String {
        let chart = self.chart;
        let shades = chart.colour.map_or_else(
            || "Measured shades".to_owned(),
            |colour| format!("Shades of {}", chroma_and_hue(colour)),
        );
        let whole = if matches!(chart.preparation, Preparation::Onlay { .. }) {
            ", over the whole tooth"
        } else {
            ""
        };
        let mut note = format!("{shades} on {}{whole}.", self.tooth);
        if !chart.elsewhere.is_empty() {
            note.push_str(&format!(
                " No mark, as the chart does not hold for them (other ceramic, chroma, hue, cement or \
                 profile): {}.",
                chart.elsewhere.join(", ")
            ));
        }
        note
    }
}
