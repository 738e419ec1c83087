//! Schema versions. A migration, once released, is never edited: add another.

use rusqlite::{Connection, TransactionBehavior};

/// Marks the file as ours, SQLite's `application_id`: "2GLC" in ASCII.
pub(super) const APPLICATION_ID: i32 = 0x3247_4C43;

/// The schema version this build writes, SQLite's `user_version`.
pub const LATEST_VERSION: u32 = MIGRATIONS.len() as u32;

/// `MIGRATIONS[v]` leads from version `v` to `v + 1`; version 0 is an empty file.
pub(super) const MIGRATIONS: [&str; 2] = [
    // 1: sessions and trials.
    "CREATE TABLE session (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        started_at TEXT NOT NULL,
        finished_at TEXT,
        build TEXT NOT NULL,
        task TEXT NOT NULL,
        mode TEXT NOT NULL,
        level TEXT NOT NULL,
        seed TEXT NOT NULL,
        refresh_hz REAL NOT NULL,
        planned_trials INTEGER NOT NULL,
        settings TEXT NOT NULL
    ) STRICT;
    CREATE TABLE trial (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        session INTEGER NOT NULL REFERENCES session (id),
        run INTEGER NOT NULL,
        block INTEGER NOT NULL,
        trial INTEGER NOT NULL,
        trial_kind TEXT NOT NULL CHECK (trial_kind IN ('signal', 'catch')),
        task TEXT NOT NULL,
        mode TEXT NOT NULL,
        level TEXT NOT NULL,
        seed_key TEXT NOT NULL,
        scene_seed TEXT NOT NULL,
        n_teeth INTEGER NOT NULL,
        target_pos INTEGER NOT NULL,
        target_tooth INTEGER,
        x_de00 REAL,
        dl00 REAL,
        dc00 REAL,
        dh00 REAL,
        x_zone TEXT,
        x_percentiles TEXT,
        contralateral_de00 REAL,
        u_resid TEXT NOT NULL,
        recipe TEXT,
        light TEXT NOT NULL,
        exposure_req INTEGER NOT NULL,
        exposure_actual INTEGER NOT NULL,
        frame_ms_max REAL NOT NULL,
        dropped INTEGER NOT NULL,
        refresh_hz REAL NOT NULL,
        t_fix REAL NOT NULL,
        t_on REAL NOT NULL,
        t_mask REAL NOT NULL,
        t_resp REAL,
        response TEXT NOT NULL CHECK (response IN ('tooth', 'none', 'timeout')),
        response_pos INTEGER,
        response_tooth INTEGER,
        response_time REAL,
        verdict TEXT NOT NULL,
        timeout INTEGER NOT NULL,
        UNIQUE (session, trial)
    ) STRICT;
    CREATE TRIGGER trial_rows_stand BEFORE UPDATE ON trial
    BEGIN SELECT RAISE(ABORT, 'stored trials are never changed'); END;",
    // 2: which device the answer came from.
    "ALTER TABLE trial ADD COLUMN input_device TEXT;",
];

/// The version of a file.
pub(super) fn version(connection: &Connection) -> rusqlite::Result<i64> {
    connection.query_row("PRAGMA user_version", [], |row| row.get(0))
}

/// The application mark of a file, 0 for a new one.
pub(super) fn application_id(connection: &Connection) -> rusqlite::Result<i32> {
    connection.query_row("PRAGMA application_id", [], |row| row.get(0))
}

/// Brings a file whose version is known to be ours and not newer up to [`LATEST_VERSION`]. All
/// steps happen or none does; a second process that gets there first leaves nothing to do.
pub(super) fn migrate(connection: &mut Connection) -> rusqlite::Result<()> {
    if version(connection)? >= i64::from(LATEST_VERSION) {
        return Ok(());
    }
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let from = usize::try_from(version(&transaction)?).unwrap_or(0);
    for step in MIGRATIONS.iter().skip(from) {
        transaction.execute_batch(step)?;
    }
    if from < MIGRATIONS.len() {
        transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
        transaction.pragma_update(None, "user_version", LATEST_VERSION)?;
    }
    transaction.commit()
}
