//! Choosing, measured: questions of Blend, the gap of each chosen after the answer before.
//!
//! In every five questions one has no acceptable option; in every `options` questions each place
//! is the best one once. Both follow from the seed alone, the gap from the answers.

use super::blend::{BlendAsked, next_question};
use super::{Answer, ExerciseError, Question, Round, Task};
use crate::level::format::{Exercise, Level};
use crate::material::Library;
use crate::psychophysics::{OptionSession, OptionStop, OptionStopReason};
use crate::random::{Purpose, StreamKey};
use rand::RngExt;

/// Id of the measurement in results; no level has it, as ids of levels hold no colon.
pub const CHOICE_ID: &str = "measure:choice";
/// One question in so many has no acceptable option.
const CATCH_EVERY: u32 = 5;

/// A measurement of choosing as it goes on.
#[derive(Debug, Clone)]
pub struct ChoiceMeasurement {
    level: Level,
    seed: u64,
    options: usize,
    session: OptionSession,
}

impl ChoiceMeasurement {
    /// A measurement with the patients and materials of a level of Blend.
    ///
    /// # Errors
    /// [`ExerciseError`] when the level is of another exercise.
    pub fn new(level: Level, seed: u64, stop: OptionStop) -> Result<Self, ExerciseError> {
        let no_case =
            |why: String| ExerciseError::NoCase { level: level.id.clone(), number: 0, why };
        let Exercise::Blend { options, .. } = level.exercise else {
            return Err(no_case("choosing is measured with a level of Blend".to_owned()));
        };
        let options = usize::from(options.max(3));
        let session =
            OptionSession::new(options, stop).map_err(|error| no_case(error.to_string()))?;
        Ok(Self { level, seed, options, session })
    }

    /// The round to begin with: no question yet.
    #[must_use]
    pub fn round(&self) -> Round {
        Round {
            level_id: CHOICE_ID.to_owned(),
            title: "Choosing, measured".to_owned(),
            teaches: String::new(),
            exercise: "blend",
            seed: self.seed,
            questions: Vec::new(),
        }
    }

    /// Most questions that are asked.
    #[must_use]
    pub fn most_questions(&self) -> usize {
        self.session.most_questions()
    }

    fn stream(&self, block: u32) -> rand_chacha::ChaCha8Rng {
        StreamKey { form: CHOICE_ID, seed: self.seed, purpose: Purpose::Schedule, block, trial: 0 }
            .stream()
    }

    /// What the next question is to be like.
    #[must_use]
    pub fn next(&self) -> BlendAsked {
        let number = self.session.questions() as u32;
        let block = number / CATCH_EVERY;
        let catch = self.stream(block).random_range(0..CATCH_EVERY) == number % CATCH_EVERY;
        let count = self.options as u32;
        // Blocks of places after all blocks of catches.
        let mut places: Vec<usize> = (0..self.options).collect();
        let mut stream = self.stream(1_000_000 + number / count);
        for i in (1..places.len()).rev() {
            places.swap(i, stream.random_range(0..=i));
        }
        let best_slot = places[(number % count) as usize];
        BlendAsked { number, catch, best_slot, gap_de00: self.session.next_gap_de00() }
    }

    /// Lays out the next question; takes seconds.
    ///
    /// # Errors
    /// [`ExerciseError`] when the level's ranges leave no such question.
    pub fn lay_out(&self, library: &Library) -> Result<Question, ExerciseError> {
        next_question(&self.level, library, self.seed, &self.next())
    }

    /// Learns from an answer.
    pub fn record(&mut self, question: &Question, answer: &Answer) {
        let choice = match (&question.task, answer) {
            (Task::Blend(task), Answer::Blend(answer)) => task.choice(answer),
            _ => None,
        };
        self.session.record(choice.as_ref());
    }

    /// Why the measurement is over, if it is.
    #[must_use]
    pub fn is_done(&self) -> Option<OptionStopReason> {
        self.session.is_done()
    }
}
