//! The smile in view, marks on it, and the sheet of small smiles.

use super::drawn::{Drawn, QUIET_S};
use crate::app::picture::textures::{Content, sheet_columns};
use crate::app::ui::hand::activated;
use crate::app::ui::picture_view::{PictureView, largest_zoom};
use crate::app::ui::said;
use crate::app::ui::scale_legend::scale_legend;
use crate::app::ui::theme;
use crate::play::intents::Intent;
use crate::play::intents::{Act, ExerciseIntent};
use crate::play::keys::{digit_of, with_digit};
use crate::play::picture::PreparedScene;
use crate::play::view::Look;
use crate::scene::Tooth;
use bevy_egui::egui::{
    self, Align2, Color32, FontId, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Ui, WidgetInfo,
    WidgetType, pos2, vec2,
};

/// Draws the smile in view, or says that it is being made.
pub(crate) fn show(ui: &mut Ui, area: Rect, drawn: Drawn<'_>) {
    let exercising = drawn.exercising;
    let is_debrief = exercising.may_compare();
    let sights = exercising.sights();
    let Some(prepared) = exercising.shown(drawn.preparation) else {
        if !sights.is_empty() && exercising.waited_s() > QUIET_S {
            words(ui, area, drawn.preparation.step_in_words());
        }
        return;
    };
    let name = sights.get(exercising.in_view()).map_or("", |sight| sight.name.as_str());
    let Some(content) = Content::in_question(drawn.view, is_debrief) else { return };
    let Some((texture, map_end_de00)) = drawn.textures.of(prepared, content) else { return };
    let crop = matches!(content, Content::SideBySide | Content::SideBySideValue);
    let middle =
        if crop { texture.size_px[1] as f32 / 2.0 } else { prepared.restored.middle_row() };
    let zoom = if crop { largest_zoom(texture.size_px, area, ui.pixels_per_point()) } else { 1 };
    let description = description(name, content);
    let place = PictureView {
        texture: texture.id,
        size_px: texture.size_px,
        centre_row: middle,
        zoom,
        overlays: &[],
        description: &description,
    }
    .show(ui, area);
    if drawn.view.outlines && !crop && content != Content::Map {
        point_at(ui, area, place, prepared, &exercising.teeth());
    }
    if content == Content::Map {
        let corner = area.right_bottom() - vec2(16.0, 8.0);
        scale_legend(ui, corner, map_end_de00);
    }
    let at = area.left_bottom() + vec2(20.0, -10.0);
    plate(ui, at, Align2::LEFT_BOTTOM, &caption(name, content, drawn));
    if !exercising.is_up_to_date(drawn.preparation) && exercising.waited_s() > QUIET_S {
        let at = area.right_bottom() + vec2(-20.0, -10.0);
        plate(ui, at, Align2::RIGHT_BOTTOM, drawn.preparation.step_in_words());
    }
}

fn description(name: &str, content: Content) -> String {
    match content {
        Content::Map => format!("map of the difference between {name} and its natural twin"),
        Content::SideBySide | Content::SideBySideValue => {
            format!("{name} on the left, its natural twin on the right")
        }
        Content::Twin | Content::TwinValue => "the smile with the tooth left natural".to_owned(),
        _ => format!("the smile: {name}"),
    }
}

fn caption(name: &str, content: Content, drawn: Drawn<'_>) -> String {
    let words = match content {
        Content::Twin | Content::TwinValue => "Natural twin".to_owned(),
        Content::Map => format!("{name}: difference from the natural twin"),
        Content::SideBySide | Content::SideBySideValue => {
            format!("{name} (left), natural twin (right)")
        }
        _ => name.to_owned(),
    };
    let value = match drawn.view.look {
        Look::Map => "",
        _ if drawn.view.value_only => ", value only",
        _ => "",
    };
    format!("{words}{value}")
}

/// Arrowheads above the teeth that the question is about.
fn point_at(ui: &Ui, area: Rect, place: Rect, prepared: &PreparedScene, teeth: &[Tooth]) {
    let scale = ui.pixels_per_point();
    let painter = ui.painter().with_clip_rect(area);
    for outline in prepared.restored.outlines.iter().filter(|o| teeth.contains(&o.tooth)) {
        let points: Vec<Pos2> =
            outline.polygon.iter().map(|[x, y]| place.min + vec2(x / scale, y / scale)).collect();
        let Some(first) = points.first() else { continue };
        let bounds = points.iter().fold(Rect::from_min_max(*first, *first), |all, point| {
            all.union(Rect::from_min_max(*point, *point))
        });
        let tip = pos2(bounds.center().x, (bounds.top() - 8.0).max(area.top() + 20.0));
        let corners = vec![tip, tip + vec2(-8.0, -14.0), tip + vec2(8.0, -14.0)];
        painter.add(Shape::convex_polygon(corners, theme::PAPER, Stroke::new(2.0, theme::INK)));
    }
}

