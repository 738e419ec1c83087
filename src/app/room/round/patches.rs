//! Patches to be ordered and tabs to be matched, drawn flat: their colours are the task.

use crate::app::ui::hand::{Drag, activated, drags};
use crate::app::ui::said;
use crate::app::ui::theme;

use crate::colorimetry::{Lab, to_display_8bit};
use crate::exercise::{LadderTask, MatchTask, Tab};
use crate::play::answer::{LadderDraft, MatchDraft};
use crate::play::intents::Intent;
use crate::play::intents::{Act, ExerciseIntent};
use crate::play::keys::with_digit;
use crate::trial::InputDevice;
use bevy_egui::egui::{
    self, Align2, Color32, FontId, Mesh, Pos2, Rect, Sense, Shape, Stroke, StrokeKind, Ui,
    WidgetInfo, WidgetType, pos2, vec2,
};

/// Height of the strip of tabs, points.
pub(crate) const STRIP_HEIGHT: f32 = 150.0;
/// Steps of a tab's gradient.
const STEPS: usize = 60;

/// A colour as the screen shows it, in value alone if wanted.
fn colour(linear: [f64; 3], value_only: bool) -> Color32 {
    let linear = if value_only {
        let lightness = Lab::from_linear_srgb(linear).l;
        Lab { l: lightness, a: 0.0, b: 0.0 }.to_linear_srgb()
    } else {
        linear
    };
    let [r, g, b] = to_display_8bit(linear);
    Color32::from_rgb(r, g, b)
}

/// The patches in the order given so far.
pub(crate) fn ladder(
    ui: &mut Ui,
    area: Rect,
    draft: &LadderDraft,
    task: &LadderTask,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let count = draft.order.len();
    let places = row(area, count, area.center().y);
    let font = FontId::proportional(theme::BODY_PT);
    let text = |at: Pos2, anchor, words: &str| {
        said::text(ui.painter(), at, anchor, words, font.clone(), theme::INK);
    };
    if let (Some(first), Some(last)) = (places.first(), places.last()) {
        text(first.left_top() - vec2(0.0, 14.0), Align2::LEFT_BOTTOM, "lightest");
        text(last.right_top() - vec2(0.0, 14.0), Align2::RIGHT_BOTTOM, "darkest");
    }
    let at_place = |at: Pos2| places.iter().position(|rect| rect.contains(at));
    let drags = drags(ui, egui::Id::new("patches"), |at| at_place(at).is_some());
    // A dragged patch follows the pointer; the others stay until it is let go.
    let dragged = drags.under_way.and_then(|drag| Some((at_place(drag.from)?, drag.by().x)));
    let mut carried = None;
    for (place, rect) in places.iter().enumerate() {
        let Some(patch) = draft.order.get(place).and_then(|patch| task.patches.get(*patch)) else {
            continue;
        };
        let id = egui::Id::new(("patch", draft.order[place]));
        let response = ui.interact(*rect, id, Sense::click());
        let held = draft.held && place == draft.cursor;
        response.widget_info(|| {
            let state = if held { ", picked up" } else { "" };
            let label = format!("patch in place {} of {count}{state}", place + 1);
            WidgetInfo::labeled(WidgetType::Button, true, with_digit(&label, place))
        });
        let shift = dragged.filter(|(from, _)| *from == place).map(|(_, shift)| shift);
        let lift = if held { -14.0 } else { 0.0 };
        let drawn = rect.translate(vec2(shift.unwrap_or(0.0), lift));
        let fill = colour(patch.linear, false);
        if shift.is_some() {
            carried = Some((drawn, fill));
        } else {
            ui.painter().rect_filled(drawn, 0.0, fill);
        }
        if place == draft.cursor {
            let mark = rect.center_bottom() + vec2(0.0, 14.0);
            let corners = vec![mark, mark + vec2(-9.0, 14.0), mark + vec2(9.0, 14.0)];
            let stroke = Stroke::new(2.0, theme::INK);
            ui.painter().add(Shape::convex_polygon(corners, theme::PAPER, stroke));
        }
        if response.has_focus() {
            theme::focus_ring(ui.painter(), *rect);
        }
        let digit = rect.center_bottom() + vec2(0.0, 32.0);
        text(digit, Align2::CENTER_TOP, &(place + 1).to_string());
        // What the pointer does is read from where it went down and up.
        if activated(&response) == Some(InputDevice::Keyboard) {
            asked.push(choose(place, InputDevice::Keyboard));
        }
    }
    if let Some((rect, fill)) = carried {
        ui.painter().rect_filled(rect, 0.0, fill);
        let stroke = Stroke::new(2.0, theme::INK);
        ui.painter().rect_stroke(rect, 0.0, stroke, StrokeKind::Outside);
    }
    let ended = drags.ended.iter();
    asked.extend(ended.filter_map(|drag| Some(let_go(drag, at_place(drag.from)?, &places))));
    asked
}

