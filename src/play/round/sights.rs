//! Which smiles can be looked at: while a question is asked, and in its debrief.

use crate::exercise::{Answer, Question, Sight, Slot, Task};
use crate::play::answer::{Draft, LightStep};
use crate::words::count;

/// Smiles that can be looked at while the question is asked.
pub(super) fn asked_sights(question: &Question, draft: Option<&Draft>) -> Vec<Sight> {
    match (&question.task, draft) {
        (Task::TwoLights(task), Some(Draft::TwoLights(draft)))
            if draft.step == LightStep::Second =>
        {
            task.second_sights.clone()
        }
        (Task::TryIn(_), Some(Draft::TryIn(draft))) if !draft.may_see() => {
            question.sights.iter().take(1).cloned().collect()
        }
        (Task::Bench(task), Some(Draft::Bench(draft))) => {
            let name = match draft.compared {
                None => "Your recipe",
                Some(Slot::A) => "Recipe A",
                Some(Slot::B) => "Recipe B",
            };
            vec![Sight { name: name.to_owned(), case: draft.case(task) }]
        }
        _ => question.sights.clone(),
    }
}

/// Smiles that can be looked at in the debrief.
pub(super) fn debrief_sights(question: &Question, answer: &Answer) -> Vec<Sight> {
    let mut sights = question.sights.clone();
    match (&question.task, answer) {
        (Task::TwoLights(task), _) => {
            for sight in &mut sights {
                sight.name = format!("{}, {}", sight.name, task.first_light.name());
            }
            sights.extend(task.second_sights.iter().map(|sight| Sight {
                name: format!("{}, {}", sight.name, task.second_light.name()),
                case: sight.case.clone(),
            }));
        }
        (Task::TryIn(task), _) => {
            let months = count(task.drift.months.round() as usize, "month", "months");
            let later = sights.iter().map(|sight| Sight {
                name: format!("{}, {months} later", sight.name),
                case: task.after(&sight.case),
            });
            let later: Vec<Sight> = later.collect();
            sights.extend(later);
        }
        (Task::Bench(task), Answer::Bench(answer)) => {
            sights.clear();
            for (number, reached) in answer.attempts.iter().enumerate() {
                let name = format!("Attempt {}", number + 1);
                sights.push(Sight { name, case: task.case_with(&reached.recipe) });
            }
            if let Some(best) = &task.best {
                let name = "Best that was found".to_owned();
                sights.push(Sight { name, case: task.case_with(&best.recipe) });
            }
        }
        _ => {}
    }
    sights
}

/// The smile that the debrief begins with: the one that was answered.
pub(super) fn first_reviewed(question: &Question, answer: &Answer) -> usize {
    match (answer, &question.task) {
        (Answer::Blend(answer), Task::Blend(task)) => answer.best.unwrap_or(task.best),
        (Answer::TwoLights(answer), _) => answer.choice,
        (Answer::TryIn(answer), _) => answer.seated,
        (Answer::Bracket(answer), _) => answer.options[0],
        (Answer::Margin(answer), Task::Margin(task)) => answer.choice.unwrap_or(task.best),
        (Answer::Bench(answer), _) => answer.attempts.len().saturating_sub(1),
        _ => 0,
    }
}
