//! Choosing, measured: questions of Blend, the gap of each chosen after the answer before.
//!
//! In every five questions that are new one has no acceptable option; in every `options` of them each
//! place is the best one once; and in every eight questions one asks an earlier one again, mirrored.
//! All of that follows from the seed alone, the gap from the answers. A repeat says how alike somebody
//! chooses; it is no second piece of evidence on what they prefer, and neither moves the gap nor
//! counts towards the end but as a question asked.
//!
//! # Going on
//! Each answer's truth keeps why the question was asked (`blend::MeasuredAs`: the gap, and of a
//! repeat the question and the places). [`ChoiceMeasurement::resumed`] takes a fresh measurement
//! through the stored rows: number, seed, catch, place of the best, repeat and every bit of the gap
//! must be those it would have asked; then `check` lays the latest new question out again and
//! compares smiles and truth with the row. So the next question is the same to the last bit, and
//! nothing but the rows is kept. What cannot be replayed (changed files, other materials, earlier
//! versions) is said with question and reason; its rows stay, and a new measurement begins.

use super::blend::{BlendAsked, MeasuredAs, mirrored, next_question};
use super::choice_stored::{StoredChoice, StoredChoiceError};
use super::seeing::shuffle;
use super::{Answer, ExerciseError, Question, Round, Task};
use crate::level::format::{Exercise, Level};
use crate::material::Library;
use crate::psychophysics::{OptionChoice, OptionSession, OptionStop, OptionStopReason};
use crate::random::{Purpose, StreamKey};
use crate::results::{AnswerRow, sight_to_json};
use rand::RngExt;
use serde_json::Value;
use thiserror::Error;

/// Id of the measurement in results; no level has it, as ids of levels hold no colon.
pub const CHOICE_ID: &str = "measure:choice";
/// One new question in so many has no acceptable option.
const CATCH_EVERY: u32 = 5;
/// One question in so many repeats an earlier one: 12.5 %. A setting of this program.
const REPEAT_EVERY: u32 = 8;
/// From a question to its repeat at least: four others come between. A setting of this program.
const REPEAT_AFTER: u32 = 5;
/// Where blocks of places begin among the streams of the schedule, and where those of repeats do.
const PLACES: u32 = 1_000_000;
const REPEATS: u32 = 2_000_000;

/// Why a measurement cannot go on from what is stored.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ResumeError {
    /// It cannot be measured at all.
    #[error(transparent)]
    Exercise(#[from] ExerciseError),
    /// An answer cannot be read.
    #[error("answer {} cannot be read: {source}", number + 1)]
    Unreadable {
        /// 0-based number of the question.
        number: u32,
        /// What is wrong with it.
        source: StoredChoiceError,
    },
    /// A question is not the one that the answers before it lead to.
    #[error(
        "question {} is not what the answers before it lead to ({what}): the results file was \
         changed, or comes from another version",
        number + 1
    )]
    Other {
        /// 0-based number of the question.
        number: u32,
        /// What differs.
        what: &'static str,
    },
    /// More is stored than would have been asked.
    #[error("it was over after {0} questions, yet more are stored")]
    Over(usize),
}

/// A measurement of choosing as it goes on.
#[derive(Debug, Clone)]
pub struct ChoiceMeasurement {
    level: Level,
    seed: u64,
    options: usize,
    session: OptionSession,
    /// Of every question so far, how it was laid out; of a repeat, the question repeated.
    asked: Vec<BlendAsked>,
    /// Of every question that may come, the earlier one that it repeats.
    repeats: Vec<Option<u32>>,
}

