//! The form of the bench.

use super::controls::{actions, strong, views};
use super::{Drawn, pressed};
use crate::app::exercising::{Act, BenchDraft, ExerciseIntent};
use crate::app::input::Intent;
use crate::app::ui::{body, low_button, signed, small, theme};
use crate::exercise::{BenchTask, Recipe, RecipeLimits, RecipePart, Slot, translucency_name};
use bevy_egui::egui::{self, Align2, FontId, Sense, Stroke, StrokeKind, Ui, WidgetInfo, vec2};

/// Height of the form, points.
pub(super) const HEIGHT: f32 = 330.0;

const CERAMIC: [RecipePart; 7] = [
    RecipePart::Class,
    RecipePart::Translucency,
    RecipePart::Lightness,
    RecipePart::Chroma,
    RecipePart::Hue,
    RecipePart::Graded,
    RecipePart::BlockShift,
];
const SPACE: [RecipePart; 6] = [
    RecipePart::Margin,
    RecipePart::Neck,
    RecipePart::Middle,
    RecipePart::Incisal,
    RecipePart::Cement,
    RecipePart::Film,
];

pub(super) fn draw(
    ui: &mut Ui,
    draft: &BenchDraft,
    task: &BenchTask,
    drawn: Drawn<'_>,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let actions_width = (ui.available_width() * 0.28).clamp(200.0, 330.0);
    let column = ((ui.available_width() - actions_width - 40.0) / 2.0).max(200.0);
    ui.horizontal_top(|ui| {
        for parts in [&CERAMIC[..], &SPACE[..]] {
            ui.allocate_ui_with_layout(
                vec2(column, 0.0),
                egui::Layout::top_down(egui::Align::Min),
                |ui| {
                    ui.set_width(column);
                    ui.spacing_mut().item_spacing.y = 3.0;
                    for part in parts {
                        asked.extend(part_row(ui, *part, draft, &task.limits));
                    }
                    if parts.len() == SPACE.len() {
                        small(ui, &room_in_words(draft.recipe(), &task.limits));
                    }
                },
            );
            ui.add_space(8.0);
        }
        ui.vertical(|ui| {
            ui.set_width(actions_width);
            ui.spacing_mut().item_spacing.y = 4.0;
            asked.extend(right_column(ui, draft, task, drawn));
        });
    });
    asked
}

/// What was removed, less the cement: the room for ceramic.
fn room_in_words(recipe: &Recipe, limits: &RecipeLimits) -> String {
    let room = |part| limits.room_mm(part, recipe.cement_film_mm);
    format!(
        "Room for ceramic (tooth removed less {:.2} mm of cement): margin {:.2}, neck {:.2}, middle \
         {:.2}, incisal {:.2} mm",
        recipe.cement_film_mm,
        room(RecipePart::Margin),
        room(RecipePart::Neck),
        room(RecipePart::Middle),
        room(RecipePart::Incisal),
    )
}

fn value_in_words(recipe: &Recipe, part: RecipePart, limits: &RecipeLimits) -> String {
    if let (Some(value), Some(step)) = (recipe.number(part), part.step()) {
        let decimals = if step >= 1.0 { 0 } else { 2 };
        return format!("{value:.decimals$}{}", part.unit());
    }
    let ceramic = &recipe.ceramic;
    match part {
        RecipePart::Class => limits
            .classes
            .iter()
            .find(|class| class.id == ceramic.class)
            .map_or_else(|| ceramic.class.clone(), |class| class.name.clone()),
        RecipePart::Translucency => translucency_name(ceramic.translucency).to_owned(),
        RecipePart::Graded => if ceramic.graded { "graded" } else { "uniform" }.to_owned(),
        RecipePart::Cement => limits
            .cements
            .iter()
            .find(|cement| cement.id == recipe.cement)
            .map_or_else(|| recipe.cement.clone(), |cement| cement.name.clone()),
        _ => String::new(),
    }
}

