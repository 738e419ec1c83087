//! Sessions with the names that file names are made of.

use super::export_error::ExportError;
use super::table::Table;
use crate::results::sitting::Sitting;
use crate::results::store::Store;
use crate::results::store_error::StoreError;

/// A session with the names that file names are made of.
pub(super) struct Named {
    pub session: i64,
    /// Learner id, or `local` for sessions of no course.
    pub subject: String,
    /// 1-based number of the session among the subject's.
    pub number: u32,
    pub task: String,
    pub refresh_hz: f64,
    /// Runs, and the table that holds what was done in each.
    pub runs: Vec<(Table, u32)>,
}

impl Store {
    /// That nothing is selected, of `what` and of one learner if one was asked for.
    pub(super) fn nothing(&self, what: &'static str, learner: Option<&str>) -> ExportError {
        let whose = learner.map_or_else(String::new, |learner| format!(" of learner {learner}"));
        ExportError::Nothing { path: self.path.clone(), what, whose }
    }

    /// As [`Self::named_sessions`], but there must be one.
    pub(super) fn some_named_sessions(
        &self,
        learner: Option<&str>,
    ) -> Result<Vec<Named>, ExportError> {
        let sessions = self.named_sessions(learner)?;
        if sessions.is_empty() {
            return Err(self.nothing("trials and no answers to questions", learner));
        }
        Ok(sessions)
    }

    fn named_sessions(&self, learner: Option<&str>) -> Result<Vec<Named>, StoreError> {
        let mut counts = std::collections::BTreeMap::<String, u32>::new();
        let mut named = Vec::new();
        for stored in self.sessions()? {
            let sitting = Sitting::of(&stored.info.settings);
            let subject = sitting.map_or_else(|| "local".to_owned(), |sitting| sitting.learner);
            if learner.is_some_and(|learner| learner != subject) || stored.stored_trials == 0 {
                continue;
            }
            let number = counts.entry(subject.clone()).or_default();
            *number += 1;
            let mut runs = Vec::new();
            for table in Table::ALL {
                let query = format!(
                    "SELECT DISTINCT run FROM {} WHERE session = ?1 ORDER BY run",
                    table.name()
                );
                let of_table: Vec<u32> = self.run(|connection| {
                    connection
                        .prepare_cached(&query)?
                        .query_map([stored.session], |row| row.get(0))?
                        .collect()
                })?;
                runs.extend(of_table.into_iter().map(|run| (table, run)));
            }
            // Labels of both standards are letters and digits only.
            let label = |text: &str| text.chars().filter(char::is_ascii_alphanumeric).collect();
            named.push(Named {
                session: stored.session,
                subject: label(&subject),
                number: *number,
                task: label(&stored.info.task),
                refresh_hz: stored.info.refresh_hz,
                runs,
            });
        }
        Ok(named)
    }
}
