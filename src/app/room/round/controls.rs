//! The controls below the smile, exercise by exercise.

use crate::app::room::round::{Drawn, bench};
use crate::app::ui::hand::activated;
use crate::app::ui::pause_control::pause_control;
use crate::app::ui::theme;
use crate::app::ui::widgets::{body, digit_of, low_button, with_key};
use crate::exercise::{EffectDirection, Question, Task, light_in_words};
use crate::play::answer::{
    BlendDraft, BracketDraft, DIRECTIONS, Draft, LightStep, MarginDraft, MatchDraft, TryInDraft,
    TwoLightsDraft,
};
use crate::play::intents::Intent;
use crate::play::intents::{Act, ExerciseIntent};
use bevy_egui::egui::{
    self, Align2, CornerRadius, FontId, Rect, RichText, Sense, Shape, Stroke, StrokeKind, Ui,
    WidgetInfo, WidgetType, pos2, vec2,
};

/// One option in the row of options.
pub(crate) struct Cell {
    /// Its name.
    pub name: String,
    /// What was said of it, in a word or two.
    pub mark: &'static str,
    /// Whether it is in view.
    pub current: bool,
}

pub(crate) fn draw(
    ui: &mut Ui,
    draft: &Draft,
    question: &Question,
    drawn: Drawn<'_>,
) -> Vec<Intent> {
    let mut asked = match (draft, &question.task) {
        (Draft::Blend(draft), Task::Blend(task)) => blend(ui, draft, task.teeth.len(), question),
        (Draft::Ladder(draft), _) => {
            body(ui, "Order the patches by value, the lightest on the left.");
            let held = if draft.held { "Put it down" } else { "Pick it up" };
            actions(ui, &[(held, "Space", Act::Tick), ("Done", "Enter", Act::Confirm)])
        }
        (Draft::Match(draft), _) => matching(ui, draft),
        (Draft::TwoLights(draft), Task::TwoLights(task)) => {
            let lights = (light_in_words(task.first_light), light_in_words(task.second_light));
            two_lights(ui, draft, lights, question)
        }
        (Draft::Bench(draft), Task::Bench(task)) => bench::draw(ui, draft, task, drawn),
        (Draft::TryIn(draft), Task::TryIn(task)) => {
            let names: Vec<&str> = task.cements.iter().map(|c| c.name.as_str()).collect();
            if draft.may_see() { seat(ui, draft, &names) } else { predict(ui, draft, &names) }
        }
        (Draft::Bracket(draft), Task::Bracket(task)) => {
            let spread = (task.thickness_sd_mm, task.prepared_sd);
            bracket(ui, draft, spread, question)
        }
        (Draft::Margin(draft), _) => margin(ui, draft, question),
        (Draft::Verdict, _) => {
            body(ui, "Would you accept the marked tooth?");
            actions(ui, &[("Accept", "A", Act::Yes), ("Remake", "R", Act::No)])
        }
        _ => Vec::new(),
    };
    let has_smiles = !matches!(draft, Draft::Ladder(_) | Draft::Bench(_) | Draft::Verdict);
    // Nothing more lies beside a brief view, and the form of the bench has its own.
    let is_brief = matches!(draft, Draft::Verdict) && drawn.exercising.may_look();
    if !is_brief && !matches!(draft, Draft::Bench(_)) {
        ui.horizontal_wrapped(|ui| {
            if has_smiles {
                asked.extend(views(ui, drawn));
            }
            asked.extend(pause_control(ui));
        });
    }
    if let Some(missing) = drawn.exercising.missing() {
        ui.label(RichText::new(missing).color(theme::INK).strong());
    }
    asked
}

/// Ways to look.
pub(crate) fn views(ui: &mut Ui, drawn: Drawn<'_>) -> Vec<Intent> {
    let mut asked = Vec::new();
    let value = if drawn.view.value_only { "Show colour  (V)" } else { "Value only  (V)" };
    if drawn.exercising.mode().choosing().is_none()
        && activated(&low_button(ui, value, 0.0)).is_some()
    {
        asked.push(Intent::ToggleValueOnly);
    }
    let composes = drawn.exercising.is_composing();
    if drawn.exercising.sights().len() > 1 && !composes {
        let sheet = if drawn.exercising.shows_sheet() { "One  (G)" } else { "All small  (G)" };
        if activated(&low_button(ui, sheet, 0.0)).is_some() {
            asked.push(Intent::Exercise(ExerciseIntent::ToggleSheet));
        }
    }
    let mark = if drawn.view.outlines { "Hide the mark  (O)" } else { "Show the mark  (O)" };
    if activated(&low_button(ui, mark, 0.0)).is_some() {
        asked.push(Intent::ToggleOutlines);
    }
    asked
}

