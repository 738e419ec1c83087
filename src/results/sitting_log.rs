//! What happened around the trials of a sitting: when it was begun, left and taken up, when the
//! window lost the focus, when it was handed in. Append-only, like trials.

use super::store::Store;
use super::store_error::StoreError;
use rusqlite::named_params;

/// What happened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum SittingEvent {
    /// The sitting began.
    Started,
    /// The cross of a smile came: from here on the smile counts as shown.
    Shown,
    /// Another window got the keyboard.
    FocusLost,
    /// The window got the keyboard back.
    FocusBack,
    /// The learner left the sitting; the clock runs on.
    Left,
    /// The sitting was taken up again, after leaving or after the program ended.
    Resumed,
    /// A smile was on when the program ended; it is not shown again.
    CutOff,
    /// The hand-in was written.
    HandedIn,
}

impl SittingEvent {
    const ALL: [Self; 8] = [
        Self::Started,
        Self::Shown,
        Self::FocusLost,
        Self::FocusBack,
        Self::Left,
        Self::Resumed,
        Self::CutOff,
        Self::HandedIn,
    ];

    /// The name stored with results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Started => "started",
            Self::Shown => "shown",
            Self::FocusLost => "focus_lost",
            Self::FocusBack => "focus_back",
            Self::Left => "left",
            Self::Resumed => "resumed",
            Self::CutOff => "cut_off",
            Self::HandedIn => "handed_in",
        }
    }
}

/// One line of a sitting's log.
#[derive(Debug, Clone, PartialEq)]
pub struct LogLine {
    /// When, RFC 3339 in UTC with milliseconds, such as `2026-01-31T09:30:00.250Z`.
    pub at: String,
    /// What happened.
    pub event: SittingEvent,
    /// The 0-based trial under way or next; `None` outside trials.
    pub trial: Option<u32>,
    /// How long the learner was away, s: with [`SittingEvent::FocusBack`] and
    /// [`SittingEvent::Resumed`].
    pub away_s: Option<f64>,
}

impl Store {
    /// Adds a line to a sitting's log, whether or not the session is finished.
    ///
    /// # Errors
    /// [`StoreError`] when there is no such session or the file cannot be written.
    pub fn log(&self, session: i64, line: &LogLine) -> Result<(), StoreError> {
        self.run(|connection| {
            connection
                .prepare_cached(
                    "INSERT INTO sitting_log (session, number, at, event, trial, away_s)
                     VALUES (:session,
                             (SELECT count(*) FROM sitting_log WHERE session = :session),
                             :at, :event, :trial, :away_s)",
                )?
                .execute(named_params! {
                    ":session": session,
                    ":at": line.at,
                    ":event": line.event.name(),
                    ":trial": line.trial,
                    ":away_s": line.away_s,
                })
        })?;
        Ok(())
    }

    /// The log of a sitting, in order; empty for sessions that keep none.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read or a row holds an impossible value.
    pub fn sitting_log(&self, session: i64) -> Result<Vec<LogLine>, StoreError> {
        self.run(|connection| {
            connection
                .prepare("SELECT * FROM sitting_log WHERE session = ?1 ORDER BY number")?
                .query_map([session], |row| {
                    let name: String = row.get("event")?;
                    let event = SittingEvent::ALL.into_iter().find(|e| e.name() == name);
                    Ok(LogLine {
                        at: row.get("at")?,
                        event: event.ok_or_else(|| super::trial_row::unreadable("event", &name))?,
                        trial: row.get("trial")?,
                        away_s: row.get("away_s")?,
                    })
                })?
                .collect()
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::results::SessionInfo;

    #[test]
    fn a_log_comes_back_in_order_and_its_lines_stand() {
        let dir = tempfile::tempdir().unwrap();
        let store = Store::open(dir.path()).unwrap();
        let info = SessionInfo {
            started_at: "2026-01-31T09:30:00Z".to_owned(),
            build: "0".to_owned(),
            task: "glance".to_owned(),
            mode: "exam".to_owned(),
            level: "exam:form".to_owned(),
            seed: 1,
            refresh_hz: 60.0,
            planned_trials: 2,
            settings: serde_json::json!({}),
        };
        let session = store.begin(&info).unwrap().session;
        let lines = SittingEvent::ALL.map(|event| LogLine {
            at: "2026-01-31T09:30:00.250Z".to_owned(),
            event,
            trial: (event == SittingEvent::Shown).then_some(3),
            away_s: (event == SittingEvent::FocusBack).then_some(1.25),
        });
        for line in &lines {
            store.log(session, line).unwrap();
        }
        assert_eq!(store.sitting_log(session).unwrap(), lines);
        assert_eq!(store.sitting_log(session + 1).unwrap(), []);
        assert!(store.log(session + 1, &lines[0]).is_err(), "there is no such session");
        let change = "UPDATE sitting_log SET away_s = 0";
        assert!(store.connection.execute(change, []).is_err());
    }
}
