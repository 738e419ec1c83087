//! Reading what a course's report needs: many trials of forms without building a row for each, and
//! answers to questions.

use super::answer_row::AnswerRow;
use super::bad_row::BadRow;
use super::field::{BadValue, Field};
use super::fields::{self};
use super::not_the_item::NotTheItem;
use super::sitting::Sitting;
use super::store::Store;
use super::store_error::StoreError;
use crate::scene::Tooth;

/// What a report needs of a stored trial; texts are borrowed from the row being read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormTrial<'a> {
    /// Session number in this store.
    pub session: i64,
    /// 0-based trial in the session.
    pub trial: u32,
    /// The level's id.
    pub level: &'a str,
    /// What names the trial's random streams.
    pub seed_key: &'a str,
    /// 0-based block.
    pub block: u32,
    /// Number of teeth that could be answered.
    pub teeth: u32,
    /// Restored tooth, 1 at the viewer's left, 0 none.
    pub target: u32,
    /// The restored tooth.
    pub target_tooth: Option<Tooth>,
    /// Tooth named, 1 at the viewer's left; `None` for "none" and for no answer.
    pub named: Option<u32>,
    /// The tooth named.
    pub named_tooth: Option<Tooth>,
    /// No answer in time.
    pub timed_out: bool,
    /// Achieved difference and its signed parts, ΔE00; 0 without a restoration.
    pub de00: [f64; 4],
    /// Natural residuals, JSON.
    pub residuals: &'a str,
    /// Picture onset to mask onset, s.
    pub exposure_s: f64,
    /// Frames asked for, frames shown, longest frame in ms.
    pub frames: (u32, u32, f64),
    /// Mask onset to answer, s.
    pub response_s: Option<f64>,
}

/// Why a stored row cannot be.
#[derive(Debug, thiserror::Error)]
enum BadTrial {
    #[error(transparent)]
    Value(#[from] BadValue),
    #[error(transparent)]
    Unread(#[from] rusqlite::Error),
    #[error(transparent)]
    Item(#[from] NotTheItem),
}

/// A session of a course.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseSession {
    /// Its number in this store.
    pub session: i64,
    /// Whose it is.
    pub sitting: Sitting,
    /// The day it began.
    pub day: String,
    /// Its seed: the form's.
    pub seed: u64,
    /// Smiles that it was planned for.
    pub planned: u32,
}

impl Store {
    /// Sessions of courses in which forms were sat, oldest first.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn course_sessions(&self) -> Result<Vec<CourseSession>, StoreError> {
        let sessions = self.sessions()?;
        let of_course = |stored: super::StoredSession| {
            let sitting = Sitting::of(&stored.info.settings)?;
            sitting.form.as_ref()?;
            let day = stored.info.started_at.get(..10).unwrap_or_default().to_owned();
            let (seed, planned) = (stored.info.seed, stored.info.planned_trials);
            Some(CourseSession { session: stored.session, sitting, day, seed, planned })
        };
        Ok(sessions.into_iter().filter_map(of_course).collect())
    }

    /// The ids of courses that sessions belong to, in alphabetical order.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn courses(&self) -> Result<Vec<String>, StoreError> {
        self.run(|connection| {
            connection
                .prepare(
                    "SELECT DISTINCT json_extract(settings, '$.course.course') AS course
                     FROM session WHERE course IS NOT NULL ORDER BY course",
                )?
                .query_map([], |row| row.get(0))?
                .collect()
        })
    }