/// Buttons with their keys.
pub(crate) fn actions(ui: &mut Ui, actions: &[(&str, &str, Act)]) -> Vec<Intent> {
    let mut asked = Vec::new();
    ui.horizontal_wrapped(|ui| {
        for (label, key, act) in actions {
            if let Some(device) = activated(&low_button(ui, &with_key(label, key), 0.0)) {
                asked.push(Intent::Exercise(ExerciseIntent::Act(*act, device)));
            }
        }
    });
    asked
}

/// The options as a row of equal cells, each with its digit, its name and what was said of it.
pub(crate) fn options(ui: &mut Ui, cells: &[Cell]) -> Vec<Intent> {
    let mut asked = Vec::new();
    let gap = 8.0;
    let width = ((ui.available_width() - gap * cells.len() as f32) / cells.len().max(1) as f32)
        .clamp(60.0, 190.0);
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = gap;
        for (index, cell) in cells.iter().enumerate() {
            let (rect, response) = ui.allocate_exact_size(vec2(width, 46.0), Sense::click());
            let label = match cell.mark {
                "" => cell.name.clone(),
                mark => format!("{}, {mark}", cell.name),
            };
            let label = with_key(&label, digit_of(index));
            response.widget_info(|| {
                WidgetInfo::selected(WidgetType::SelectableLabel, true, cell.current, &label)
            });
            draw_cell(ui, rect, cell, digit_of(index), response.hovered());
            if response.has_focus() {
                theme::focus_ring(ui.painter(), rect);
            }
            if let Some(device) = activated(&response) {
                let act = ExerciseIntent::Act(Act::Choose(index), device);
                asked.push(Intent::Exercise(act));
            }
        }
    });
    asked
}

fn draw_cell(ui: &Ui, rect: Rect, cell: &Cell, digit: &str, hovered: bool) {
    let fill = match (cell.current, hovered) {
        (true, _) => theme::PAPER,
        (false, true) => theme::CONTROL_HOVER,
        (false, false) => theme::CONTROL,
    };
    let edge = if cell.current { 3.0 } else { 1.0 };
    let painter = ui.painter().with_clip_rect(rect.expand(1.0));
    painter.rect(
        rect,
        CornerRadius::same(4),
        fill,
        Stroke::new(edge, theme::EDGE),
        StrokeKind::Inside,
    );
    let has_mark = !cell.mark.is_empty();
    let y = rect.center().y - if has_mark { 9.0 } else { 0.0 };
    let text = |at, size: f32, words: &str| {
        painter.text(at, Align2::CENTER_CENTER, words, FontId::proportional(size), theme::INK);
    };
    text(pos2(rect.center().x, y), 16.0, &cell.name);
    if has_mark {
        text(pos2(rect.center().x, y + 19.0), 15.0, cell.mark);
    }
    // "Option 3" says its digit already.
    if !cell.name.ends_with(digit) {
        text(rect.left_top() + vec2(11.0, 11.0), 13.0, digit);
    }
}

/// Cells of the question's sights.
fn cells(question: &Question, current: usize, mark: impl Fn(usize) -> &'static str) -> Vec<Cell> {
    let cell = |(index, sight): (usize, &crate::exercise::Sight)| Cell {
        name: sight.name.clone(),
        mark: mark(index),
        current: index == current,
    };
    question.sights.iter().enumerate().map(cell).collect()
}

