//! Shows a picture at one picture pixel per screen pixel, and what is drawn over it.

use crate::app::ui::theme;
use bevy_egui::egui::{
    Align2, Color32, FontId, Pos2, Rect, Sense, Shape, Stroke, TextureId, Ui, Vec2, WidgetInfo,
    WidgetType, pos2, vec2,
};

/// From this height on, chart or layers and the form of the bench fit the window together, points.
pub const ROOM_FOR_BOTH: f32 = 640.0;

/// Height kept free under the picture for the answer row, points.
pub const ANSWER_AREA_HEIGHT: f32 = 150.0;

/// An outline over the picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay {
    /// Closed polygon in picture pixels.
    pub polygon: Vec<[f32; 2]>,
    /// Words beside it.
    pub label: String,
    /// Dashed instead of solid, so that two kinds of outline differ without colour.
    pub dashed: bool,
}

/// The largest whole zoom at which a picture of this size fits `area`; at least 1.
#[must_use]
pub fn largest_zoom(size_px: [u32; 2], area: Rect, pixels_per_point: f32) -> u32 {
    let fits = |area_pt: f32, px: u32| (area_pt * pixels_per_point / px.max(1) as f32) as u32;
    fits(area.width(), size_px[0]).min(fits(area.height(), size_px[1])).max(1)
}

/// A picture with outlines.
#[derive(Debug, Clone, Copy)]
pub struct PictureView<'a> {
    /// The uploaded picture.
    pub texture: TextureId,
    /// Its size, pixels.
    pub size_px: [u32; 2],
    /// The picture row that should lie in the middle when the area is lower than the picture.
    pub centre_row: f32,
    /// Screen pixels per picture pixel, each way. Whole, so that no colours mix.
    pub zoom: u32,
    /// Outlines, in drawing order.
    pub overlays: &'a [Overlay],
    /// What assistive technology says.
    pub description: &'a str,
}

/// The size in physical pixels of the picture for a window of `width`×`height` physical pixels
/// at `pixels_per_point`: the whole width, and what the answer row leaves.
#[must_use]
pub fn picture_area_pixels(width: u32, height: u32, pixels_per_point: f32) -> [u32; 2] {
    let reserved = (ANSWER_AREA_HEIGHT * pixels_per_point).round() as u32;
    [width.max(16), height.saturating_sub(reserved).max(16)]
}

impl PictureView<'_> {
    /// Draws the picture centred in `area`, clipped to it and never filtered: that would mix
    /// neighbouring colours. Returns where it lies.
    pub fn show(&self, ui: &mut Ui, area: Rect) -> Rect {
        let scale = ui.pixels_per_point() / self.zoom.max(1) as f32;
        let size = vec2(self.size_px[0] as f32, self.size_px[1] as f32) / scale;
        let spare = area.height() - size.y;
        let top = if spare >= 0.0 {
            area.top() + spare / 2.0
        } else {
            (area.center().y - self.centre_row / scale).clamp(area.bottom() - size.y, area.top())
        };
        let corner = pos2(area.center().x - size.x / 2.0, top);
        let place = Rect::from_min_size(snap(corner, ui.pixels_per_point()), size);
        let response = ui.interact(area, ui.id().with("picture"), Sense::hover());
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Image, true, self.in_words()));
        let painter = ui.painter().with_clip_rect(area);
        let whole = Rect::from_min_max(Pos2::ZERO, pos2(1.0, 1.0));
        painter.image(self.texture, place, whole, Color32::WHITE);
        for overlay in self.overlays {
            draw_overlay(&painter, place.min.to_vec2(), scale, overlay);
        }
        place
    }
}

impl PictureView<'_> {
    /// The picture and what is outlined on it.
    fn in_words(&self) -> String {
        let labels: Vec<&str> = self.overlays.iter().map(|o| o.label.as_str()).collect();
        if labels.is_empty() {
            self.description.to_owned()
        } else {
            format!("{}; outlined: {}", self.description, labels.join(", "))
        }
    }
}

/// Whole physical pixels, so that picture pixels fall on screen pixels.
fn snap(point: Pos2, scale: f32) -> Pos2 {
    pos2((point.x * scale).round() / scale, (point.y * scale).round() / scale)
}

fn draw_overlay(painter: &bevy_egui::egui::Painter, origin: Vec2, scale: f32, overlay: &Overlay) {
    let mut points: Vec<Pos2> =
        overlay.polygon.iter().map(|[x, y]| pos2(x / scale, y / scale) + origin).collect();
    let Some(first) = points.first().copied() else { return };
    let highest = points.iter().map(|point| point.y).fold(f32::INFINITY, f32::min);
    let middle = points.iter().map(|point| point.x).sum::<f32>() / points.len() as f32;
    points.push(first);
    // A dark line under a light one shows on enamel, gum and shadow alike.
    for (width, colour) in [(5.0, theme::INK), (2.0, theme::PAPER)] {
        let stroke = Stroke::new(width, colour);
        if overlay.dashed {
            painter.extend(Shape::dashed_line(&points, stroke, 7.0, 6.0));
        } else {
            painter.add(Shape::line(points.clone(), stroke));
        }
    }
    let font = FontId::proportional(16.0);
    let anchor = pos2(middle, (highest - 12.0).max(painter.clip_rect().top() + 26.0));
    let galley = painter.layout_no_wrap(overlay.label.clone(), font, theme::INK);
    let plate = Align2::CENTER_BOTTOM.anchor_size(anchor, galley.size());
    // A tooth at the side does not push its label out of the picture.
    let room = painter.clip_rect().shrink2(vec2(8.0, 0.0));
    let inwards = (room.left() - plate.left()).max(0.0) - (plate.right() - room.right()).max(0.0);
    let plate = plate.translate(vec2(inwards, 0.0));
    painter.rect_filled(plate.expand2(vec2(7.0, 2.0)), 3.0, theme::SURFACE);
    painter.galley(plate.min, galley, theme::INK);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zoom_is_whole_and_fits() {
        let area = Rect::from_min_size(Pos2::ZERO, vec2(1000.0, 400.0));
        assert_eq!(largest_zoom([200, 150], area, 1.0), 2);
        assert_eq!(largest_zoom([200, 150], area, 2.0), 5);
        assert_eq!(largest_zoom([2000, 150], area, 1.0), 1);
    }

    #[test]
    fn the_picture_leaves_room_for_the_answer_row() {
        assert_eq!(picture_area_pixels(1024, 640, 1.0), [1024, 490]);
        assert_eq!(picture_area_pixels(2048, 1280, 2.0), [2048, 980]);
        // A window lower than the row still gives a picture that can be allocated.
        assert_eq!(picture_area_pixels(200, 100, 1.0), [200, 16]);
    }
}
