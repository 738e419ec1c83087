//! A line to be pointed at: a size, or a place between two.

use crate::app::ui::hand::activated;
use crate::app::ui::said;
use crate::app::ui::theme;
use bevy_egui::egui::{Align2, FontId, Sense, Shape, Stroke, Ui, WidgetInfo, pos2, vec2};

/// A line with words at its ends and a mark at `share` of it; where it was pressed or dragged to.
pub(super) fn line(
    ui: &mut Ui,
    width: f32,
    share: f64,
    (low, high): (&str, &str),
    label: &str,
) -> Option<f64> {
    let (rect, response) = ui.allocate_exact_size(vec2(width, 40.0), Sense::click_and_drag());
    response.widget_info(|| WidgetInfo::slider(true, share, label));
    let y = rect.top() + 12.0;
    let (left, right) = (rect.left() + 10.0, rect.right() - 10.0);
    let at = |share: f64| pos2(left + (right - left) * share as f32, y);
    let painter = ui.painter();
    painter.line_segment([at(0.0), at(1.0)], Stroke::new(2.0, theme::EDGE));
    for step in 0..=10 {
        let half = if step % 5 == 0 { 8.0 } else { 4.0 };
        let place = at(f64::from(step) / 10.0);
        let ends = [place - vec2(0.0, half), place + vec2(0.0, half)];
        painter.line_segment(ends, Stroke::new(1.0, theme::EDGE));
    }
    let font = FontId::proportional(14.0);
    let below = rect.bottom() - 14.0;
    said::text(painter, pos2(left, below), Align2::LEFT_TOP, low, font.clone(), theme::INK);
    said::text(painter, pos2(right, below), Align2::RIGHT_TOP, high, font, theme::INK);
    let middle = at(share.clamp(0.0, 1.0));
    let corners = [vec2(0.0, -10.0), vec2(9.0, 0.0), vec2(0.0, 10.0), vec2(-9.0, 0.0)];
    let corners = corners.map(|corner| middle + corner).to_vec();
    painter.add(Shape::convex_polygon(corners, theme::PAPER, Stroke::new(2.0, theme::INK)));
    if response.has_focus() {
        theme::focus_ring(painter, rect);
    }
    // The last move of a drag may come in the frame of its release.
    if activated(&response).is_some() || response.dragged() || response.drag_stopped() {
        let pointer = response.interact_pointer_pos()?;
        return Some(f64::from((pointer.x - left) / (right - left)).clamp(0.0, 1.0));
    }
    None
}