/// What the next question is to be like.
#[derive(Debug, Clone, PartialEq)]
pub struct ChoiceAsked {
    /// 0-based number in the measurement.
    pub number: u32,
    /// How the question is laid out; of a repeat, the question repeated.
    pub blend: BlendAsked,
    /// Of a repeat: the place that each option, in the order shown, had in the question repeated.
    pub places: Option<Vec<usize>>,
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
        let repeats = repeats(seed, session.most_questions() as u32);
        Ok(Self { level, seed, options, session, asked: Vec::new(), repeats })
    }

    /// This measurement at its start, taken on through stored answers: where it then stands is where
    /// it stood when the last of them was given, and it asks the same next.
    ///
    /// # Errors
    /// [`ResumeError`] when an answer cannot be read or does not follow from those before it.
    pub fn resumed(mut self, rows: &[AnswerRow]) -> Result<Self, ResumeError> {
        for row in rows {
            if self.is_done().is_some() {
                return Err(ResumeError::Over(self.session.questions()));
            }
            let next = self.next();
            let stored = StoredChoice::read(row)
                .map_err(|source| ResumeError::Unreadable { number: row.number, source })?;
            if let Some(what) = self.unlike(&next, row, &stored) {
                return Err(ResumeError::Other { number: row.number, what });
            }
            self.learn(next, stored.choice().as_ref());
        }
        Ok(self)
    }

    /// What of a stored answer's question is not as asked; `None` where all of it is.
    fn unlike(
        &self,
        next: &ChoiceAsked,
        row: &AnswerRow,
        stored: &StoredChoice,
    ) -> Option<&'static str> {
        let repeated = self.repeats.get(next.number as usize).copied().flatten();
        let seed_key = format!("{}/{}/0/{}", self.level.id, self.seed, next.blend.number);
        let Some(measured) = &stored.measured else { return Some("its gap was not kept") };
        let is_alike = [
            (row.number == next.number, "its number"),
            (row.level == CHOICE_ID && row.seed_key == seed_key, "its seed"),
            (row.is_catch == next.blend.catch, "whether anything is acceptable"),
            (stored.options.len() == self.options, "the number of options"),
            (measured.gap_de00.to_bits() == next.blend.gap_de00.to_bits(), "its gap"),
            (measured.repeat_of == repeated, "what it repeats"),
            (measured.places == next.places.clone().unwrap_or_default(), "its places"),
            (next.places.is_some() || stored.best == next.blend.best_slot, "the best one's place"),
        ];
        is_alike.into_iter().find(|(alike, _)| !alike).map(|(_, what)| what)
    }

    /// Lays the latest new question of stored answers out again, which must give what is stored: the
    /// same patient, the same restorations, the same truth. Takes seconds.
    ///
    /// # Errors
    /// [`ResumeError`] when it does not, as with other materials or another version of the model.
    pub fn check(&self, rows: &[AnswerRow], library: &Library) -> Result<(), ResumeError> {
        let is_new = |row: &&AnswerRow| self.repeats.get(row.number as usize) == Some(&None);
        let Some(row) = rows.iter().rev().find(is_new) else { return Ok(()) };
        let Some(blend) = self.asked.get(row.number as usize) else { return Ok(()) };
        let unreadable = |source| ResumeError::Unreadable { number: row.number, source };
        let answer = StoredChoice::read(row).map_err(unreadable)?.answer;
        let question = self.lay_out_new(blend, library)?;
        let mark = question
            .mark(&Answer::Blend(answer))
            .map_err(|error| unreadable(StoredChoiceError::Answer(error.to_string())))?;
        let sights = question.sights.iter().map(|sight| sight_to_json(&sight.name, &sight.case));
        if Value::from(sights.collect::<Vec<Value>>()) != row.sights {
            return Err(ResumeError::Other { number: row.number, what: "its smiles" });
        }
        if mark.truth != row.truth {
            return Err(ResumeError::Other { number: row.number, what: "its truth" });
        }
        Ok(())
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

    /// Questions answered so far.
    #[must_use]
    pub fn questions(&self) -> usize {
        self.session.questions()
    }

    fn stream(&self, block: u32) -> rand_chacha::ChaCha8Rng {
        stream(self.seed, block)
    }

    /// What the next question is to be like.
    #[must_use]
    pub fn next(&self) -> ChoiceAsked {
        let number = self.session.questions() as u32;
        let repeated = self.repeats.get(number as usize).copied().flatten();
        if let Some(blend) = repeated.and_then(|of| self.asked.get(of as usize)) {
            return ChoiceAsked { number, blend: *blend, places: Some(self.places(number)) };
        }
        let before = self.repeats.iter().take(number as usize).flatten().count() as u32;
        let new = number - before;
        let block = new / CATCH_EVERY;
        let catch = self.stream(block).random_range(0..CATCH_EVERY) == new % CATCH_EVERY;
        let count = self.options as u32;
        let mut places: Vec<usize> = (0..self.options).collect();
        shuffle(&mut places, &mut self.stream(PLACES + new / count));
        let best_slot = places[(new % count) as usize];
        let gap_de00 = self.session.next_gap_de00();
        ChoiceAsked {
            number,
            blend: BlendAsked { number, catch, best_slot, gap_de00 },
            places: None,
        }
    }

    /// Which option of the question repeated stands in each place: none in its own.
    fn places(&self, number: u32) -> Vec<usize> {
        let mut stream = self.stream(REPEATS + PLACES + number);
        let mut places: Vec<usize> = (0..self.options).collect();
        // By chance more than one order in three is one; if never, all move on by one.
        for _ in 0..64 {
            shuffle(&mut places, &mut stream);
            if places.iter().enumerate().all(|(place, from)| place != *from) {
                return places;
            }
        }
        (0..self.options).map(|place| (place + 1) % self.options).collect()
    }

    /// Lays out the next question; takes seconds.
    ///
    /// # Errors
    /// [`ExerciseError`] when the level's ranges leave no such question.
    pub fn lay_out(&self, library: &Library) -> Result<Question, ExerciseError> {
        let next = self.next();
        let question = self.lay_out_new(&next.blend, library)?;
        match next.places {
            Some(places) => mirrored(&question, next.number, &places, library),
            None => Ok(question),
        }
    }

    fn lay_out_new(
        &self,
        blend: &BlendAsked,
        library: &Library,
    ) -> Result<Question, ExerciseError> {
        let mut question = next_question(&self.level, library, self.seed, blend)?;
        if let Task::Blend(task) = &mut question.task {
            let gap_de00 = blend.gap_de00;
            task.measured = Some(MeasuredAs { gap_de00, repeat_of: None, places: Vec::new() });
        }
        Ok(question)
    }

    /// Learns from an answer.
    pub fn record(&mut self, question: &Question, answer: &Answer) {
        let choice = match (&question.task, answer) {
            (Task::Blend(task), Answer::Blend(answer)) => task.choice(answer),
            _ => None,
        };
        self.learn(self.next(), choice.as_ref());
    }

    fn learn(&mut self, asked: ChoiceAsked, choice: Option<&OptionChoice>) {
        self.asked.push(asked.blend);
        self.session.record(choice.filter(|_| asked.places.is_none()));
    }

    /// Why the measurement is over, if it is.
    #[must_use]
    pub fn is_done(&self) -> Option<OptionStopReason> {
        self.session.is_done()
    }
}

