//! Words painted over a picture or at a place of their own, said to screen readers as well.
//!
//! What egui lays out itself it says by itself; what is painted is only seen. Painted words within a
//! control or a chart are part of what that says as a whole; all others go through here.

use bevy_egui::egui::accesskit::{self, Node, Role};
use bevy_egui::egui::{Align2, Color32, FontId, Galley, Id, Painter, Pos2, Rect};
use std::sync::Arc;

/// Says words that lie here. Nothing is done where nobody reads.
pub fn said(painter: &Painter, place: Rect, words: &str) {
    node(painter, place, |node| {
        node.set_role(Role::Label);
        node.set_value(words);
    });
}

fn node(painter: &Painter, place: Rect, write: impl FnOnce(&mut Node)) {
    let corner = [place.min.x, place.min.y].map(f32::to_bits);
    let id = Id::new(("said", painter.layer_id(), corner));
    painter.ctx().accesskit_node_builder(id, |node| {
        write(node);
        let [x0, y0, x1, y1] = [place.min.x, place.min.y, place.max.x, place.max.y].map(f64::from);
        node.set_bounds(accesskit::Rect { x0, y0, x1, y1 });
    });
}

/// Says what a picture painted here is of.
pub fn picture(painter: &Painter, place: Rect, description: &str) {
    node(painter, place, |node| {
        node.set_role(Role::Image);
        node.set_label(description);
    });
}

/// Paints words and says them. Returns where they lie.
pub fn text(
    painter: &Painter,
    at: Pos2,
    anchor: Align2,
    words: &str,
    font: FontId,
    colour: Color32,
) -> Rect {
    let place = painter.text(at, anchor, words, font, colour);
    said(painter, place, words);
    place
}

/// Paints words that were laid out, their upper left corner here, and says them.
pub fn galley(painter: &Painter, at: Pos2, galley: Arc<Galley>, colour: Color32) {
    said(painter, galley.rect.translate(at.to_vec2()), galley.text());
    painter.galley(at, galley, colour);
}