/// One part: its name, one step down, its value, one step up. The one the keys are at stands out.
fn part_row(
    ui: &mut Ui,
    part: RecipePart,
    draft: &BenchDraft,
    limits: &RecipeLimits,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let width = ui.available_width();
    let (row, _) = ui.allocate_exact_size(vec2(width, 27.0), Sense::hover());
    let name = match part {
        RecipePart::Lightness => "shade, lightness",
        RecipePart::Chroma => "shade, chroma",
        RecipePart::Hue => "shade, hue",
        RecipePart::Graded => "block",
        part => part.name(),
    };
    let value = value_in_words(draft.recipe(), part, limits);
    let is_idle = part == RecipePart::BlockShift && !draft.recipe().ceramic.graded;
    if draft.part == part {
        ui.painter().rect(
            row.expand2(vec2(3.0, 1.0)),
            3.0,
            theme::CONTROL,
            Stroke::new(2.0, theme::EDGE),
            StrokeKind::Inside,
        );
    }
    let ink = if is_idle { theme::GUIDE } else { theme::INK };
    let painter = ui.painter().with_clip_rect(row);
    let text = |x: f32, anchor, words: &str| {
        let at = egui::pos2(x, row.center().y);
        painter.text(at, anchor, words, FontId::proportional(16.0), ink);
    };
    text(row.left() + 4.0, Align2::LEFT_CENTER, name);
    let names = (0.36 * width).clamp(96.0, 150.0);
    let buttons = [(row.left() + names, "\u{2212}", -1), (row.right() - 30.0, "+", 1)];
    for (left, sign, steps) in buttons {
        let rect = egui::Rect::from_min_size(egui::pos2(left, row.top() + 1.0), vec2(28.0, 25.0));
        let id = egui::Id::new(("step", part, steps));
        let response = ui.interact(rect, id, Sense::click());
        response.widget_info(|| {
            let way = if steps < 0 { "less" } else { "more" };
            let label = format!("{name} {value}, {way}");
            WidgetInfo::labeled(egui::WidgetType::Button, !is_idle, label)
        });
        let fill = if response.hovered() { theme::CONTROL_HOVER } else { theme::CONTROL };
        let stroke = Stroke::new(1.0, theme::EDGE);
        ui.painter().rect(rect, 3.0, fill, stroke, StrokeKind::Inside);
        let font = FontId::proportional(18.0);
        ui.painter().text(rect.center(), Align2::CENTER_CENTER, sign, font, ink);
        if response.has_focus() {
            theme::focus_ring(ui.painter(), rect);
        }
        if pressed(&response) && !is_idle {
            asked.push(Intent::Exercise(ExerciseIntent::Compose(part, steps)));
        }
    }
    let middle = f32::midpoint(row.left() + names + 28.0, row.right() - 30.0);
    let at = egui::pos2(middle, row.center().y);
    // Long names are made to fit.
    let room = row.right() - 34.0 - (row.left() + names + 32.0);
    let mut size = 16.0;
    let mut galley = painter.layout_no_wrap(value.clone(), FontId::proportional(size), ink);
    while galley.size().x > room && size > 11.0 {
        size -= 1.0;
        galley = painter.layout_no_wrap(value.clone(), FontId::proportional(size), ink);
    }
    let place = Align2::CENTER_CENTER.anchor_size(at, galley.size());
    painter.galley(place.min, galley, ink);
    asked
}

fn right_column(
    ui: &mut Ui,
    draft: &BenchDraft,
    task: &BenchTask,
    drawn: Drawn<'_>,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    match draft.attempts_left(task) {
        Some(left) => body(ui, &format!("{} made, {left} left", attempts(draft.attempts.len()))),
        None => body(ui, "Free play"),
    }
    if draft.awaits {
        body(ui, "Working out the attempt…");
    } else if let Some(last) = draft.attempts.last() {
        let d = last.difference;
        body(
            ui,
            &format!(
                "Attempt {}: ΔE00 {:.1}, value {}, chroma {}, hue {}",
                draft.attempts.len(),
                d.de00,
                signed(d.dl00),
                signed(d.dc00),
                signed(d.dh00)
            ),
        );
    }
    for problem in &draft.problems {
        strong(ui, &problem.to_string());
    }
    asked.extend(actions(
        ui,
        &[
            ("Try it", "Enter", Act::Confirm),
            ("Finish", "F", Act::Yes),
            ("Change the plan", "N", Act::None),
        ],
    ));
    asked.extend(actions(ui, &[("Undo", "U", Act::Undo), ("Redo", "R", Act::Redo)]));
    ui.horizontal_wrapped(|ui| {
        for (place, slot, letter) in [(0, Slot::A, "A"), (1, Slot::B, "B")] {
            let is_in_view = draft.compared == Some(slot);
            let label = match (draft.drafts.kept(slot), is_in_view) {
                (None, _) => format!("Keep as {letter}"),
                (Some(_), false) => format!("Show {letter}"),
                (Some(_), true) => format!("Leave {letter}"),
            };
            let act = match draft.drafts.kept(slot) {
                None => Act::Keep(place),
                Some(_) => Act::Compare(place),
            };
            if pressed(&low_button(ui, &label, 0.0)) {
                let act = ExerciseIntent::Act(act, super::device(ui));
                asked.push(Intent::Exercise(act));
            }
        }
        let light = if draft.other_light { "Own light  (L)" } else { "Other light  (L)" };
        if pressed(&low_button(ui, light, 0.0)) {
            let act = ExerciseIntent::Act(Act::Light, super::device(ui));
            asked.push(Intent::Exercise(act));
        }
        asked.extend(views(ui, drawn));
    });
    asked
}

fn attempts(count: usize) -> String {
    if count == 1 { "1 attempt".to_owned() } else { format!("{count} attempts") }
}
