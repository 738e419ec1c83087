//! A round as it is answered: a state machine without a clock.

use super::{Answer, AnswerError, Grade, Mark, Question, Round, Wording, catch_in_words};
use crate::results::{AnswerRow, sight_to_json};
use crate::trial::InputDevice;
use crate::words::{count, count_of, de00};
use serde_json::{Value, json};
use std::sync::Arc;

/// Where a round stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// The question's smiles are not there yet.
    Preparing,
    /// The question is asked.
    Asked,
    /// It was answered; what came of it is shown.
    Marked,
    /// No more questions.
    Finished,
}

/// A round as it is answered.
#[derive(Debug, Clone)]
pub struct Sitting {
    round: Arc<Round>,
    mode: &'static str,
    index: usize,
    stage: Stage,
    /// Time since this run began, s.
    run_s: f64,
    /// When the question was there, s since the run began.
    shown_s: f64,
    /// How long it has been asked, s, without pauses.
    asked_s: f64,
    last: Option<(Answer, Mark)>,
    /// Whether questions are added as it goes on.
    is_open: bool,
    /// Questions answered before this run that the round does not hold.
    before: usize,
    wording: Wording,
}

impl Sitting {
    /// A round at its start, or with its `first` questions answered before. `mode` is stored as
    /// given.
    #[must_use]
    pub fn new(round: Arc<Round>, mode: &'static str, first: usize) -> Self {
        let stage = if first < round.questions.len() { Stage::Preparing } else { Stage::Finished };
        Self {
            round,
            mode,
            index: first,
            stage,
            run_s: 0.0,
            shown_s: 0.0,
            asked_s: 0.0,
            last: None,
            is_open: false,
            before: 0,
            wording: Wording::default(),
        }
    }

    /// The round with its answers talked about like this.
    #[must_use]
    pub fn worded(self, wording: Wording) -> Self {
        Self { wording, ..self }
    }

    /// How answers are talked about.
    #[must_use]
    pub const fn wording(&self) -> Wording {
        self.wording
    }

    /// A round whose questions are added as it goes on ([`Self::append`]), until it is stopped; with
    /// its `first` questions, which it does not hold, answered before.
    #[must_use]
    pub fn open_ended(round: Arc<Round>, mode: &'static str, first: usize) -> Self {
        let stage = Stage::Preparing;
        Self { stage, is_open: true, before: first, ..Self::new(round, mode, first) }
    }

    fn at(&self, index: usize) -> Option<&Question> {
        let index = index.checked_sub(self.before)?;
        self.round.questions.get(index).filter(|_| self.stage != Stage::Finished)
    }

    /// Adds the next question to a round that is open.
    pub fn append(&mut self, question: Question) {
        if self.is_open {
            Arc::make_mut(&mut self.round).questions.push(question);
        }
    }

    /// The round.
    #[must_use]
    pub fn round(&self) -> &Round {
        &self.round
    }

    /// Where it stands.
    #[must_use]
    pub const fn stage(&self) -> Stage {
        self.stage
    }

    /// The question prepared, asked or marked; `None` when there are no more.
    #[must_use]
    pub fn question(&self) -> Option<&Question> {
        self.at(self.index)
    }

    /// The question after it.
    #[must_use]
    pub fn next_question(&self) -> Option<&Question> {
        self.at(self.index + 1)
    }

    /// Questions answered, those before this run included.
    #[must_use]
    pub const fn answered(&self) -> usize {
        self.index + matches!(self.stage, Stage::Marked) as usize
    }

    /// How long the question has been asked, s, without pauses.
    #[must_use]
    pub const fn asked_s(&self) -> f64 {
        self.asked_s
    }

    /// The latest answer and how it was marked, while that is shown.
    #[must_use]
    pub fn last(&self) -> Option<(&Answer, &Mark)> {
        self.last.as_ref().filter(|_| self.stage == Stage::Marked).map(|(a, m)| (a, m))
    }

    /// Lets `duration_s` pass. While paused, the question does not age.
    pub fn pass(&mut self, duration_s: f64, is_paused: bool) {
        self.run_s += duration_s;
        if self.stage == Stage::Asked && !is_paused {
            self.asked_s += duration_s;
        }
    }

    /// The question's smiles are there: it is asked.
    pub fn show(&mut self) {
        if self.stage == Stage::Preparing {
            self.stage = Stage::Asked;
            self.shown_s = self.run_s;
            self.asked_s = 0.0;
        }
    }

    /// Marks an answer and gives the row to store; `None` when no question is asked.
    ///
    /// # Errors
    /// [`AnswerError`]; the question then stays asked.
    pub fn answer(
        &mut self,
        answer: Answer,
        device: InputDevice,
    ) -> Result<Option<AnswerRow>, AnswerError> {
        let (Stage::Asked, Some(question)) = (self.stage, self.question()) else {
            return Ok(None);
        };
        let mark = question.mark_worded(&answer, self.wording)?;
        let times =
            Times { shown_s: self.shown_s, answer_s: self.run_s, response_time_s: self.asked_s };
        let row = self.round.row(question, self.mode, &answer, &mark, times, device);
        self.stage = Stage::Marked;
        self.last = Some((answer, mark));
        Ok(Some(row))
    }

