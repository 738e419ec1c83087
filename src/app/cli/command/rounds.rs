//! `rehearse` for exercises with questions.

use crate::app::cli::arguments::{Options, Rehearse};
use crate::app::cli::command::observers::{in_words, learner};
use crate::app::cli::command::rehearsal::{
    MODE, PICTURE_SIZE, REFRESH_HZ, RehearseError, keep, pictured,
};
use crate::app::cli::command::round_pictures::draw_questions;
use crate::exercise::{
    Answer, AnswerError, Learner, Mark, Question, Round, RoundTally, Times, catch_in_words, fits,
};
use crate::play::content::Content;
use crate::play::records::Records;
use crate::results::{AnswerRow, StoreError};
use crate::trial::InputDevice;

/// Time that a simulated learner takes for a question, s. It has no meaning; every row has one.
const ANSWER_S: f64 = 10.0;
/// Questions whose smiles get pictures.
const PICTURED: usize = 1;

/// Plays a round with a simulated learner.
pub(crate) fn rehearse(
    level: &str,
    seed: u64,
    arguments: &Rehearse,
    options: &Options,
    content: &dyn Content,
) -> Result<(), RehearseError> {
    let learner = learner(arguments.observer).ok_or(RehearseError::TimedOnly)?;
    let round = content.round(level, seed, arguments.trials)?;
    let given = answers(&round, &learner)?;
    say!("{}\nseed {seed}, learner: {}\n", round.title, in_words(arguments.observer));
    for (question, _, mark) in &given {
        say!("{}", line(question, mark));
    }
    let rows: Vec<AnswerRow> =
        given.iter().map(|(question, answer, mark)| row(&round, question, answer, mark)).collect();
    say!("\n{}", RoundTally::of(&rows).sentences().join("\n"));
    let all: Vec<Option<Answer>> =
        given.iter().map(|(_, answer, _)| Some(answer.clone())).collect();
    for sentence in round.summary(&all).sentences {
        say!("{sentence}");
    }
    let pairs: Vec<(Question, Answer)> =
        given.into_iter().map(|(question, answer, _)| (question.clone(), answer)).collect();
    for sentence in fits(&pairs) {
        say!("{sentence}");
    }
    keep(options, |records| store(&round, &rows, records))?;
    let first = &round.questions[..round.questions.len().min(PICTURED)];
    let drawn = draw_questions(first, |_| {}, PICTURE_SIZE, &arguments.out, content);
    pictured(drawn, &arguments.out)
}

fn answers<'a>(
    round: &'a Round,
    learner: &Learner,
) -> Result<Vec<(&'a Question, Answer, Mark)>, AnswerError> {
    let one = |question: &'a Question| {
        let answer = question.answer_of(learner, round.seed);
        let mark = question.mark(&answer)?;
        Ok((question, answer, mark))
    };
    round.questions.iter().map(one).collect()
}

fn row(round: &Round, question: &Question, answer: &Answer, mark: &Mark) -> AnswerRow {
    let shown_s = ANSWER_S * f64::from(question.number);
    let times = Times { shown_s, answer_s: shown_s + ANSWER_S, response_time_s: ANSWER_S };
    round.row(question, MODE, answer, mark, times, InputDevice::Simulated)
}

fn line(question: &Question, mark: &Mark) -> String {
    let score = mark.score.map_or("  -".to_owned(), |score| format!("{score:3.0}"));
    let regret = mark.regret_de00.map_or(String::new(), |r| format!("  regret {r:.2}"));
    let catch = catch_in_words(question.task.name())
        .filter(|_| question.catch)
        .map_or_else(String::new, |words| format!("  ({words})"));
    let said = mark.sentences.first().map_or("", String::as_str);
    format!("{:3}  score {score}{regret}{catch}  {said}", question.number + 1)
}

fn store(round: &Round, rows: &[AnswerRow], records: &Records) -> Result<(), StoreError> {
    let questions = round.questions.len();
    let recording = records.begin_round(round, MODE, REFRESH_HZ, questions, None)?;
    for row in rows {
        records.append_answer(recording, row)?;
    }
    records.finish(recording)
}
