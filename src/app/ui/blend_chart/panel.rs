//! One panel: the field in colours, lines of equal difference, what was tried.

use crate::app::ui::blend_chart::scales::{AXIS_PT, END_DE00, GAP, Scales, TITLE_HEIGHT};
use crate::app::ui::blend_chart::words::name_of;
use crate::app::ui::theme;
use crate::chart::{Isoline, Panel};
use crate::play::picture::aids::scale_colour;
use bevy_egui::egui::{
    Align2, Color32, FontId, Mesh, Painter, Pos2, Rect, Shape, Stroke, StrokeKind, pos2, vec2,
};

/// Points of the painted field between nodes, along either axis.
const FINER: usize = 5;
const TITLE_PT: f32 = 22.0;

impl Scales<'_> {
    pub(super) fn draw_panel(&self, painter: &Painter, panel: &Panel, field: Rect, first: bool) {
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
}
