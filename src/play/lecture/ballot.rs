//! Questions that a room answers by one choice, and what its choice says.

use super::Lecture;
use crate::exercise::{Answer, BlendAnswer, Question, Task, VerdictAnswer};
use crate::lecture::Ballot;
use crate::scene::Tooth;
use crate::trial::PlannedTrial;

/// The question about a smile.
pub(super) fn ballot_of(lecture: &Lecture, planned: &PlannedTrial, teeth: &[Tooth]) -> Ballot {
    let names = lecture.course.tooth_names;
    let mut choices: Vec<String> = teeth.iter().map(|tooth| names.of(*tooth, teeth)).collect();
    choices.push("None".to_owned());
    let odd = planned.case.odd_tooth();
    let right = odd.and_then(|odd| teeth.iter().position(|tooth| *tooth == odd));
    Ballot {
        question: "Which tooth is the restoration?".to_owned(),
        choices,
        right: vec![right.unwrap_or(teeth.len())],
    }
}

/// The question about options, and what it is about; `None` for exercises that a room cannot
/// answer by one choice.
pub(super) fn ballot_of_question(question: &Question) -> Option<(Ballot, String, bool)> {
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
            Some((ballot, format!("verdict on tooth {}", task.tooth), !is_acceptable))
        }
        _ => None,
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
        _ => None,
    }
}