fn blend(ui: &mut Ui, draft: &BlendDraft, teeth: usize, question: &Question) -> Vec<Intent> {
    let mark = |option: usize| match (draft.best == Some(option), draft.ticked.contains(&option)) {
        (true, _) => "best",
        (false, true) => "would pass",
        (false, false) => "",
    };
    let mut asked = options(ui, &cells(question, draft.current, mark));
    let tick = if draft.ticked.contains(&draft.current) { "Untick" } else { "Would pass" };
    let none = if draft.none { "Some would pass" } else { "None would pass" };
    asked.extend(actions(
        ui,
        &[
            (tick, "Space", Act::Tick),
            ("Blends best", "B", Act::Pick),
            (none, "N", Act::None),
            ("Done", "Enter", Act::Confirm),
        ],
    ));
    if draft.none {
        body(ui, "You say: none of them would pass.");
    } else if teeth > 1 {
        body(ui, &format!("The {teeth} marked teeth are restored alike."));
    }
    asked
}

fn matching(ui: &mut Ui, draft: &MatchDraft) -> Vec<Intent> {
    let words = match draft.chosen[..] {
        [] => "Which tab is nearest the marked tooth? Choose one, or two that it lies between."
            .to_owned(),
        [one] => format!("Nearest: tab {}.", one + 1),
        [one, other, ..] => {
            format!("Between tabs {} and {}.", one.min(other) + 1, one.max(other) + 1)
        }
    };
    body(ui, &words);
    actions(ui, &[("Choose this tab", "Space", Act::Tick), ("Done", "Enter", Act::Confirm)])
}

fn two_lights(
    ui: &mut Ui,
    draft: &TwoLightsDraft,
    (first, second): (&str, &str),
    question: &Question,
) -> Vec<Intent> {
    match draft.step {
        LightStep::First | LightStep::Second => {
            let is_first = draft.step == LightStep::First;
            let mark = |option: usize| {
                if is_first {
                    if draft.choice == Some(option) { "your choice" } else { "" }
                } else if draft.second == Some(option) {
                    "your choice now"
                } else if draft.choice == Some(option) {
                    "chosen before"
                } else {
                    ""
                }
            };
            let mut asked = options(ui, &cells(question, draft.current, mark));
            let light = if is_first { first } else { second };
            ui.label(format!("Light: {light}. Which option blends best in it?"));
            let next = if is_first { "Go on" } else { "Done" };
            asked.extend(actions(
                ui,
                &[("Blends best", "B", Act::Pick), (next, "Enter", Act::Confirm)],
            ));
            asked
        }
        LightStep::Predict => {
            let choice = draft.choice.and_then(|c| question.sights.get(c));
            let name = choice.map_or("your choice", |sight| sight.name.as_str());
            body(ui, &format!("Before you see it in {second}: will {name} still be your choice?"));
            let said = match draft.keep {
                Some(true) => "You say: I will keep it.",
                Some(false) => "You say: I will change it.",
                None => "",
            };
            let asked = actions(
                ui,
                &[
                    ("I will keep it", "K", Act::Yes),
                    ("I will change it", "C", Act::No),
                    ("Show the other light", "Enter", Act::Confirm),
                ],
            );
            body(ui, said);
            asked
        }
    }
}

const fn direction_in_words(direction: EffectDirection) -> &'static str {
    match direction {
        EffectDirection::Darker => "Darker",
        EffectDirection::None => "Nothing to see",
        EffectDirection::Lighter => "Lighter",
        EffectDirection::Warmer => "Warmer",
    }
}

fn predict(ui: &mut Ui, draft: &TryInDraft, names: &[&str]) -> Vec<Intent> {
    let place = draft.predictions.len() + 1;
    let (first, next) = (names.first().unwrap_or(&""), names.get(place).unwrap_or(&""));
    body(ui, &format!("In view: {first}. What will {next} do to it, before you see it?"));
    let cells: Vec<Cell> = DIRECTIONS
        .iter()
        .map(|direction| Cell {
            name: direction_in_words(*direction).to_owned(),
            mark: "",
            current: *direction == draft.direction,
        })
        .collect();
    let mut asked = options(ui, &cells);
    let size = f64::from(draft.tenths) / 10.0;
    let value = match draft.direction {
        EffectDirection::Darker => -size,
        EffectDirection::Lighter => size,
        _ => 0.0,
    };
    ui.horizontal(|ui| {
        let width = (ui.available_width() - 190.0).clamp(200.0, 640.0);
        let ends = ("darker", "lighter");
        if let Some(share) = line(ui, width, (value / 5.0 + 1.0) / 2.0, ends, "effect in value") {
            let value = 5.0 * (2.0 * share - 1.0);
            asked.push(Intent::Exercise(ExerciseIntent::Predict(value)));
        }
        let said = match draft.direction {
            EffectDirection::None => "less than 0.3 ΔE00".to_owned(),
            direction => direction.in_words(size),
        };
        body(ui, &said);
    });
    let next = if place + 1 >= names.len() { "Show all cements" } else { "Next cement" };
    asked.extend(actions(
        ui,
        &[
            ("Less", "Left", Act::Move(-1)),
            ("More", "Right", Act::Move(1)),
            (next, "Enter", Act::Confirm),
        ],
    ));
    asked
}

