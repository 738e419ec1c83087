//! The form of the bench.

use super::buttons::{actions, pressed, strong};
use crate::app::room::round::drawn::Drawn;
use crate::app::ui::pause_control::pause_control;
use crate::app::ui::value_row::{RowAct, ValueRow};
use crate::app::ui::widgets::{body, small};
use crate::bake::{BakedScene, Condition, ZoneDifference};
use crate::colorimetry::{ACCEPTABILITY_DE00, PERCEPTIBILITY_DE00};
use crate::exercise::{BenchTask, Recipe, RecipeLimits, RecipePart, translucency_name};
use crate::play::answer::{BenchDraft, Draft};
use crate::play::intents::Intent;
use crate::play::intents::{Act, ExerciseIntent};
use crate::play::keys::{self, is_on_in_round};
use crate::play::round::FreePlay;
use crate::scene::Preparation;
use crate::trial::InputDevice;
use crate::words::signed;
use crate::words::{count, de00};
use bevy_egui::egui::{self, Ui, vec2};

/// Height of the form, points.
pub(super) const HEIGHT: f32 = 330.0;

/// From this width on, ceramic and space stand side by side, points.
const TWO_COLUMNS: f32 = 900.0;

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
    answer: &Draft,
    draft: &BenchDraft,
    task: &BenchTask,
    drawn: Drawn<'_>,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let width = ui.available_width();
    // Where there is little room, the parts stand in one column.
    let columns: &[&[RecipePart]] =
        if width < TWO_COLUMNS { &[&RecipePart::ALL] } else { &[&CERAMIC, &SPACE] };
    let share = match (columns.len(), drawn.exercising.mode().free()) {
        (1, _) => 0.42,
        (_, Some(_)) => 0.36,
        _ => 0.3,
    };
    let actions_width = (width * share).clamp(200.0, 480.0);
    let gaps = 20.0 * columns.len() as f32;
    let column = ((width - actions_width - gaps) / columns.len() as f32).max(200.0);
    ui.horizontal_top(|ui| {
        for parts in columns {
            ui.allocate_ui_with_layout(
                vec2(column, 0.0),
                egui::Layout::top_down(egui::Align::Min),
                |ui| {
                    ui.set_width(column);
                    ui.spacing_mut().item_spacing.y = 3.0;
                    for part in *parts {
                        asked.extend(part_row(ui, *part, draft, &task.limits));
                    }
                    if parts.contains(&RecipePart::Film) {
                        small(ui, &room_in_words(draft.recipe(), &task.limits));
                    }
                },
            );
            ui.add_space(8.0);
        }
        ui.vertical(|ui| {
            ui.set_width(actions_width);
            ui.spacing_mut().item_spacing.y = 4.0;
            asked.extend(right_column(ui, answer, draft, task, drawn));
        });
    });
    asked
}

