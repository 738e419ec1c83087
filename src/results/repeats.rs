//! Which of several sittings of one learner counts.
//!
//! A learner may sit in one phase of a course more than once: at another computer, or after a step
//! that was begun anew. All of it is kept. What counts is the sitting with the most smiles; of
//! those with as many it is the one begun first, because smiles seen before measure memory, not
//! sight.

use super::session_row::StoredSession;
use super::sitting::Sitting;
use super::store::Store;
use super::store_error::StoreError;
use std::cmp::Reverse;
use std::collections::BTreeMap;

/// Whether a sitting of a form counts, and why.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counted {
    /// The learner's only sitting in this phase of the course.
    Only,
    /// It counts, of so many.
    First {
        /// Sittings of the learner in this phase.
        of: u32,
    },
    /// The learner had sat as many smiles or more in this phase before.
    SeenBefore {
        /// The session that counts.
        counts: i64,
    },
    /// Another sitting of this phase holds more smiles.
    BrokenOff {
        /// The session that counts.
        counts: i64,
    },
}

impl Counted {
    /// Whether it counts.
    #[must_use]
    pub const fn counts(self) -> bool {
        matches!(self, Self::Only | Self::First { .. })
    }

    /// Why, in words.
    #[must_use]
    pub fn in_words(self) -> String {
        match self {
            Self::Only => "the only sitting of this phase".to_owned(),
            Self::First { of } => format!("counts: the fullest of {of} sittings, or the first"),
            Self::SeenBefore { counts } => {
                format!("does not count: sat again after session {counts}, which counts")
            }
            Self::BrokenOff { counts } => {
                format!("does not count: session {counts} holds more smiles and counts")
            }
        }
    }
}

impl Store {
    /// For every session in which smiles of a form were answered, whether it counts.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn counted_sittings(&self) -> Result<BTreeMap<i64, Counted>, StoreError> {
        let mut phases: BTreeMap<(String, String, Option<String>), Vec<StoredSession>> =
            BTreeMap::new();
        for stored in self.sessions()? {
            let Some(sitting) = Sitting::of(&stored.info.settings) else { continue };
            if sitting.form.is_none() || stored.stored_trials == 0 {
                continue;
            }
            let key = (sitting.course, sitting.learner, sitting.phase);
            phases.entry(key).or_default().push(stored);
        }
        let mut counted = BTreeMap::new();
        for mut sittings in phases.into_values() {
            // Numbers of sessions are in the order of gathering; times are in the order of sitting.
            sittings.sort_by_cached_key(|s| {
                (Reverse(s.stored_trials), s.info.started_at.clone(), s.session)
            });
            let of = sittings.len() as u32;
            let Some(best) = sittings.first() else { continue };
            let (counts, most) = (best.session, best.stored_trials);
            for sitting in &sittings {
                let how = if sitting.session == counts {
                    if of == 1 { Counted::Only } else { Counted::First { of } }
                } else if sitting.stored_trials == most {
                    Counted::SeenBefore { counts }
                } else {
                    Counted::BrokenOff { counts }
                };
                counted.insert(sitting.session, how);
            }
        }
        Ok(counted)
    }

    /// Puts what [`Self::counted_sittings`] says where columns of exports find it.
    pub(super) fn note_counted(&self) -> Result<(), StoreError> {
        let counted = self.counted_sittings()?;
        self.run(|connection| {
            connection.execute_batch(
                "CREATE TEMP TABLE IF NOT EXISTS counted_sitting
                    (session INTEGER PRIMARY KEY, counts INTEGER NOT NULL, why TEXT NOT NULL);
                 DELETE FROM counted_sitting",
            )?;
            let mut insert =
                connection.prepare("INSERT INTO counted_sitting VALUES (?1, ?2, ?3)")?;
            for (session, how) in &counted {
                insert.execute((session, how.counts(), how.in_words()))?;
            }
            Ok(())
        })
    }
}