    /// On to the next question, or to the end.
    pub fn go_on(&mut self) {
        if self.stage == Stage::Marked {
            self.index += 1;
            self.last = None;
            let is_over = !self.is_open && self.index >= self.round.questions.len();
            self.stage = if is_over { Stage::Finished } else { Stage::Preparing };
        }
    }

    /// Ends the round where it is.
    pub fn stop(&mut self) {
        self.index = self.answered();
        self.stage = Stage::Finished;
        self.last = None;
    }
}

/// When a question was asked and answered.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Times {
    /// When the question was there, s since the run began.
    pub shown_s: f64,
    /// When it was answered, s since the run began.
    pub answer_s: f64,
    /// Time to the answer, s, without pauses.
    pub response_time_s: f64,
}

impl Round {
    /// What is stored about an answer to one of the round's questions. `mode` is stored as given.
    #[must_use]
    pub fn row(
        &self,
        question: &Question,
        mode: &str,
        answer: &Answer,
        mark: &Mark,
        times: Times,
        device: InputDevice,
    ) -> AnswerRow {
        let light = question.sights.first().map(|sight| json!(sight.case.illuminant));
        let sights = question.sights.iter().map(|s| sight_to_json(&s.name, &s.case));
        AnswerRow {
            number: question.number,
            task: self.exercise.to_owned(),
            mode: mode.to_owned(),
            level: self.level_id.clone(),
            seed_key: question.seed_key.clone(),
            is_catch: question.catch,
            light: light.and_then(|light| light.as_str().map(str::to_owned)),
            sights: sights.collect::<Vec<Value>>().into(),
            truth: mark.truth.clone(),
            answer: answer.to_json(),
            score: mark.score,
            regret_de00: mark.regret_de00,
            correct: mark.right,
            shown_s: times.shown_s,
            answer_s: times.answer_s,
            response_time_s: times.response_time_s,
            input_device: device,
        }
    }
}

/// Answers from which the round's summary gives means with intervals.
const FEWEST: usize = 6;

/// What came of a round's answers, from what is stored.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundTally {
    /// Questions answered.
    pub answered: usize,
    /// Mean score, 0..100, of those that count; `None` where none does.
    pub mean_score: Option<f64>,
    /// Mean regret, ΔE00; `None` where none has one.
    pub mean_regret_de00: Option<f64>,
    /// Right answers, of those that are right or wrong.
    pub right: (usize, usize),
    /// Answers that were not right but close, by their score.
    pub close: usize,
    /// Right answers to the exercise's catches.
    pub right_catches: (usize, usize),
    /// The exercise of the answers, such as `blend`; `None` without answers or where they are mixed.
    pub exercise: Option<String>,
}

impl RoundTally {
    /// The summary of stored answers.
    #[must_use]
    pub fn of(rows: &[AnswerRow]) -> Self {
        let mean = |values: Vec<f64>| {
            (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
        };
        let right = |catches: bool| {
            let judged: Vec<bool> = rows
                .iter()
                .filter(|row| row.is_catch || !catches)
                .filter_map(|row| row.correct)
                .collect();
            (judged.iter().filter(|right| **right).count(), judged.len())
        };
        Self {
            answered: rows.len(),
            mean_score: mean(rows.iter().filter_map(|row| row.score).collect()),
            mean_regret_de00: mean(rows.iter().filter_map(|row| row.regret_de00).collect()),
            right: right(false),
            close: rows
                .iter()
                .filter(|row| row.correct == Some(false))
                .filter(|row| row.score.is_some_and(|score| Grade::of(score) == Grade::Close))
                .count(),
            right_catches: right(true),
            exercise: rows
                .first()
                .map(|row| row.task.clone())
                .filter(|task| rows.iter().all(|row| row.task == *task)),
        }
    }

    /// In plain sentences.
    #[must_use]
    pub fn sentences(&self) -> Vec<String> {
        if self.answered == 0 {
            return vec!["No question was answered.".to_owned()];
        }
        let mut lines =
            vec![format!("{} answered.", count(self.answered, "question", "questions"))];
        if let Some(score) = self.mean_score {
            lines.push(format!("Mean score {score:.0} of 100."));
        }
        // From some answers on, the round's summary gives it with an interval.
        if let Some(regret) = self.mean_regret_de00.filter(|_| self.answered < FEWEST) {
            lines.push(format!(
                "On average {} worse than the best that could be had (0.8 is what half of people \
                 notice).",
                de00(regret)
            ));
        }
        let (right, judged) = self.right;
        if judged > 0 {
            let close = match self.close {
                0 => String::new(),
                close => format!(", {close} more close"),
            };
            let right = count_of(right, judged, "answer", "answers");
            lines.push(format!("{right} right{close}."));
        }
        let (right, judged) = self.right_catches;
        let catches = self.exercise.as_deref().and_then(catch_in_words);
        if let Some(catches) = catches.filter(|_| judged > 0) {
            lines.push(format!("{right} of {judged} right {catches}."));
        }
        lines
    }
}
