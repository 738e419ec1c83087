//! Sessions: what is known about one, and how it is stored.

/// What is known about a session when it begins.
#[derive(Debug, Clone, PartialEq)]
pub struct SessionInfo {
    /// When it began, RFC 3339 in UTC, such as `2026-01-31T09:30:00Z`.
    pub started_at: String,
    /// Version of the program.
    pub build: String,
    /// The exercise, such as `glance`.
    pub task: String,
    /// The mode, such as `practice`.
    pub mode: String,
    /// The level's id.
    pub level: String,
    /// The session's seed.
    pub seed: u64,
    /// The display's refresh rate, Hz.
    pub refresh_hz: f64,
    /// Trials in the plan.
    pub planned_trials: u32,
    /// Settings in force, as JSON.
    pub settings: serde_json::Value,
}

/// A session being written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Recording {
    /// The session's number.
    pub session: i64,
    /// 1 for a session begun, one more each time it was resumed after storing trials.
    pub run: u32,
    /// The trial to go on with: 0 for a session begun.
    pub next_trial: u32,
}

/// A session as stored.
#[derive(Debug, Clone, PartialEq)]
pub struct StoredSession {
    /// Its number.
    pub session: i64,
    /// What was known when it began.
    pub info: SessionInfo,
    /// When it was finished, as given; `None` for one that was cut off or is still running.
    pub finished_at: Option<String>,
    /// Trials, or answers to questions, stored.
    pub stored_trials: u32,
}

pub(super) fn read_session(row: &rusqlite::Row<'_>) -> rusqlite::Result<StoredSession> {
    let bad = |text: &str| {
        rusqlite::Error::FromSqlConversionFailure(
            0,
            rusqlite::types::Type::Text,
            format!("{text:?} is not a value a session can have").into(),
        )
    };
    let (seed, settings): (String, String) = (row.get("seed")?, row.get("settings")?);
    Ok(StoredSession {
        session: row.get("id")?,
        info: SessionInfo {
            started_at: row.get("started_at")?,
            build: row.get("build")?,
            task: row.get("task")?,
            mode: row.get("mode")?,
            level: row.get("level")?,
            seed: seed.parse().map_err(|_| bad(&seed))?,
            refresh_hz: row.get("refresh_hz")?,
            planned_trials: row.get("planned_trials")?,
            settings: serde_json::from_str(&settings).map_err(|_| bad(&settings))?,
        },
        finished_at: row.get("finished_at")?,
        stored_trials: row.get("stored_trials")?,
    })
}
