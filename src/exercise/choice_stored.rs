//! A stored answer of Blend, read back for what it says about the learner.

use super::BlendAnswer;
use super::blend::MeasuredAs;
use crate::bake::ZoneDifference;
use crate::psychophysics::{OptionChoice, SeenOption};
use crate::results::AnswerRow;
use serde_json::Value;
use thiserror::Error;

/// Why a stored answer cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum StoredChoiceError {
    /// It answers another exercise.
    #[error("it is of the exercise `{0}`")]
    OtherExercise(String),
    /// The answer is none to such a question.
    #[error("the answer {0}")]
    Answer(String),
    /// The truth lacks something.
    #[error("its truth does not say {0}")]
    Truth(&'static str),
}

/// A stored answer of Blend.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredChoice {
    /// 0-based number in its session.
    pub number: u32,
    /// The options in the order shown.
    pub options: Vec<SeenOption>,
    /// The option nearest the twin, 0-based.
    pub best: usize,
    /// What was answered.
    pub answer: BlendAnswer,
    /// How a measurement came to ask it; `None` in practice and in results of earlier versions.
    pub measured: Option<MeasuredAs>,
    /// Difference of the picked option less that of the best, ΔE00.
    pub regret_de00: Option<f64>,
}

impl StoredChoice {
    /// Reads a row.
    ///
    /// # Errors
    /// [`StoredChoiceError`] when the row is of another exercise or not whole.
    pub fn read(row: &AnswerRow) -> Result<Self, StoredChoiceError> {
        if row.task != "blend" {
            return Err(StoredChoiceError::OtherExercise(row.task.clone()));
        }
        let options = row.truth["options"].as_array().filter(|options| options.len() >= 2);
        let options: Vec<SeenOption> = options
            .and_then(|options| options.iter().map(seen).collect())
            .ok_or(StoredChoiceError::Truth("how the options differ"))?;
        let place = |value: &Value| {
            value.as_u64().map(|place| place as usize).filter(|place| *place < options.len())
        };
        let best = place(&row.truth["best"]).ok_or(StoredChoiceError::Truth("which is best"))?;
        let answer: BlendAnswer = serde_json::from_value(row.answer.clone())
            .map_err(|error| StoredChoiceError::Answer(format!("is no answer to it: {error}")))?;
        if answer.best.iter().chain(&answer.acceptable).any(|place| *place >= options.len()) {
            return Err(StoredChoiceError::Answer("names an option that is not there".to_owned()));
        }
        let measured: Option<MeasuredAs> = match row.truth.get("measured") {
            None => None,
            Some(measured) => serde_json::from_value(measured.clone())
                .ok()
                .filter(|measured: &MeasuredAs| is_order(measured, options.len()))
                .map(Some)
                .ok_or(StoredChoiceError::Truth("why it was asked"))?,
        };
        let regret_de00 = row.regret_de00;
        Ok(Self { number: row.number, options, best, answer, measured, regret_de00 })
    }

    /// What the choice model learns from it; `None` where none was picked.
    #[must_use]
    pub fn choice(&self) -> Option<OptionChoice> {
        let chosen = self.answer.best?;
        Some(OptionChoice { options: self.options.clone(), chosen })
    }

    /// The question that this one repeats, 0-based.
    #[must_use]
    pub fn repeat_of(&self) -> Option<u32> {
        self.measured.as_ref()?.repeat_of
    }

    /// The place that an option of this question had in the question it repeats.
    pub(super) fn place_before(&self, place: usize) -> Option<usize> {
        self.measured.as_ref()?.places.get(place).copied()
    }

    /// Whether an option was picked or ticked.
    pub(super) fn accepts(&self, place: usize) -> bool {
        self.answer.best == Some(place) || self.answer.acceptable.contains(&place)
    }
}

/// Whether a repeat names every place once, and others name none.
fn is_order(measured: &MeasuredAs, options: usize) -> bool {
    let mut places = measured.places.clone();
    places.sort_unstable();
    match measured.repeat_of {
        Some(_) => places.into_iter().eq(0..options),
        None => places.is_empty(),
    }
}

fn seen(option: &Value) -> Option<SeenOption> {
    let (de00, dl00) = (option["de00"].as_f64()?, option["dl00"].as_f64()?);
    Some(SeenOption::of(&ZoneDifference { de00, dl00, ..ZoneDifference::default() }))
}