/// All options as small smiles; a click shows one large.
pub(crate) fn sheet(ui: &mut Ui, area: Rect, drawn: Drawn<'_>) -> Vec<Intent> {
    let mut asked = Vec::new();
    let sights = drawn.exercising.sights();
    let content = Content::small(sights.len(), drawn.view.value_only);
    let columns = sheet_columns(sights.len()) as usize;
    let rows = sights.len().div_ceil(columns).max(1);
    let pitch = vec2(area.width() / columns as f32, area.height() / rows as f32);
    for (index, sight) in sights.iter().enumerate() {
        let corner =
            area.min + vec2(pitch.x * (index % columns) as f32, pitch.y * (index / columns) as f32);
        let cell = Rect::from_min_size(corner, pitch).shrink(2.0);
        let response = ui.interact(cell, egui::Id::new(("small smile", index)), Sense::click());
        let label = with_digit(&sight.name, index);
        response.widget_info(|| WidgetInfo::labeled(WidgetType::Button, true, &label));
        let texture = drawn
            .preparation
            .latest(&sight.case)
            .and_then(|prepared| drawn.textures.of(prepared, content));
        if let Some((texture, _)) = texture {
            let scale = ui.pixels_per_point();
            let size = vec2(texture.size_px[0] as f32, texture.size_px[1] as f32) / scale;
            let snap = |v: f32| (v * scale).round() / scale;
            let corner = cell.center() - size / 2.0;
            let place = Rect::from_min_size(pos2(snap(corner.x), snap(corner.y)), size);
            let whole = Rect::from_min_max(Pos2::ZERO, pos2(1.0, 1.0));
            let painter = ui.painter().with_clip_rect(cell);
            painter.image(texture.id, place, whole, Color32::WHITE);
        }
        if index == drawn.exercising.in_view() {
            let stroke = Stroke::new(3.0, theme::PAPER);
            ui.painter().rect_stroke(cell, 2.0, stroke, StrokeKind::Inside);
        }
        if response.has_focus() {
            theme::focus_ring(ui.painter(), cell.shrink(6.0));
        }
        let digit = digit_of(index);
        // "Option 3" says its digit already.
        let words = if sight.name.ends_with(digit) {
            sight.name.clone()
        } else {
            format!("{digit}  {}", sight.name)
        };
        plate(ui, cell.left_bottom() + vec2(14.0, -8.0), Align2::LEFT_BOTTOM, &words);
        if let Some(device) = activated(&response) {
            let act = ExerciseIntent::Act(Act::Choose(index), device);
            asked.push(Intent::Exercise(act));
        }
    }
    asked
}

/// Which question this is, on the picture's upper left.
pub(crate) fn prompt(ui: &Ui, area: Rect, text: &str) {
    plate(ui, area.left_top() + vec2(20.0, 12.0), Align2::LEFT_TOP, text);
}

/// Words where the picture would be.
pub(crate) fn words(ui: &Ui, area: Rect, text: &str) {
    let font = FontId::proportional(theme::BODY_PT);
    said::text(ui.painter(), area.center(), Align2::CENTER_CENTER, text, font, theme::INK);
}

/// Words on a plate over the picture.
pub(crate) fn plate(ui: &Ui, at: Pos2, anchor: Align2, words: &str) {
    if words.is_empty() {
        return;
    }
    let font = FontId::proportional(theme::BODY_PT);
    let galley = ui.painter().layout_no_wrap(words.to_owned(), font, theme::INK);
    let plate = anchor.anchor_size(at, galley.size());
    let room = ui.clip_rect().shrink(10.0);
    let inwards = (room.left() - plate.left()).max(0.0) - (plate.right() - room.right()).max(0.0);
    let plate = plate.translate(vec2(inwards, 0.0));
    ui.painter().rect_filled(plate.expand2(vec2(8.0, 3.0)), 3.0, theme::SURFACE);
    said::galley(ui.painter(), plate.min, galley, theme::INK);
}
