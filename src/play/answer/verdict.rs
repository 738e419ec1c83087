//! Verdict: a tooth is accepted, or has to be made again.

use super::outcome::Outcome;
use super::ranking::{Ranked, name_of, note};
use crate::exercise::{Answer, Question, VerdictAnswer, VerdictTask};
use crate::play::intents::Act;

/// Does what was asked for: one word is the answer.
pub(super) fn apply(act: Act) -> Outcome {
    let accept = match act {
        Act::Yes => true,
        Act::No => false,
        Act::Confirm => return Outcome::Missing("Accept (A) or remake (R)?"),
        _ => return Outcome::Nothing,
    };
    Outcome::Answer(Answer::Verdict(VerdictAnswer { accept }))
}

/// The one tooth. How a room judged stands in its tally.
pub(super) fn ranked(
    question: &Question,
    task: &VerdictTask,
    answer: &VerdictAnswer,
    in_room: bool,
) -> Vec<Ranked> {
    vec![Ranked {
        name: name_of(question, 0),
        difference: task.difference,
        notes: note(!in_room && answer.accept, "you accepted it")
            .or_else(|| note(!in_room, "you would remake it"))
            .into_iter()
            .collect(),
        sight: Some(0),
    }]
}