/// What a drag from a place asks for: a patch that was hardly moved is chosen.
fn let_go(drag: &Drag, from: usize, places: &[Rect]) -> Intent {
    let pitch = if places.len() > 1 { places[1].left() - places[0].left() } else { 1.0 };
    let last = places.len() as f32 - 1.0;
    let to = (from as f32 + drag.by().x / pitch).round().clamp(0.0, last) as usize;
    if to == from {
        choose(from, InputDevice::Pointer)
    } else {
        Intent::Exercise(ExerciseIntent::Carry(from, to))
    }
}

const fn choose(place: usize, device: InputDevice) -> Intent {
    Intent::Exercise(ExerciseIntent::Act(Act::Choose(place), device))
}

/// Squares in a row about a height.
fn row(area: Rect, count: usize, y: f32) -> Vec<Rect> {
    let count_f = count.max(1) as f32;
    let pitch = ((area.width() - 80.0) / count_f).min(170.0);
    let side = (pitch - 14.0).min(area.height() - 120.0).max(24.0);
    let left = area.center().x - pitch * count_f / 2.0;
    (0..count)
        .map(|k| Rect::from_center_size(pos2(left + pitch * (k as f32 + 0.5), y), vec2(side, side)))
        .collect()
}

/// The order given above the true order, for the debrief.
pub(crate) fn orders(ui: &Ui, area: Rect, given: &[usize], task: &LadderTask, value_only: bool) {
    let half = area.height() / 2.0;
    let truth = task.true_order();
    for (index, (name, order)) in
        [("Your order", given), ("By value", &truth[..])].iter().enumerate()
    {
        let part = Rect::from_min_size(
            area.min + vec2(0.0, half * index as f32),
            vec2(area.width(), half),
        );
        let places = row(part, order.len(), part.center().y);
        let stretched = (part.height() - 66.0).max(24.0);
        for (rect, patch) in places.iter().zip(order.iter()) {
            let Some(colours) = task.patches.get(*patch) else { continue };
            let rect = Rect::from_center_size(
                pos2(rect.center().x, part.center().y + 6.0),
                vec2(rect.width().max(60.0), stretched),
            );
            ui.painter().rect_filled(rect, 0.0, colour(colours.linear, value_only));
            let font = FontId::proportional(15.0);
            // The number that sentences call it by: its place in the order given.
            let number = given.iter().position(|g| g == patch).map_or(0, |place| place + 1);
            let words = format!("{number}:  L* {:.1}", colours.colour.l);
            let at = rect.center_bottom() + vec2(0.0, 3.0);
            said::text(ui.painter(), at, Align2::CENTER_TOP, &words, font, theme::INK);
        }
        if let Some(first) = places.first() {
            let at = pos2(first.left(), part.top() + 4.0);
            let font = FontId::proportional(theme::BODY_PT);
            said::text(ui.painter(), at, Align2::LEFT_TOP, name, font, theme::INK);
        }
    }
}

