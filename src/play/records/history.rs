//! What was done before: sessions that can be continued, the newest measurements, summaries.

use super::Records;
use crate::exercise::{CHOICE_ID, RoundTally};
use crate::measure::{FindResult, MEASURE_ID};
use crate::psychophysics::GlanceSummary;
use crate::report;
use crate::results::{StoreError, StoredMeasurement};
use std::collections::BTreeMap;

/// A session that can be continued.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unfinished {
    /// Its number in the store.
    pub session: i64,
    /// Its seed.
    pub seed: u64,
    /// Trials answered.
    pub answered: usize,
}

/// What the results say about a level.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct LevelHistory {
    /// Trials or questions answered in its newest session, if that can be continued.
    pub unfinished: Option<usize>,
    /// Whether a session of it was finished.
    pub is_done: bool,
    /// The number of its newest session: of two levels, the one played last has the larger.
    pub newest: Option<i64>,
}

impl Records {
    /// The session of `level` that can be continued: the newest one, if it was left with trials
    /// both answered and open.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn unfinished(&self, level: &str) -> Result<Option<Unfinished>, StoreError> {
        let sessions = self.store().sessions()?;
        let newest = sessions.iter().rev().find(|session| session.info.level == level);
        Ok(newest
            .filter(|session| session.finished_at.is_none())
            .filter(|session| (1..session.info.planned_trials).contains(&session.stored_trials))
            .map(|session| Unfinished {
                session: session.session,
                seed: session.info.seed,
                answered: session.stored_trials as usize,
            }))
    }

    /// What the results say about every level that was played.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn history(&self) -> Result<BTreeMap<String, LevelHistory>, StoreError> {
        let mut levels: BTreeMap<String, LevelHistory> = BTreeMap::new();
        for session in self.store().sessions()? {
            let history = levels.entry(session.info.level.clone()).or_default();
            history.is_done |= session.finished_at.is_some();
            history.newest = history.newest.max(Some(session.session));
            // The newest comes last.
            let can_go_on = session.finished_at.is_none()
                && (1..session.info.planned_trials).contains(&session.stored_trials);
            history.unfinished = can_go_on.then_some(session.stored_trials as usize);
        }
        Ok(levels)
    }

    /// The newest measurement of choosing with answers: what is kept of it, and whether it can be
    /// taken up again.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn latest_choice(&self) -> Result<Option<(Unfinished, bool)>, StoreError> {
        let sessions = self.store().sessions()?;
        let of_kind = sessions.iter().rev().filter(|s| s.info.level == CHOICE_ID);
        Ok(of_kind.into_iter().find(|s| s.stored_trials > 0).map(|newest| {
            let kept = Unfinished {
                session: newest.session,
                seed: newest.info.seed,
                answered: newest.stored_trials as usize,
            };
            (kept, newest.finished_at.is_none())
        }))
    }

    /// What came of a round's answers, from what is stored.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn round_tally(&self, session: i64) -> Result<RoundTally, StoreError> {
        Ok(RoundTally::of(&self.store().answers(session)?))
    }

    /// The number of sessions of `level` so far.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn sessions_of(&self, level: &str) -> Result<u64, StoreError> {
        let sessions = self.store().sessions()?;
        Ok(sessions.iter().filter(|session| session.info.level == level).count() as u64)
    }

    /// The newest measurement of a learner (or rehearsed into this file) with answers, and its
    /// session's number.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn latest_measurement(&self) -> Result<Option<(i64, StoredMeasurement)>, StoreError> {
        let store = self.store();
        let sessions = store.sessions()?;
        let of_kind = sessions.iter().rev().filter(|s| s.info.level == MEASURE_ID);
        let Some(newest) = of_kind.into_iter().find(|s| s.stored_trials > 0) else {
            return Ok(None);
        };
        Ok(store.measurement(newest.session)?.map(|stored| (newest.session, stored)))
    }

    /// A session's summary in words.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn summary(&self, session: i64) -> Result<String, StoreError> {
        let store = self.store();
        let (rows, pooled) = (store.trials(session)?, store.pooled_glance(session)?);
        let summary = GlanceSummary::new(rows.iter().map(|row| &row.outcome));
        Ok(report::session_summary(&summary, &pooled))
    }

    /// The summary of a session of "Find it", in words.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn find_summary(&self, session: i64) -> Result<String, StoreError> {
        let rows = self.store().trials(session)?;
        Ok(report::find_summary(&FindResult::new(&rows)))
    }
}
