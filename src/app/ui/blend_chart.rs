//! The blend chart: fields of difference over thickness and shade, one for each translucency.
//!
//! Read without colour, too: lines of 0.8 (solid) and 1.8 ΔE00 (dashed) carry their numbers, what
//! was tried carries its letter, and the cursor's values stand below in words.

use super::theme;
use crate::app::view_aids::scale_colour;
use crate::chart::{BlendChart, Isoline, Panel, Reading};
use crate::colorimetry::{ACCEPTABILITY_DE00, Lch, PERCEPTIBILITY_DE00};
use crate::scene::{Preparation, Translucency};
use crate::words::{Part, is_nothing, signed};
use bevy_egui::egui::{
    Align2, Color32, EventFilter, FontId, Key, Mesh, Painter, Pos2, Rect, Response, Sense, Shape,
    Stroke, StrokeKind, Ui, Vec2, WidgetInfo, WidgetType, pos2, vec2,
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

/// Where the scale of colour ends, ΔE00: what is further off is as far off.
const END_DE00: f64 = 6.0;
/// Points of the painted field between nodes, along either axis.
const FINER: usize = 5;
/// Step of the keyboard cursor along thickness, mm.
const KEY_STEP_MM: f64 = 0.05;

const TITLE_HEIGHT: f32 = 34.0;
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
const GAP: f32 = 16.0;

const TITLE_PT: f32 = 22.0;
const AXIS_PT: f32 = 18.0;

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
        for (index, (panel, field)) in self.chart.panels.iter().zip(&fields).enumerate() {
            self.draw_panel(&painter, panel, *field, index == 0);
            if let Some(cursor) = cursor.filter(|cursor| cursor.panel == index) {
                let at = self.place(*field, cursor.thickness_mm, cursor.lightness);
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

    fn thickness_range(&self) -> (f64, f64) {
        let axis = &self.chart.axes.thickness_mm;
        (axis.first().copied().unwrap_or(0.0), axis.last().copied().unwrap_or(1.0))
    }

    fn lightness_range(&self) -> (f64, f64) {
        let axis = &self.chart.axes.shades;
        (axis.first().map_or(0.0, |s| s.l), axis.last().map_or(1.0, |s| s.l))
    }

    fn place(&self, field: Rect, thickness_mm: f64, lightness: f64) -> Pos2 {
        let share =
            |value: f64, (low, high): (f64, f64)| ((value - low) / (high - low).max(1e-9)) as f32;
        pos2(
            field.left() + field.width() * share(thickness_mm, self.thickness_range()),
            field.bottom() - field.height() * share(lightness, self.lightness_range()),
        )
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
            let (low_mm, high_mm) = self.thickness_range();
            let (low, high) = self.lightness_range();
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
        let (low, high) = self.thickness_range();
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

    fn draw_panel(&self, painter: &Painter, panel: &Panel, field: Rect, first: bool) {
        // As large as there is room for beside the next one's.
        let layout = |size: f32| {
            let font = FontId::proportional(size);
            painter.layout_no_wrap(name_of(panel.translucency).to_owned(), font, theme::INK)
        };
        let room = field.width() + GAP - 6.0;
        let title = layout(TITLE_PT * (room / layout(TITLE_PT).size().x.max(1.0)).min(1.0));
        let middle = pos2(field.center().x, field.top() - TITLE_HEIGHT / 2.0);
        painter.galley(middle - title.size() / 2.0, title, theme::INK);
        painter.rect_filled(field, 0.0, theme::SURFACE);
        painter.add(Shape::mesh(self.mesh(panel, field)));
        let inner = painter.with_clip_rect(field);
        for (isoline, dashed) in panel.isolines.iter().zip([false, true]) {
            self.isoline(&inner, isoline, field, dashed);
        }
        self.uncertainty(&inner, panel, field);
        let mut taken: Vec<Rect> = Vec::new();
        self.tried(&inner, panel, field, &mut taken);
        for isoline in &panel.isolines {
            self.number(&inner, isoline, field, &mut taken);
        }
        painter.rect_stroke(field, 0.0, Stroke::new(1.5, theme::EDGE), StrokeKind::Outside);
        self.thickness_axis(painter, field);
        if first {
            self.shade_axis(painter, field);
        }
    }

    /// The field in colours of the scale.
    fn mesh(&self, panel: &Panel, field: Rect) -> Mesh {
        let axes = &self.chart.axes;
        let (columns, rows) = (axes.thickness_mm.len(), axes.shades.len());
        let mut mesh = Mesh::default();
        if columns < 2 || rows < 2 {
            return mesh;
        }
        let (across, down) = (FINER * (columns - 1) + 1, FINER * (rows - 1) + 1);
        let (low_mm, high_mm) = self.thickness_range();
        let mut known = Vec::with_capacity(across * down);
        for row in 0..down {
            let at = row as f64 / FINER as f64;
            let below = (at.floor() as usize).min(rows - 2);
            let (from, to) = (axes.shades[below].l, axes.shades[below + 1].l);
            let lightness = from + (at - below as f64) * (to - from);
            for column in 0..across {
                let share = column as f64 / (across - 1) as f64;
                let mm = low_mm + share * (high_mm - low_mm);
                let reading = self.chart.at(panel, mm, lightness);
                known.push(reading.is_some());
                let de00 = reading.map_or(END_DE00, |reading| reading.difference.de00);
                let [r, g, b] = scale_colour(de00 / END_DE00);
                let place = self.place(field, mm, lightness);
                mesh.colored_vertex(place, Color32::from_rgb(r, g, b));
            }
        }
        for row in 0..down - 1 {
            for column in 0..across - 1 {
                let corner = row * across + column;
                let corners = [corner, corner + 1, corner + across, corner + across + 1];
                if corners.iter().all(|i| known[*i]) {
                    let [a, b, c, d] = corners.map(|i| i as u32);
                    mesh.add_triangle(a, b, c);
                    mesh.add_triangle(b, c, d);
                }
            }
        }
        mesh
    }

    fn isoline(&self, painter: &Painter, isoline: &Isoline, field: Rect, dashed: bool) {
        for line in &isoline.lines {
            let points: Vec<Pos2> = line.iter().map(|[mm, l]| self.place(field, *mm, *l)).collect();
            // Dark under light, so that the line is seen on every colour of the scale.
            for (width, colour) in [(6.0, theme::INK), (3.0, theme::PAPER)] {
                let stroke = Stroke::new(width, colour);
                if dashed {
                    painter.extend(Shape::dashed_line(&points, stroke, 12.0, 7.0));
                } else {
                    painter.add(Shape::line(points.clone(), stroke));
                }
            }
        }
    }

    /// The line's number on a plate, at the line's point nearest the middle that is free.
    fn number(&self, painter: &Painter, isoline: &Isoline, field: Rect, taken: &mut Vec<Rect>) {
        let font = FontId::proportional(AXIS_PT);
        let galley = painter.layout_no_wrap(format!("{:.1}", isoline.de00), font, theme::INK);
        let room = field.shrink2(galley.size() / 2.0 + vec2(6.0, 4.0));
        let mut points: Vec<Pos2> = isoline
            .lines
            .iter()
            .flatten()
            .map(|[mm, l]| self.place(field, *mm, *l))
            .filter(|point| room.contains(*point))
            .collect();
        let aim = pos2(field.right() - 0.3 * field.width(), field.center().y);
        points.sort_by(|a, b| a.distance_sq(aim).total_cmp(&b.distance_sq(aim)));
        let plate = |point: &Pos2| {
            Align2::CENTER_CENTER.anchor_size(*point, galley.size()).expand2(vec2(5.0, 1.0))
        };
        let free = points
            .iter()
            .map(plate)
            .find(|plate| taken.iter().all(|other| !other.expand(3.0).intersects(*plate)));
        if let Some(plate) = free {
            painter.rect(
                plate,
                3.0,
                theme::PAPER,
                Stroke::new(1.0, theme::INK),
                StrokeKind::Outside,
            );
            painter.galley(plate.min + vec2(5.0, 1.0), galley, theme::INK);
            taken.push(plate);
        }
    }

    fn uncertainty(&self, painter: &Painter, panel: &Panel, field: Rect) {
        let (Some(own), Some(spread)) = (self.chart.tried.first(), &self.chart.uncertainty) else {
            return;
        };
        if own.translucency != panel.translucency {
            return;
        }
        let height = spread.shade_lightness.min(100.0);
        let points: Vec<Pos2> = (0..=64)
            .map(|i| {
                let angle = std::f64::consts::TAU * f64::from(i) / 64.0;
                self.place(
                    field,
                    own.thickness_mm + spread.thickness_mm * angle.cos(),
                    own.lightness + height * angle.sin(),
                )
            })
            .collect();
        for (width, colour) in [(4.0, theme::INK), (2.0, theme::PAPER)] {
            painter.extend(Shape::dashed_line(&points, Stroke::new(width, colour), 3.0, 5.0));
        }
    }

    fn tried(&self, painter: &Painter, panel: &Panel, field: Rect, taken: &mut Vec<Rect>) {
        for tried in self.chart.tried.iter().filter(|t| t.translucency == panel.translucency) {
            let at = self.place(field, tried.thickness_mm, tried.lightness);
            let inside = at.clamp(field.min + vec2(13.0, 13.0), field.max - vec2(13.0, 13.0));
            painter.circle(inside, 13.0, theme::PAPER, Stroke::new(2.5, theme::INK));
            let font = FontId::proportional(17.0);
            painter.text(inside, Align2::CENTER_CENTER, &tried.label, font, theme::INK);
            taken.push(Rect::from_center_size(inside, vec2(30.0, 30.0)));
        }
    }

    fn thickness_axis(&self, painter: &Painter, field: Rect) {
        let (low, high) = self.thickness_range();
        let font = FontId::proportional(AXIS_PT);
        // As many numbers as have room.
        let step = [0.1, 0.2, 0.5, 1.0]
            .into_iter()
            .find(|step| f64::from(field.width()) * step / (high - low) >= 46.0)
            .unwrap_or(1.0);
        let first = (low / step - 1e-6).ceil() as i64;
        let last = (high / step + 1e-6).floor() as i64;
        for tick in first..=last {
            let mm = tick as f64 * step;
            let x = self.place(field, mm, 0.0).x;
            let foot = pos2(x, field.bottom());
            painter.line_segment([foot, foot + vec2(0.0, 6.0)], Stroke::new(1.5, theme::EDGE));
            let text = format!("{mm:.1}");
            // Numbers at the ends stay within their field, clear of the next one's.
            let (align, x) = if x < field.left() + 12.0 {
                (Align2::LEFT_TOP, field.left())
            } else if x > field.right() - 12.0 {
                (Align2::RIGHT_TOP, field.right())
            } else {
                (Align2::CENTER_TOP, x)
            };
            let at = pos2(x, field.bottom() + 8.0);
            painter.text(at, align, text, font.clone(), theme::INK);
        }
        painter.text(
            pos2(field.center().x, field.bottom() + 32.0),
            Align2::CENTER_TOP,
            "thickness, mm",
            font,
            theme::INK,
        );
    }

    fn shade_axis(&self, painter: &Painter, field: Rect) {
        let font = FontId::proportional(AXIS_PT);
        let mut free_below = f32::INFINITY;
        for shade in &self.chart.axes.shades {
            let foot = pos2(field.left(), self.place(field, 0.0, shade.l).y);
            painter.line_segment([foot, foot - vec2(6.0, 0.0)], Stroke::new(1.5, theme::EDGE));
            if foot.y + 11.0 > free_below {
                continue;
            }
            free_below = foot.y - 11.0;
            let text = format!("L{:.0}", shade.l);
            painter.text(
                foot - vec2(9.0, 0.0),
                Align2::RIGHT_CENTER,
                text,
                font.clone(),
                theme::INK,
            );
        }
        painter.text(
            pos2(field.left() - 9.0, field.top() - TITLE_HEIGHT / 2.0),
            Align2::RIGHT_CENTER,
            self.chart.colour.map_or_else(|| "shade".to_owned(), chroma_and_hue),
            FontId::proportional(AXIS_PT - 2.0),
            theme::INK,
        );
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

/// `C15 h90`.
fn chroma_and_hue(colour: Lch) -> String {
    let name = colour.name();
    name.split_once(' ').map_or_else(|| name.clone(), |(_, rest)| rest.to_owned())
}

fn name_of(translucency: Translucency) -> &'static str {
    match translucency {
        Translucency::Low => "Low translucency",
        Translucency::Medium => "Medium translucency",
        Translucency::High => "High translucency",
    }
}

fn reading_in_words(reading: &Reading) -> String {
    let difference = &reading.difference;
    let size = difference.dl00;
    let value = if is_nothing(size) {
        "value as the tooth's".to_owned()
    } else {
        format!("ΔL00 {}, {}", signed(size), Part::Value.too(size))
    };
    format!(
        "{:.2} mm of {}: ΔE00 {:.1}; {value}",
        reading.thickness_mm,
        reading.shade.name(),
        difference.de00
    )
}

fn cross_hair(painter: &Painter, field: Rect, at: Pos2) {
    let painter = painter.with_clip_rect(field);
    for (width, colour) in [(4.0, theme::INK), (1.5, theme::PAPER)] {
        let stroke = Stroke::new(width, colour);
        painter.hline(field.x_range(), at.y, stroke);
        painter.vline(at.x, field.y_range(), stroke);
    }
}

/// The scale of colour to the right of the last field.
fn legend(painter: &Painter, field: Rect) {
    let bar = Rect::from_min_max(
        pos2(field.right() + 18.0, field.top() + 12.0),
        pos2(field.right() + 38.0, field.bottom() - 12.0),
    );
    let height = |de00: f64| bar.bottom() - bar.height() * (de00 / END_DE00) as f32;
    const STEPS: usize = 96;
    for step in 0..STEPS {
        let share = (step as f64 + 0.5) / STEPS as f64;
        let [r, g, b] = scale_colour(share);
        let (low, high) = (
            height(END_DE00 * step as f64 / STEPS as f64),
            height(END_DE00 * (step + 1) as f64 / STEPS as f64),
        );
        let strip = Rect::from_min_max(pos2(bar.left(), high - 0.5), pos2(bar.right(), low));
        painter.rect_filled(strip, 0.0, Color32::from_rgb(r, g, b));
    }
    painter.rect_stroke(bar, 0.0, Stroke::new(1.0, theme::EDGE), StrokeKind::Outside);
    let font = FontId::proportional(AXIS_PT - 1.0);
    let marks = [
        (0.0, "0".to_owned()),
        (PERCEPTIBILITY_DE00, format!("{PERCEPTIBILITY_DE00:.1}")),
        (ACCEPTABILITY_DE00, format!("{ACCEPTABILITY_DE00:.1}")),
        (4.0, "4".to_owned()),
        (END_DE00, format!("{END_DE00:.0}+")),
    ];
    for (de00, text) in marks {
        let at = pos2(bar.right(), height(de00));
        painter.line_segment([at, at + vec2(5.0, 0.0)], Stroke::new(1.5, theme::INK));
        painter.text(at + vec2(8.0, 0.0), Align2::LEFT_CENTER, text, font.clone(), theme::INK);
    }
    painter.text(
        pos2(bar.left(), field.top() - TITLE_HEIGHT / 2.0),
        Align2::LEFT_CENTER,
        "ΔE00",
        FontId::proportional(AXIS_PT),
        theme::INK,
    );
}
