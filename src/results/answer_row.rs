//! One stored answer to a question.

use crate::results::export::{Selection, Table};
use crate::results::session_row::Recording;
use crate::results::store::Store;
use crate::results::store_error::{StoreError, classify};
use crate::results::trial_row::{device_named, parsed, recipe, unreadable};
use crate::scene::Case;
use crate::trial::InputDevice;
use serde_json::{Value, json};
use std::io::Write;

/// Everything stored about the answer to one question.
/// [`ANSWER_COLUMNS`](crate::results::ANSWER_COLUMNS) says what each exported column means.
#[derive(Debug, Clone, PartialEq)]
pub struct AnswerRow {
    /// 0-based question in the session.
    pub number: u32,
    /// The exercise, such as `blend`.
    pub task: String,
    /// The mode, such as `practice`.
    pub mode: String,
    /// The level's id.
    pub level: String,
    /// What names the question's random streams: `level/seed/0/number`.
    pub seed_key: String,
    /// Whether it is one of the exercise's catches.
    pub is_catch: bool,
    /// Light of the first smile, such as `D65`; `None` where there are only patches.
    pub light: Option<String>,
    /// The smiles that could be looked at, each as [`sight_to_json`] writes it.
    pub sights: Value,
    /// The truth: options with their differences, the best, the acceptable.
    pub truth: Value,
    /// The answer.
    pub answer: Value,
    /// 0 to 100; `None` where the answer counts neither way.
    pub score: Option<f64>,
    /// How much worse than the best that could be had, ΔE00.
    pub regret_de00: Option<f64>,
    /// Whether it was right, where there is right and wrong.
    pub correct: Option<bool>,
    /// When the question was there, s since the run began.
    pub shown_s: f64,
    /// When it was answered, s since the run began.
    pub answer_s: f64,
    /// Time to the answer, s, without pauses.
    pub response_time_s: f64,
    /// Which device the answer came from.
    pub input_device: InputDevice,
}

/// A smile that could be looked at, as it is stored: its name, seed, light and restorations.
#[must_use]
pub fn sight_to_json(name: &str, case: &Case) -> Value {
    let restorations: Vec<Value> = case
        .restorations
        .iter()
        .map(|restoration| {
            let mut stored = recipe(restoration);
            if let Value::Object(fields) = &mut stored {
                fields.insert("tooth".to_owned(), json!(restoration.tooth.number()));
            }
            stored
        })
        .collect();
    json!({
        "name": name,
        // Text, as in the other tables: JSON readers keep only 53 bits of a number.
        "scene_seed": case.seed.to_string(),
        "light": case.illuminant,
        "restorations": restorations,
    })
}

impl AnswerRow {
    /// Writes the row for `session`. `id` is left to the file.
    pub(super) fn insert(
        &self,
        connection: &rusqlite::Connection,
        session: i64,
        run: u32,
    ) -> rusqlite::Result<()> {
        connection
            .prepare_cached(
                "INSERT INTO answer (
                    session, run, number, task, mode, level, seed_key, is_catch, light, sights,
                    truth, answer, score, regret_de00, correct, t_shown, t_answer, response_time,
                    input_device
                ) VALUES (
                    :session, :run, :number, :task, :mode, :level, :seed_key, :is_catch, :light,
                    :sights, :truth, :answer, :score, :regret_de00, :correct, :t_shown, :t_answer,
                    :response_time, :input_device
                )",
            )?
            .execute(rusqlite::named_params! {
                ":session": session,
                ":run": run,
                ":number": self.number,
                ":task": self.task,
                ":mode": self.mode,
                ":level": self.level,
                ":seed_key": self.seed_key,
                ":is_catch": self.is_catch,
                ":light": self.light,
                ":sights": self.sights.to_string(),
                ":truth": self.truth.to_string(),
                ":answer": self.answer.to_string(),
                ":score": self.score,
                ":regret_de00": self.regret_de00,
                ":correct": self.correct,
                ":t_shown": self.shown_s,
                ":t_answer": self.answer_s,
                ":response_time": self.response_time_s,
                ":input_device": self.input_device.name(),
            })?;
        Ok(())
    }

    /// Reads a row of `SELECT * FROM answer`.
    pub(super) fn read(row: &rusqlite::Row<'_>) -> rusqlite::Result<Self> {
        let json = |column: &str| parsed(row, column)?.ok_or_else(|| unreadable(column, "NULL"));
        Ok(Self {
            number: row.get("number")?,
            task: row.get("task")?,
            mode: row.get("mode")?,
            level: row.get("level")?,
            seed_key: row.get("seed_key")?,
            is_catch: row.get("is_catch")?,
            light: row.get("light")?,
            sights: json("sights")?,
            truth: json("truth")?,
            answer: json("answer")?,
            score: row.get("score")?,
            regret_de00: row.get("regret_de00")?,
            correct: row.get("correct")?,
            shown_s: row.get("t_shown")?,
            answer_s: row.get("t_answer")?,
            response_time_s: row.get("response_time")?,
            input_device: device_named(&row.get::<_, String>("input_device")?)?,
        })
    }
}

/// Storing and reading answers.
impl Store {
    /// Stores the answer to a question. When this returns, it is in the file, whatever happens to
    /// the process.
    ///
    /// # Errors
    /// [`StoreError::AlreadyStored`] for a question that the session has an answer to,
    /// [`StoreError::NoSession`], [`StoreError::Finished`], or a write failure.
    pub fn append_answer(&self, recording: Recording, row: &AnswerRow) -> Result<(), StoreError> {
        self.refuse_unless_open(recording.session)?;
        match row.insert(&self.connection, recording.session, recording.run) {
            Ok(()) => Ok(()),
            Err(rusqlite::Error::SqliteFailure(e, _))
                if e.extended_code == rusqlite::ffi::SQLITE_CONSTRAINT_UNIQUE =>
            {
                Err(StoreError::AlreadyStored { session: recording.session, trial: row.number })
            }
            Err(error) => Err(classify(&self.path, error)),
        }
    }

    /// The stored answers of a session in order; none for a session that does not exist.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read or a row holds an impossible value.
    pub fn answers(&self, session: i64) -> Result<Vec<AnswerRow>, StoreError> {
        self.run(|connection| {
            connection
                .prepare("SELECT * FROM answer WHERE session = ?1 ORDER BY number")?
                .query_map([session], AnswerRow::read)?
                .collect()
        })
    }

    /// Every stored answer of an exercise such as `blend` given in a mode such as `practice`, the
    /// oldest first.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read or a row holds an impossible value.
    pub fn answers_of(&self, task: &str, mode: &str) -> Result<Vec<AnswerRow>, StoreError> {
        self.run(|connection| {
            connection
                .prepare("SELECT * FROM answer WHERE task = ?1 AND mode = ?2 ORDER BY id")?
                .query_map([task, mode], AnswerRow::read)?
                .collect()
        })
    }

    /// Writes answers to questions as CSV with the columns of
    /// [`ANSWER_COLUMNS`](crate::results::ANSWER_COLUMNS): those of one
    /// session, or all. Missing values are `n/a`; dates are cut to the day. Returns the number of
    /// rows.
    ///
    /// # Errors
    /// [`StoreError`] when reading or writing fails.
    pub fn export_answers_csv(
        &self,
        session: Option<i64>,
        to: impl Write,
    ) -> Result<u64, StoreError> {
        let selection = Selection { session, ..Selection::default() };
        self.export_table(Table::Answers, selection, b',', to).map_err(StoreError::from_export)
    }
}