/// The tabs below the smile. One that is dragged follows the pointer, to be held beside the tooth; let
/// go up there, it is chosen.
pub(crate) fn tabs(
    ui: &mut Ui,
    area: Rect,
    draft: &MatchDraft,
    task: &MatchTask,
    value_only: bool,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let count = task.tabs.len().max(1) as f32;
    let pitch = ((area.width() - 40.0) / count).min(92.0);
    let left = area.center().x - pitch * count / 2.0;
    let places: Vec<Rect> = (0..task.tabs.len())
        .map(|index| {
            Rect::from_min_size(
                pos2(left + pitch * index as f32 + 6.0, area.top() + 14.0),
                vec2(pitch - 12.0, area.height() - 48.0),
            )
        })
        .collect();
    let at_place = |at: Pos2| places.iter().position(|rect| rect.contains(at));
    let drags = drags(ui, egui::Id::new("tabs"), |at| at_place(at).is_some());
    let dragged = drags.under_way.and_then(|drag| Some((at_place(drag.from)?, drag.by())));
    for (index, (tab, rect)) in task.tabs.iter().zip(&places).enumerate() {
        let rect = *rect;
        let response = ui.interact(rect, egui::Id::new(("tab", index)), Sense::click());
        let chosen = draft.chosen.contains(&index);
        response.widget_info(|| {
            let label = with_digit(&format!("tab {}", index + 1), index);
            WidgetInfo::selected(WidgetType::SelectableLabel, true, chosen, label)
        });
        if dragged.is_none_or(|(from, _)| from != index) {
            tooth_shape(ui, rect, |height| colour(along(tab, height), value_only));
        }
        if index == draft.cursor {
            let ring = rect.expand2(vec2(4.0, 4.0));
            ui.painter().rect_stroke(
                ring,
                4.0,
                Stroke::new(2.0, theme::PAPER),
                StrokeKind::Outside,
            );
        }
        if response.has_focus() {
            theme::focus_ring(ui.painter(), rect);
        }
        let words = if chosen { format!("{} chosen", index + 1) } else { (index + 1).to_string() };
        let font = FontId::proportional(15.0);
        let at = rect.center_bottom() + vec2(0.0, 8.0);
        said::text(ui.painter(), at, Align2::CENTER_TOP, &words, font, theme::INK);
        // What the pointer does is read from where it went down and up.
        if activated(&response) == Some(InputDevice::Keyboard) {
            asked.extend([choose(index, InputDevice::Keyboard), tick(InputDevice::Keyboard)]);
        }
    }
    if let Some((tab, by)) = dragged
        && let Some(rect) = places.get(tab)
    {
        let colours = &task.tabs[tab];
        tooth_shape(ui, rect.translate(by), |h| colour(along(colours, h), value_only));
    }
    for drag in drags.ended {
        let Some(tab) = at_place(drag.from) else { continue };
        asked.push(choose(tab, InputDevice::Pointer));
        let is_held_up = drag.to.y < area.top();
        if at_place(drag.to) == Some(tab) || (is_held_up && !draft.chosen.contains(&tab)) {
            asked.push(tick(InputDevice::Pointer));
        }
    }
    asked
}

const fn tick(device: InputDevice) -> Intent {
    Intent::Exercise(ExerciseIntent::Act(Act::Tick, device))
}

/// A tab's colour at a height, 0 at the neck to 1 at the edge, straight between its thirds.
fn along(tab: &Tab, height: f64) -> [f64; 3] {
    between(&tab.linear, height)
}

fn between(thirds: &[[f64; 3]; 3], height: f64) -> [f64; 3] {
    // The thirds' middles lie at a sixth, a half and five sixths.
    let place = (3.0 * height - 0.5).clamp(0.0, 2.0);
    let low = (place.floor() as usize).min(1);
    let share = place - low as f64;
    std::array::from_fn(|c| thirds[low][c] + share * (thirds[low + 1][c] - thirds[low][c]))
}