fn seat(ui: &mut Ui, draft: &TryInDraft, names: &[&str]) -> Vec<Intent> {
    let cells: Vec<Cell> = names
        .iter()
        .enumerate()
        .map(|(index, name)| Cell {
            name: (*name).to_owned(),
            mark: if draft.seated == Some(index) { "to seat with" } else { "" },
            current: index == draft.current,
        })
        .collect();
    let mut asked = options(ui, &cells);
    asked.extend(actions(
        ui,
        &[("Seat with this one", "B", Act::Pick), ("Done", "Enter", Act::Confirm)],
    ));
    asked
}

fn bracket(
    ui: &mut Ui,
    draft: &BracketDraft,
    (thickness_sd_mm, prepared_sd): (f64, f64),
    question: &Question,
) -> Vec<Intent> {
    let mark = |option: usize| if draft.picked.contains(&option) { "to mill" } else { "" };
    let mut asked = options(ui, &cells(question, draft.current, mark));
    if !draft.placing {
        asked.extend(actions(
            ui,
            &[("Mill this one", "B", Act::Pick), ("Go on", "Enter", Act::Confirm)],
        ));
        body(
            ui,
            &format!(
                "Estimates: thickness ±{thickness_sd_mm:.2} mm, prepared tooth ±{prepared_sd:.1} L*."
            ),
        );
        return asked;
    }
    ui.horizontal(|ui| {
        let width = (ui.available_width() - 300.0).clamp(200.0, 560.0);
        let share = f64::from(draft.place.unwrap_or(50)) / 100.0;
        let ends = ("as the darker one", "as the lighter one");
        if let Some(share) = line(ui, width, share, ends, "value of the natural teeth") {
            let percent = (100.0 * share).round() as u32;
            asked.push(Intent::Exercise(ExerciseIntent::Place(percent)));
        }
        match draft.place {
            Some(percent) => body(ui, &format!("{percent} % from the darker to the lighter")),
            None => body(ui, "not between the two"),
        }
    });
    asked.extend(actions(
        ui,
        &[
            ("Darker", "Left", Act::Move(-1)),
            ("Lighter", "Right", Act::Move(1)),
            ("Not between them", "N", Act::None),
            ("Other options", "U", Act::Undo),
            ("Done", "Enter", Act::Confirm),
        ],
    ));
    asked
}

fn margin(ui: &mut Ui, draft: &MarginDraft, question: &Question) -> Vec<Intent> {
    let mark = |option: usize| if draft.choice == Some(option) { "hides it best" } else { "" };
    let mut asked = options(ui, &cells(question, draft.current, mark));
    let none = if draft.none { "One does" } else { "None hides it" };
    asked.extend(actions(
        ui,
        &[
            ("Hides it best", "B", Act::Pick),
            (none, "N", Act::None),
            ("Done", "Enter", Act::Confirm),
        ],
    ));
    if draft.none {
        body(ui, "You say: none of them hides its margin.");
    }
    asked
}

/// A line with words at its ends and a mark at `share` of it; where it was pressed or dragged to.
fn line(
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
    painter.text(pos2(left, below), Align2::LEFT_TOP, low, font.clone(), theme::INK);
    painter.text(pos2(right, below), Align2::RIGHT_TOP, high, font, theme::INK);
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

/// A strong line of text.
pub(crate) fn strong(ui: &mut Ui, text: &str) {
    ui.add(egui::Label::new(RichText::new(text).color(theme::INK).strong()).wrap());
}
