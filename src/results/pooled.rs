//! Trials of one learner's sessions of a level, taken together.

use super::store::Store;
use super::store_error::StoreError;
use super::trial_row::TrialRow;
use crate::psychophysics::{GlanceSummary, PooledGlance};

impl Store {
    /// The trials of a session and of all others like it: of the same exercise, level, mode,
    /// exposure and learner, whether or not they were finished. Nothing for a session that
    /// does not exist.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read or a row holds an impossible value.
    pub fn pooled_glance(&self, session: i64) -> Result<PooledGlance, StoreError> {
        let rows: Vec<(i64, TrialRow)> = self.run(|connection| {
            connection
                .prepare(
                    "SELECT trial.* FROM trial
                     JOIN session AS other ON other.id = trial.session
                     JOIN session AS this ON this.id = ?1
                     WHERE other.task = this.task AND other.level = this.level
                       AND other.mode = this.mode
                       AND CASE WHEN json_valid(other.settings) AND json_valid(this.settings)
                           THEN json_extract(other.settings, '$.exposure_s')
                                   IS json_extract(this.settings, '$.exposure_s')
                               AND json_extract(other.settings, '$.course.learner')
                                   IS json_extract(this.settings, '$.course.learner')
                           END
                     ORDER BY trial.session, trial.trial",
                )?
                .query_map([session], |row| Ok((row.get("session")?, TrialRow::read(row)?)))?
                .collect()
        })?;
        let mut sessions: Vec<i64> = rows.iter().map(|(session, _)| *session).collect();
        sessions.dedup();
        Ok(PooledGlance {
            sessions: sessions.len() as u32,
            summary: GlanceSummary::new(rows.iter().map(|(_, row)| &row.outcome)),
        })
    }
}
