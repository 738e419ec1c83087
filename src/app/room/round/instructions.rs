//! What is told before the first question of a round.

use super::drawn::{Drawn, QUIET_S, progress};
use crate::app::ui::page::column;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, body, heading, paragraph, quiet_button, section, small};
use crate::play::content::EXERCISES;
use crate::play::intents::{ExerciseIntent, Intent};
use crate::play::keys::{self, KeyContext};
use crate::words::count;
use bevy_egui::egui::Ui;

/// The name of an exercise on screen, and what is done in it.
fn in_words(exercise: &str) -> (&'static str, &'static str) {
    EXERCISES
        .iter()
        .find(|(name, ..)| *name == exercise)
        .map_or(("Exercise", ""), |(_, title, what)| (title, what))
}

pub(super) fn instructions(ui: &mut Ui, drawn: Drawn<'_>) -> Vec<Intent> {
    let sitting = drawn.exercising.sitting();
    let round = sitting.round();
    let (name, what) = in_words(round.exercise);
    column(ui, 820.0, |ui, asked| {
        heading(ui, &round.title);
        body(ui, &format!("{name}. {what}"));
        paragraph(ui, &round.teaches);
        ui.add_space(theme::GAP);
        section(ui, "What to do");
        let measured = drawn.exercising.mode().choosing();
        let lines = match round.questions.first() {
            _ if measured.is_some() => keys::before_measured_choosing(),
            Some(question) => keys::before_questions(&question.task),
            None => Vec::new(),
        };
        for line in lines {
            paragraph(ui, &line);
        }
        paragraph(ui, &how_long(drawn));
        ui.add_space(theme::GAP);
        ui.horizontal(|ui| {
            let start = Intent::Exercise(ExerciseIntent::Begin);
            let enter = keys::key_name(KeyContext::Instructions, &start);
            let begin = big_button(ui, "Begin");
            crate::app::ui::focus::give_focus(&begin);
            if begin.clicked() {
                asked.push(start);
            }
            if quiet_button(ui, &keys::pause_label()).clicked() {
                asked.push(Intent::Pause);
            }
            small(ui, &format!("or {enter}"));
        });
        if drawn.exercising.waited_s() > QUIET_S {
            progress(ui, drawn, 420.0);
        }
    })
}

/// How many questions there are, and how to stop.
fn how_long(drawn: Drawn<'_>) -> String {
    let sitting = drawn.exercising.sitting();
    let (total, pauses) = (sitting.round().questions.len(), keys::pauses());
    match sitting.answered() {
        done if drawn.exercising.mode().choosing().is_some() => {
            let goes_on = match done {
                0 => String::new(),
                done => format!(" Goes on after {}.", count(done, "question", "questions")),
            };
            format!(
                "It ends by itself, after 13 to 40 questions. {pauses}; you can stop at any time, and \
                 go on another day.{goes_on}"
            )
        }
        0 => format!("{}. {pauses}.", count(total, "question", "questions")),
        done => format!("Goes on after {done} of {total}. {pauses}."),
    }
}