fn stream(seed: u64, block: u32) -> rand_chacha::ChaCha8Rng {
    StreamKey { form: CHOICE_ID, seed, purpose: Purpose::Schedule, block, trial: 0 }.stream()
}

/// Which earlier question each of so many repeats: one in every [`REPEAT_EVERY`], of any earlier one
/// that is new, far enough back and not repeated yet.
fn repeats(seed: u64, most: u32) -> Vec<Option<u32>> {
    let mut repeats: Vec<Option<u32>> = vec![None; most as usize];
    for block in 0..most.div_ceil(REPEAT_EVERY) {
        let mut stream = stream(seed, REPEATS + block);
        let first = (block * REPEAT_EVERY).max(REPEAT_AFTER);
        let number = stream.random_range(first..(block + 1) * REPEAT_EVERY);
        let is_free = |of: &u32| repeats[*of as usize].is_none() && !repeats.contains(&Some(*of));
        let free: Vec<u32> = (0..=number - REPEAT_AFTER)
            .filter(|of| (*of as usize) < repeats.len())
            .filter(is_free)
            .collect();
        let of = free.get(stream.random_range(0..free.len().max(1))).copied();
        if let Some(slot) = repeats.get_mut(number as usize) {
            *slot = of;
        }
    }
    repeats
}
