//! One answered question of a course.

use crate::bake::ZoneDifference;
use crate::psychophysics::SeenOption;
use crate::results::AnswerRow;

/// The exercise whose options are known one by one.
const BLEND: &str = "blend";

/// One answered question of a course.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseAnswer {
    /// Whose it is.
    pub learner: String,
    /// The exercise, such as `blend`.
    pub exercise: String,
    /// What names the question: `level/seed/0/number`.
    pub question: String,
    /// 0-based number in its round.
    pub number: u32,
    /// Whether it is one of the exercise's catches.
    pub is_catch: bool,
    /// Whether it was right, where there is right and wrong.
    pub right: Option<bool>,
    /// 0 to 100; `None` where it counts neither way.
    pub score: Option<f64>,
    /// How much worse than the best that could be had, ΔE00.
    pub regret_de00: Option<f64>,
    /// The options of a question of Blend, in the order shown.
    pub options: Vec<SeenOption>,
    /// The option picked, 0-based; `None` for "none", and in other exercises.
    pub picked: Option<usize>,
}

impl CourseAnswer {
    /// A stored answer.
    #[must_use]
    pub fn new(learner: &str, row: &AnswerRow) -> Self {
        let is_blend = row.task == BLEND;
        let options = row.truth["options"].as_array().filter(|_| is_blend);
        let seen = |option: &serde_json::Value| {
            let (de00, dl00) = (option["de00"].as_f64()?, option["dl00"].as_f64()?);
            Some(SeenOption::of(&ZoneDifference { de00, dl00, ..ZoneDifference::default() }))
        };
        let options: Vec<SeenOption> =
            options.into_iter().flatten().map(seen).collect::<Option<_>>().unwrap_or_default();
        let picked = row.answer["best"].as_u64().map(|best| best as usize);
        Self {
            learner: learner.to_owned(),
            exercise: row.task.clone(),
            question: row.seed_key.clone(),
            number: row.number,
            is_catch: row.is_catch,
            right: row.correct,
            score: row.score,
            regret_de00: row.regret_de00,
            picked: picked.filter(|picked| *picked < options.len()),
            options,
        }
    }

    /// What names the round: all of [`Self::question`] but the last part.
    pub(super) fn round(&self) -> &str {
        self.question.rsplit_once('/').map_or(self.question.as_str(), |(round, _)| round)
    }
}
