//! Measurements: their configuration, their trials and how sure the instrument is.
//!
//! A measured trial is two rows, one like every trial's and one with what the instrument needs to
//! go on, written in one transaction with the posterior. So a process that dies loses at most the
//! trial that was under way.

use super::session_row::Recording;
use super::store::Store;
use super::store_error::{StoreError, classify};
use super::trial_row::TrialRow;
use crate::psychophysics::instrument::{Record, Saved};
use rusqlite::{OptionalExtension, named_params};

/// What is kept of a measured trial beside its [`TrialRow`].
#[derive(Debug, Clone, PartialEq)]
pub struct MeasuredTrial {
    /// What the instrument asked, what was shown and answered.
    pub record: Record,
    /// How the difference was made: `ceramic`, `spectral shift` or `none`.
    pub recipe: String,
    /// Why the exposure does not count; `None` where it does.
    pub missed: Option<String>,
    /// The display's refresh rate as estimated at the end of this trial, Hz.
    pub refresh_hz_now: f64,
    /// Time spent measuring before the end of this trial, s, over all runs of the session.
    pub elapsed_s: f64,
}

/// A measurement as stored.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredMeasurement {
    /// All that the instrument needs to go on.
    pub saved: Saved,
    /// The trials, in the order shown.
    pub trials: Vec<MeasuredTrial>,
    /// The posterior after the last of them.
    pub posterior: Vec<u8>,
    /// Why it ended; `None` while it may go on.
    pub ended_because: Option<String>,
}

impl Store {
    /// Makes a session that has begun a measurement. `saved` holds no trials yet.
    ///
    /// # Errors
    /// [`StoreError`] when there is no such open session or the file cannot be written.
    pub fn begin_measurement(
        &self,
        recording: Recording,
        saved: &Saved,
        posterior: &[u8],
    ) -> Result<(), StoreError> {
        self.refuse_unless_open(recording.session)?;
        self.run(|connection| {
            let config = serde_json::to_string(&saved.config).map_err(unwritable)?;
            connection.execute(
                "INSERT INTO measurement (session, config, seed, layout, posterior)
                 VALUES (:session, :config, :seed, :layout, :posterior)",
                named_params! {
                    ":session": recording.session,
                    ":config": config,
                    ":seed": saved.seed.to_string(),
                    ":layout": saved.version,
                    ":posterior": posterior,
                },
            )
        })?;
        Ok(())
    }

    /// Stores a measured trial and the posterior after it: all of it or nothing. When this
    /// returns, it is in the file, whatever happens to the process.
    ///
    /// # Errors
    /// [`StoreError::AlreadyStored`] for a trial number the session has already,
    /// [`StoreError::NoSession`], [`StoreError::Finished`], or a write failure.
    pub fn append_measured(
        &self,
        recording: Recording,
        row: &TrialRow,
        measured: &MeasuredTrial,
        posterior: &[u8],
    ) -> Result<(), StoreError> {
        let failed = |e| classify(&self.path, e);
        let record = serde_json::to_string(&measured.record).map_err(|e| failed(unwritable(e)))?;
        let transaction = self.writing().map_err(failed)?;
        self.append(recording, row)?;
        transaction
            .execute(
                "INSERT INTO measured_trial
                    (session, trial, record, recipe, missed, refresh_hz_now, elapsed_s)
                 VALUES (:session, :trial, :record, :recipe, :missed, :refresh_hz_now, :elapsed_s)",
                named_params! {
                    ":session": recording.session,
                    ":trial": row.outcome.trial,
                    ":record": record,
                    ":recipe": measured.recipe,
                    ":missed": measured.missed,
                    ":refresh_hz_now": measured.refresh_hz_now,
                    ":elapsed_s": measured.elapsed_s,
                },
            )
            .map_err(failed)?;
        transaction
            .execute(
                "UPDATE measurement SET posterior = ?2 WHERE session = ?1",
                (recording.session, posterior),
            )
            .map_err(failed)?;
        transaction.commit().map_err(failed)
    }

    /// Marks a measurement ended and its session finished.
    ///
    /// # Errors
    /// [`StoreError::NoSession`], [`StoreError::Finished`], or a write failure.
    pub fn end_measurement(
        &self,
        recording: Recording,
        because: &str,
        finished_at: &str,
    ) -> Result<(), StoreError> {
        self.run(|connection| {
            connection.execute(
                "UPDATE measurement SET ended_because = ?2 WHERE session = ?1",
                (recording.session, because),
            )
        })?;
        self.finish(recording, finished_at)
    }

    /// The measurement of a session; `None` where the session has none.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read or a row holds an impossible value.
    pub fn measurement(&self, session: i64) -> Result<Option<StoredMeasurement>, StoreError> {
        self.run(|connection| {
            let head = connection
                .query_row(
                    "SELECT config, seed, layout, posterior, ended_because FROM measurement
                     WHERE session = ?1",
                    [session],
                    |row| {
                        let (config, seed): (String, String) = (row.get(0)?, row.get(1)?);
                        let config = serde_json::from_str(&config).map_err(unreadable)?;
                        let seed = seed.parse().map_err(unreadable)?;
                        let saved =
                            Saved { version: row.get(2)?, config, seed, records: Vec::new() };
                        Ok((saved, row.get(3)?, row.get(4)?))
                    },
                )
                .optional()?;
            let Some((mut saved, posterior, ended_because)) = head else { return Ok(None) };
            let trials: Vec<MeasuredTrial> = connection
                .prepare("SELECT * FROM measured_trial WHERE session = ?1 ORDER BY trial")?
                .query_map([session], |row| {
                    let record: String = row.get("record")?;
                    Ok(MeasuredTrial {
                        record: serde_json::from_str(&record).map_err(unreadable)?,
                        recipe: row.get("recipe")?,
                        missed: row.get("missed")?,
                        refresh_hz_now: row.get("refresh_hz_now")?,
                        elapsed_s: row.get("elapsed_s")?,
                    })
                })?
                .collect::<rusqlite::Result<_>>()?;
            saved.records = trials.iter().map(|trial| trial.record.clone()).collect();
            Ok(Some(StoredMeasurement { saved, trials, posterior, ended_because }))
        })
    }
}

fn unreadable(error: impl std::error::Error + Send + Sync + 'static) -> rusqlite::Error {
    rusqlite::Error::FromSqlConversionFailure(0, rusqlite::types::Type::Text, Box::new(error))
}

fn unwritable(error: serde_json::Error) -> rusqlite::Error {
    rusqlite::Error::ToSqlConversionFailure(Box::new(error))
}
