//! Questions that a room answers by one choice, and what its choice says.

use crate::bake::ZoneDifference;
use crate::exercise::{Answer, BlendAnswer, Question, Task, VerdictAnswer};
use crate::lecture::Ballot;
use crate::level::course_format::ToothNames;
use crate::scene::Tooth;

/// The question about a smile.
#[must_use]
pub fn ballot_of(names: ToothNames, odd: Option<Tooth>, teeth: &[Tooth]) -> Ballot {
    let mut choices = names.all(teeth);
    choices.push("None".to_owned());
    let right = odd.and_then(|odd| teeth.iter().position(|tooth| *tooth == odd));
    Ballot {
        question: "Which tooth is the restoration?".to_owned(),
        choices,
        right: vec![right.unwrap_or(teeth.len())],
    }
}

/// What a smile was, for the record.
#[must_use]
pub fn truth_of(
    names: ToothNames,
    restored: Option<(Tooth, &ZoneDifference)>,
    teeth: &[Tooth],
) -> String {
    restored.map_or_else(
        || "no restoration".to_owned(),
        |(tooth, difference)| {
            format!(
                "{}, {} ({} ΔL00)",
                names.said(tooth, teeth),
                crate::words::de00(difference.de00),
                crate::words::signed(difference.dl00)
            )
        },
    )
}

/// The question about options, and what it is about; `None` for exercises that a room cannot
/// answer by one choice.
#[must_use]
pub fn ballot_of_question(
    names: ToothNames,
    question: &Question,
) -> Option<(Ballot, String, bool)> {
    match &question.task {
        Task::Blend(task) => {
            let mut choices: Vec<String> =
                (1..=task.options.len()).map(|place| place.to_string()).collect();
            choices.push("None".to_owned());
            let mut right = task.acceptable();
            let has_target = !right.is_empty();
            if !has_target {
                right.push(task.options.len());
            }
            let question = "Which option blends? Several may.".to_owned();
            let truth =
                format!("blend, {} of {} acceptable", task.acceptable().len(), task.options.len());
            Some((Ballot { question, choices, right }, truth, has_target))
        }
        Task::Verdict(task) => {
            let is_acceptable = task.is_acceptable();
            let choices = vec!["Accept".to_owned(), "Remake".to_owned()];
            let right = vec![usize::from(!is_acceptable)];
            let ballot = Ballot { question: "Accept it, or remake it?".to_owned(), choices, right };
            let tooth = names.said(task.tooth, &question.teeth_in_view());
            Some((ballot, format!("verdict on {tooth}"), !is_acceptable))
        }
        Task::Ladder(_)
        | Task::Match(_)
        | Task::TwoLights(_)
        | Task::Bench(_)
        | Task::TryIn(_)
        | Task::Bracket(_)
        | Task::Margin(_) => None,
    }
}

/// The room's answer to a question, as one learner's would be.
pub(super) fn answer_of(question: &Question, choice: Option<usize>) -> Option<Answer> {
    match &question.task {
        Task::Blend(task) => {
            Some(Answer::Blend(match choice.filter(|c| *c < task.options.len()) {
                Some(best) => BlendAnswer { best: Some(best), acceptable: vec![best] },
                None => BlendAnswer::none(),
            }))
        }
        Task::Verdict(_) => Some(Answer::Verdict(VerdictAnswer { accept: choice == Some(0) })),
        Task::Ladder(_)
        | Task::Match(_)
        | Task::TwoLights(_)
        | Task::Bench(_)
        | Task::TryIn(_)
        | Task::Bracket(_)
        | Task::Margin(_) => None,
    }
}
