//! Reading what a course's report needs: many trials of forms without building a row for each, and
//! answers to questions.

use super::answer_row::AnswerRow;
use super::sitting::Sitting;
use super::store::{Store, StoreError};

/// What a report needs of a stored trial; texts are borrowed from the row being read.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormTrial<'a> {
    /// Session number in this store.
    pub session: i64,
    /// What names the trial's random streams.
    pub seed_key: &'a str,
    /// Number of teeth that could be answered.
    pub teeth: u32,
    /// Restored tooth, 1 at the viewer's left, 0 none.
    pub target: u32,
    /// Tooth named, 1 at the viewer's left; `None` for "none" and for no answer.
    pub named: Option<u32>,
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

/// A session of a course.
#[derive(Debug, Clone, PartialEq)]
pub struct CourseSession {
    /// Its number in this store.
    pub session: i64,
    /// Whose it is.
    pub sitting: Sitting,
    /// The day it began.
    pub day: String,
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
            Some(CourseSession { session: stored.session, sitting, day })
        };
        Ok(sessions.into_iter().filter_map(of_course).collect())
    }

    /// Shows every answer to a question that was given in a course, with whose it is, in the order of
    /// sessions and questions.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read or a row holds an impossible value.
    pub fn course_answers(
        &self,
        mut each: impl FnMut(&Sitting, &AnswerRow),
    ) -> Result<(), StoreError> {
        self.run(|connection| {
            let mut statement = connection.prepare(
                "SELECT a.*, s.settings AS session_settings
                 FROM answer a JOIN session s ON s.id = a.session
                 WHERE json_extract(s.settings, '$.course.learner') IS NOT NULL
                 ORDER BY a.session, a.number",
            )?;
            let mut rows = statement.query([])?;
            while let Some(row) = rows.next()? {
                let settings = serde_json::from_str(row.get_ref("session_settings")?.as_str()?);
                let Some(sitting) = settings.ok().and_then(|s| Sitting::of(&s)) else { continue };
                each(&sitting, &AnswerRow::read(row)?);
            }
            Ok(())
        })
    }

    /// Shows every trial of the sessions whose settings name a form, in the order of sessions and
    /// trials.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn form_trials(&self, mut each: impl FnMut(FormTrial<'_>)) -> Result<(), StoreError> {
        self.run(|connection| {
            let mut statement = connection.prepare(
                "SELECT t.session, t.seed_key, t.n_teeth, t.target_pos, t.response_pos, t.timeout,
                        t.x_de00, t.dl00, t.dc00, t.dh00, t.u_resid, t.t_mask - t.t_on,
                        t.exposure_req, t.exposure_actual, t.frame_ms_max, t.response_time
                 FROM trial t JOIN session s ON s.id = t.session
                 WHERE json_extract(s.settings, '$.course.form') IS NOT NULL
                 ORDER BY t.session, t.trial",
            )?;
            let mut rows = statement.query([])?;
            while let Some(row) = rows.next()? {
                let part = |i: usize| {
                    Ok::<f64, rusqlite::Error>(row.get::<_, Option<f64>>(i)?.unwrap_or(0.0))
                };
                each(FormTrial {
                    session: row.get(0)?,
                    seed_key: row.get_ref(1)?.as_str()?,
                    teeth: row.get(2)?,
                    target: row.get(3)?,
                    named: row.get(4)?,
                    timed_out: row.get(5)?,
                    de00: [part(6)?, part(7)?, part(8)?, part(9)?],
                    residuals: row.get_ref(10)?.as_str()?,
                    exposure_s: row.get(11)?,
                    frames: (row.get(12)?, row.get(13)?, row.get(14)?),
                    response_s: row.get(15)?,
                });
            }
            Ok(())
        })
    }
}
