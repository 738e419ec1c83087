//! Try-in: what each cement will do, then the one to seat with.

use super::buttons::actions;
use super::cells::{Cell, options};
use super::line::line;
use crate::app::ui::widgets::body;
use crate::exercise::{EffectDirection, TryInTask};
use crate::play::answer::{DIRECTIONS, Draft, TryInDraft};
use crate::play::intents::{ExerciseIntent, Intent};
use bevy_egui::egui::Ui;

pub(super) fn draw(
    ui: &mut Ui,
    answer: &Draft,
    draft: &TryInDraft,
    task: &TryInTask,
) -> Vec<Intent> {
    let names: Vec<&str> = task.cements.iter().map(|c| c.name.as_str()).collect();
    if draft.may_see() {
        seat(ui, answer, draft, &names)
    } else {
        predict(ui, answer, draft, &names)
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

fn predict(ui: &mut Ui, answer: &Draft, draft: &TryInDraft, names: &[&str]) -> Vec<Intent> {
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
    asked.extend(actions(ui, answer));
    asked
}

fn seat(ui: &mut Ui, answer: &Draft, draft: &TryInDraft, names: &[&str]) -> Vec<Intent> {
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
    asked.extend(actions(ui, answer));
    asked
}