/// The target beside the tabs, the nearest first, for the debrief: each tab touches the target.
pub(crate) fn compared(ui: &Ui, area: Rect, task: &MatchTask, chosen: &[usize], value_only: bool) {
    let target = task.target.map(|lab| lab.to_linear_srgb());
    let mut order: Vec<usize> = (0..task.tabs.len()).collect();
    order.sort_by(|&a, &b| task.tabs[a].difference.de00.total_cmp(&task.tabs[b].difference.de00));
    let count = order.len().max(1) as f32;
    let pitch = ((area.width() - 60.0) / count).min(150.0);
    let left = area.center().x - pitch * count / 2.0;
    let font = FontId::proportional(15.0);
    let height = (area.height() - 110.0).clamp(60.0, 220.0);
    for (place, tab) in order.iter().enumerate() {
        let rect = Rect::from_center_size(
            pos2(left + pitch * (place as f32 + 0.5), area.center().y),
            vec2(pitch - 10.0, height),
        );
        let half = vec2(rect.width() / 2.0, rect.height());
        let strips = [
            (Rect::from_min_size(rect.min, half), target),
            (Rect::from_min_size(rect.min + vec2(half.x, 0.0), half), task.tabs[*tab].linear),
        ];
        for (strip, thirds) in strips {
            gradient(ui, strip, |_| 1.0, |h| colour(between(&thirds, h), value_only));
        }
        let words = format!("{}{}", tab + 1, if chosen.contains(tab) { ", chosen" } else { "" });
        let text = |at: Pos2, anchor, words: &str| {
            said::text(ui.painter(), at, anchor, words, font.clone(), theme::INK);
        };
        text(rect.center_bottom() + vec2(0.0, 6.0), Align2::CENTER_TOP, &words);
        let far = format!("{:.1}", task.tabs[*tab].difference.de00);
        text(rect.center_bottom() + vec2(0.0, 24.0), Align2::CENTER_TOP, &far);
    }
    let font = FontId::proportional(theme::BODY_PT);
    let at = pos2(area.center().x, area.center().y - height / 2.0 - 10.0);
    let words = "The target on each left half, the tab on the right, nearest first; below, its number and ΔE00";
    let galley = ui.painter().layout(words.to_owned(), font, theme::INK, area.width() - 16.0);
    let place = Align2::CENTER_BOTTOM.anchor_size(at, galley.size());
    said::galley(ui.painter(), place.min, galley, theme::INK);
}

/// A front tooth in the simplest form.
fn tooth_shape(ui: &Ui, rect: Rect, colour: impl Fn(f64) -> Color32) {
    let width = |height: f64| {
        let body = 0.72 + 0.28 * (height / 0.7).min(1.0);
        let neck = (1.0 - ((0.12 - height) / 0.12).max(0.0).powi(2)).max(0.0).sqrt();
        let edge = (1.0 - ((height - 0.94) / 0.06).max(0.0).powi(2) * 0.35).max(0.0);
        body * neck * edge
    };
    gradient(ui, rect, width, colour);
}

/// Horizontal strips of one colour each, of a relative width, from the neck down.
fn gradient(ui: &Ui, rect: Rect, width: impl Fn(f64) -> f64, colour: impl Fn(f64) -> Color32) {
    let mut mesh = Mesh::default();
    let y = |step: usize| rect.top() + rect.height() * step as f32 / STEPS as f32;
    let half = |step: usize| 0.5 * rect.width() * width(step as f64 / STEPS as f64) as f32;
    for step in 0..STEPS {
        let fill = colour((step as f64 + 0.5) / STEPS as f64);
        let base = mesh.vertices.len() as u32;
        for (edge, x) in [
            (step, -half(step)),
            (step, half(step)),
            (step + 1, half(step + 1)),
            (step + 1, -half(step + 1)),
        ] {
            mesh.colored_vertex(pos2(rect.center().x + x, y(edge)), fill);
        }
        mesh.add_triangle(base, base + 1, base + 2);
        mesh.add_triangle(base, base + 2, base + 3);
    }
    ui.painter().add(Shape::mesh(mesh));
}