/// What was removed, less the cement: the room for ceramic.
fn room_in_words(recipe: &Recipe, limits: &RecipeLimits) -> String {
    let room = |part| limits.room_mm(part, recipe.cement_film_mm);
    let heights = [RecipePart::Margin, RecipePart::Neck, RecipePart::Middle, RecipePart::Incisal];
    let less = |part| recipe.number(part).is_some_and(|mm| room(part) - mm > 0.005);
    // Nothing else could fill it.
    let rest = if heights.into_iter().any(less) {
        ". Where the ceramic is thinner, the tooth counts as cut back less"
    } else {
        ""
    };
    format!(
        "Room for ceramic (tooth removed less {:.2} mm of cement): margin {:.2}, neck {:.2}, middle \
         {:.2}, incisal {:.2} mm{rest}",
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

/// One part. The one the keys are at stands out.
fn part_row(
    ui: &mut Ui,
    part: RecipePart,
    draft: &BenchDraft,
    limits: &RecipeLimits,
) -> Option<Intent> {
    let recipe = draft.recipe();
    let name = match part {
        RecipePart::Lightness => "shade, lightness",
        RecipePart::Chroma => "shade, chroma",
        RecipePart::Hue => "shade, hue",
        RecipePart::Graded => "block",
        part => part.name(),
    };
    let range = limits.range(recipe, part);
    let share =
        recipe.number(part).zip(range).map(|(v, (low, high))| (v - low) / (high - low).max(1e-9));
    let row = ValueRow {
        name,
        value: &value_in_words(recipe, part, limits),
        is_current: draft.part == part,
        is_idle: (part == RecipePart::BlockShift && !recipe.ceramic.graded)
            || limits.is_fixed(recipe, part),
        share,
    };
    Some(Intent::Exercise(match (row.show(ui, part)?, range) {
        (RowAct::Step(steps), _) => ExerciseIntent::Compose(part, steps),
        (RowAct::Slide(share, begins), Some((low, high))) => {
            let step = part.step().unwrap_or(1.0);
            let value = ((low + share * (high - low)) / step).round() * step;
            ExerciseIntent::Set(part, value, begins)
        }
        (RowAct::Slide(..), None) => return None,
    }))
}

fn right_column(
    ui: &mut Ui,
    answer: &Draft,
    draft: &BenchDraft,
    task: &BenchTask,
    drawn: Drawn<'_>,
) -> Vec<Intent> {
    let mut asked = Vec::new();
    let free = drawn.exercising.mode().free();
    if let Some(free) = free {
        readout(ui, free, task, drawn);
    } else {
        attempts_made(ui, draft, task);
        asked.extend(actions(ui, answer));
    }
    ui.horizontal_wrapped(|ui| {
        asked.extend(recipes_and_tools(ui, draft, drawn));
        asked.extend(pause_control(ui));
    });
    asked
}

fn attempts_made(ui: &mut Ui, draft: &BenchDraft, task: &BenchTask) {
    if let Some(left) = draft.attempts_left(task) {
        body(ui, &format!("{} made, {left} left", attempts(draft.attempts.len())));
    }
    if draft.awaits {
        body(ui, "Working out the attempt…");
    } else if let Some(last) = draft.attempts.last() {
        let words = in_words(&last.difference);
        body(ui, &format!("Attempt {}: {words}", draft.attempts.len()));
    }
    for problem in &draft.problems {
        strong(ui, &problem.to_string());
    }
}

fn in_words(d: &ZoneDifference) -> String {
    format!(
        "ΔE00 {:.1}; ΔL00 {}, ΔC00 {}, ΔH00 {}",
        d.de00,
        signed(d.dl00),
        signed(d.dc00),
        signed(d.dh00)
    )
}

/// What the smile in view comes to, in free play.
fn readout(ui: &mut Ui, free: &FreePlay, task: &BenchTask, drawn: Drawn<'_>) {
    let shown = drawn.exercising.shown(drawn.preparation);
    let known = shown.and_then(|shown| Some((&shown.scene, shown.scene.truth.as_ref()?)));
    let Some((scene, truth)) = known else {
        strong(ui, "The first smile is on its way…");
        return;
    };
    let d = truth.difference;
    let behind = !drawn.exercising.is_up_to_date(drawn.preparation);
    let mark = if behind { " (the recipe before)" } else { "" };
    let margin = margin_in_words(task, scene);
    let whole = if margin.is_some() { "Whole tooth: " } else { "" };
    strong(ui, &format!("{whole}{}{mark}", in_words(&d)));
    let against = if d.de00 <= PERCEPTIBILITY_DE00 {
        "Most people would not see it (0.8 or less)."
    } else if d.de00 <= ACCEPTABILITY_DE00 {
        "Seen by some, acceptable to most (1.8 or less)."
    } else {
        "Not acceptable to most (above 1.8)."
    };
    small(ui, against);
    if let Some((contrast, natural)) = margin {
        strong(ui, &format!("{contrast}{mark}"));
        small(ui, &natural);
    }
    for remark in &free.remarks {
        small(ui, &format!("Note: {remark}."));
    }
    if free.is_searching() {
        small(ui, "Looking for the best that can be reached…");
    }
}

/// How plainly an onlay's margin line shows, and what the natural tooth does there.
fn margin_in_words(task: &BenchTask, scene: &BakedScene) -> Option<(String, String)> {
    let Preparation::Onlay { margin_height } = task.preparation else { return None };
    let of = |condition| scene.margin(task.tooth, condition, margin_height);
    let (restored, natural) = (of(Condition::Restored)?, of(Condition::Twin)?);
    let contrast = format!("Margin line: {}", in_words(&restored.mean));
    let natural = format!(
        "At the worst place {}; the natural tooth {}.",
        de00(restored.worst_de00),
        de00(natural.mean.de00)
    );
    Some((contrast, natural))
}

/// Recipes taken back, kept and compared, ways to look, and what free play has besides composing.
fn recipes_and_tools(ui: &mut Ui, draft: &BenchDraft, drawn: Drawn<'_>) -> Vec<Intent> {
    let exercising = drawn.exercising;
    let confirm = Intent::Exercise(ExerciseIntent::Act(Act::Confirm, InputDevice::Keyboard));
    let mut asked = Vec::new();
    for row in keys::on_bench(exercising) {
        // In free play it takes up the recipe that is compared.
        if row.is_for(&confirm) && draft.compared.is_none() {
            continue;
        }
        let label = row.label_now(|intent| is_on_in_round(intent, drawn.view, exercising));
        asked.extend(pressed(ui, row, &label));
    }
    asked
}

fn attempts(number: usize) -> String {
    count(number, "attempt", "attempts")
}
