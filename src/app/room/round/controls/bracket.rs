//! Bracket: two options to mill, and where the teeth lie between them.

use super::buttons::actions;
use super::cells::{cells, options};
use super::line::line;
use crate::app::ui::widgets::body;
use crate::exercise::{BracketTask, Question};
use crate::play::answer::{BracketDraft, Draft};
use crate::play::intents::{ExerciseIntent, Intent};
use bevy_egui::egui::Ui;

pub(super) fn draw(
    ui: &mut Ui,
    answer: &Draft,
    draft: &BracketDraft,
    task: &BracketTask,
    question: &Question,
) -> Vec<Intent> {
    let (thickness_sd_mm, prepared_sd) = (task.thickness_sd_mm, task.prepared_sd);
    let mark = |option: usize| if draft.picked.contains(&option) { "to mill" } else { "" };
    let mut asked = options(ui, &cells(question, draft.current, mark));
    if !draft.placing {
        asked.extend(actions(ui, answer));
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
    asked.extend(actions(ui, answer));
    asked
}