    /// Shows every answer to a question that was given in a course, with whose it is, in the order of
    /// sessions and questions. Those that cannot be are not shown but returned.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn course_answers(
        &self,
        mut each: impl FnMut(&Sitting, &AnswerRow),
    ) -> Result<Vec<BadRow>, StoreError> {
        self.run(|connection| {
            let mut bad = Vec::new();
            let mut statement = connection.prepare(
                "SELECT a.*, s.settings AS session_settings
                 FROM answer a JOIN session s ON s.id = a.session
                 WHERE CASE WHEN json_valid(s.settings)
                    THEN json_extract(s.settings, '$.course.learner') END IS NOT NULL
                 ORDER BY a.session, a.number",
            )?;
            let mut rows = statement.query([])?;
            while let Some(row) = rows.next()? {
                let settings = row.get_ref("session_settings")?.as_str().unwrap_or_default();
                let settings = serde_json::from_str(settings);
                let Some(sitting) = settings.ok().and_then(|s| Sitting::of(&s)) else { continue };
                let read = fields::check_stored_answer(row).map_err(BadTrial::from);
                let read = read.and_then(|()| Ok(AnswerRow::read(row)?));
                match read {
                    Ok(answer) => each(&sitting, &answer),
                    Err(error) => bad.push(BadRow {
                        learner: Some(sitting.learner),
                        session: row.get("session")?,
                        row: Some(("question", row.get("number")?)),
                        what: error.to_string(),
                    }),
                }
            }
            Ok(bad)
        })
    }

    /// Shows every trial of the sessions whose settings name a form, in the order of sessions and
    /// trials. Those that cannot be are not shown but returned, and so are those of which `each` says
    /// what is wrong.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn form_trials(
        &self,
        mut each: impl FnMut(FormTrial<'_>) -> Result<(), NotTheItem>,
    ) -> Result<Vec<BadRow>, StoreError> {
        let columns = COLUMNS.map(|name| format!("t.{name}")).join(", ");
        let rules = COLUMNS.map(fields::of_trials);
        self.run(|connection| {
            let mut bad = Vec::new();
            let mut statement = connection.prepare(&format!(
                "SELECT {columns}, json_extract(s.settings, '$.course.learner')
                 FROM trial t JOIN session s ON s.id = t.session
                 WHERE CASE WHEN json_valid(s.settings)
                    THEN json_extract(s.settings, '$.course.form') END IS NOT NULL
                 ORDER BY t.session, t.trial"
            ))?;
            let mut rows = statement.query([])?;
            while let Some(row) = rows.next()? {
                let read = form_trial(row, &rules).and_then(|trial| Ok(each(trial)?));
                if let Err(error) = read {
                    bad.push(BadRow {
                        learner: row.get(COLUMNS.len()).ok(),
                        session: row.get(0)?,
                        row: Some(("trial", row.get(1)?)),
                        what: error.to_string(),
                    });
                }
            }
            Ok(bad)
        })
    }
}

/// The columns that [`FormTrial`] is read from, in its order.
const COLUMNS: [&str; 22] = [
    "session",
    "trial",
    "level",
    "seed_key",
    "block",
    "n_teeth",
    "target_pos",
    "target_tooth",
    "response_pos",
    "response_tooth",
    "timeout",
    "x_de00",
    "dl00",
    "dc00",
    "dh00",
    "u_resid",
    "t_on",
    "t_mask",
    "exposure_req",
    "exposure_actual",
    "frame_ms_max",
    "response_time",
];

fn form_trial<'a>(
    row: &'a rusqlite::Row<'_>,
    rules: &[Option<&'static Field>],
) -> Result<FormTrial<'a>, BadTrial> {
    for (i, rule) in rules.iter().enumerate() {
        let value = row.get_ref(i)?;
        rule.map_or(Ok(()), |rule| rule.check(value))?;
    }
    Ok(read_form_trial(row)?)
}

fn read_form_trial<'a>(row: &'a rusqlite::Row<'_>) -> rusqlite::Result<FormTrial<'a>> {
    let text = |i: usize| Ok::<&str, rusqlite::Error>(row.get_ref(i)?.as_str()?);
    let part = |i: usize| Ok::<f64, rusqlite::Error>(row.get::<_, Option<f64>>(i)?.unwrap_or(0.0));
    let tooth = |i: usize| -> rusqlite::Result<Option<Tooth>> {
        Ok(row.get::<_, Option<u8>>(i)?.and_then(|number| Tooth::new(number).ok()))
    };
    let (on, mask): (f64, f64) = (row.get(16)?, row.get(17)?);
    Ok(FormTrial {
        session: row.get(0)?,
        trial: row.get(1)?,
        level: text(2)?,
        seed_key: text(3)?,
        block: row.get(4)?,
        teeth: row.get(5)?,
        target: row.get(6)?,
        target_tooth: tooth(7)?,
        named: row.get(8)?,
        named_tooth: tooth(9)?,
        timed_out: row.get(10)?,
        de00: [part(11)?, part(12)?, part(13)?, part(14)?],
        residuals: text(15)?,
        exposure_s: mask - on,
        frames: (row.get(18)?, row.get(19)?, row.get(20)?),
        response_s: row.get(21)?,
    })
}
