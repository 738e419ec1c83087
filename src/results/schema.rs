//! Schema versions. A migration, once released, is never edited: add another.

use rusqlite::{Connection, TransactionBehavior};

/// Marks the file as ours, SQLite's `application_id`: "2GLC" in ASCII.
pub(super) const APPLICATION_ID: i32 = 0x3247_4C43;

/// The schema version this build writes, SQLite's `user_version`.
pub const LATEST_VERSION: u32 = MIGRATIONS.len() as u32;

/// `MIGRATIONS[v]` leads from version `v` to `v + 1`; version 0 is an empty file.
pub(super) const MIGRATIONS: [&str; 6] = [
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
    // 3: the difference that the pictures showed, before and after rounding to 8 bit.
    "ALTER TABLE trial ADD COLUMN drawn_de00 REAL;
    ALTER TABLE trial ADD COLUMN shown_de00 REAL;
    ALTER TABLE trial ADD COLUMN shown_dl00 REAL;
    ALTER TABLE trial ADD COLUMN shown_dc00 REAL;
    ALTER TABLE trial ADD COLUMN shown_dh00 REAL;",
    // 4: measurements.
    // Measurements: what is measured, how sure of it the instrument is, and each of their trials.
    "CREATE TABLE measurement (
        session INTEGER PRIMARY KEY REFERENCES session (id),
        config TEXT NOT NULL,
        seed TEXT NOT NULL,
        layout INTEGER NOT NULL,
        posterior BLOB NOT NULL,
        ended_because TEXT
    ) STRICT;
    CREATE TABLE measured_trial (
        session INTEGER NOT NULL REFERENCES measurement (session),
        trial INTEGER NOT NULL,
        record TEXT NOT NULL,
        recipe TEXT NOT NULL,
        missed TEXT,
        refresh_hz_now REAL NOT NULL,
        elapsed_s REAL NOT NULL,
        PRIMARY KEY (session, trial)
    ) STRICT;
    CREATE TRIGGER measured_trials_stand BEFORE UPDATE ON measured_trial
    BEGIN SELECT RAISE(ABORT, 'stored trials are never changed'); END;",
    // 5: answers to questions.
    "CREATE TABLE answer (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        session INTEGER NOT NULL REFERENCES session (id),
        run INTEGER NOT NULL,
        number INTEGER NOT NULL,
        task TEXT NOT NULL,
        mode TEXT NOT NULL,
        level TEXT NOT NULL,
        seed_key TEXT NOT NULL,
        is_catch INTEGER NOT NULL CHECK (is_catch IN (0, 1)),
        light TEXT,
        sights TEXT NOT NULL,
        truth TEXT NOT NULL,
        answer TEXT NOT NULL,
        score REAL,
        regret_de00 REAL,
        correct INTEGER CHECK (correct IN (0, 1)),
        t_shown REAL NOT NULL,
        t_answer REAL NOT NULL,
        response_time REAL NOT NULL,
        input_device TEXT NOT NULL,
        UNIQUE (session, number)
    ) STRICT;
    CREATE TRIGGER answers_stand BEFORE UPDATE ON answer
    BEGIN SELECT RAISE(ABORT, 'stored answers are never changed'); END;",
    // 6: what happened around the trials of a sitting.
    "CREATE TABLE sitting_log (
        session INTEGER NOT NULL REFERENCES session (id),
        number INTEGER NOT NULL,
        at TEXT NOT NULL,
        event TEXT NOT NULL,
        trial INTEGER,
        away_s REAL,
        PRIMARY KEY (session, number)
    ) STRICT;
    CREATE TRIGGER sitting_logs_stand BEFORE UPDATE ON sitting_log
    BEGIN SELECT RAISE(ABORT, 'stored logs are never changed'); END;",
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bake::ZoneDifference;
    use crate::results::Store;
    use crate::scene::Tooth;
    use crate::trial::{Response, Verdict};

    /// A file as version 1 wrote it. The text is frozen: released migrations do not change.
    fn version_1(connection: &Connection) {
        connection.execute_batch(MIGRATIONS[0]).unwrap();
        connection.pragma_update(None, "application_id", APPLICATION_ID).unwrap();
        connection.pragma_update(None, "user_version", 1).unwrap();
        connection
            .execute_batch(
                "INSERT INTO session VALUES (1, '2026-01-31T09:30:00Z', NULL, '0.0.9', 'glance',
                    'practice', 'old', '42', 60.0, 20, '{}');
                 INSERT INTO trial VALUES (1, 1, 1, 0, 0, 'signal', 'glance', 'practice', 'old',
                    'old/42/0/0', '7', 10, 5, 11, 2.5, -2.4, 0.6, -0.1, '[3.0,2.5,1.0]',
                    '[1.0,2.4,4.0]', 2.2, '[0.0,0.5]', '{}', 'D65', 150, 149, 34.0, 1, 60.0,
                    61.0, 61.7, 64.2, 65.0, 'tooth', 6, 21, 0.8, 'wrong_tooth', 0);",
            )
            .unwrap();
    }

    #[test]
    fn version_1_is_brought_up_to_date_with_its_trials() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("results.sqlite3");
        let connection = Connection::open(&path).unwrap();
        version_1(&connection);
        drop(connection);

        let store = Store::open(dir.path()).unwrap();
        let trials = store.trials(1).unwrap();
        assert_eq!(trials.len(), 1);
        let outcome = &trials[0].outcome;
        let (restored, named) = (Tooth::new(11).unwrap(), Tooth::new(21).unwrap());
        assert_eq!(outcome.input_device, None, "version 1 did not know");
        assert_eq!((trials[0].drawn_de00, trials[0].shown), (None, None), "nor this");
        assert_eq!(outcome.restored, Some(restored));
        assert_eq!(outcome.response, Response::Tooth(named));
        assert_eq!(outcome.verdict, Verdict::WrongTooth(named));
        assert_eq!(outcome.exposure.dropped_frames, 1);

        // The old session takes new trials.
        let recording = store.resume(1).unwrap();
        assert_eq!(recording.next_trial, 1);
        let mut next = trials[0].clone();
        next.outcome.trial = 1;
        next.outcome.input_device = Some(crate::trial::InputDevice::Keyboard);
        next.drawn_de00 = Some(2.375);
        next.shown = Some(ZoneDifference { de00: 2.25, dl00: -2.0, dc00: 1.0, dh00: 0.125 });
        store.append(recording, &next).unwrap();
        assert_eq!(store.trials(1).unwrap()[1], next);
        drop(store);

        let connection = Connection::open(&path).unwrap();
        assert_eq!(version(&connection).unwrap(), i64::from(LATEST_VERSION));
    }

    #[test]
    fn a_migrated_file_has_the_schema_of_a_new_one() {
        let columns = |connection: &Connection| -> Vec<String> {
            connection
                .prepare(
                    "SELECT m.name || '.' || c.name || ' ' || c.type FROM sqlite_master m
                     JOIN pragma_table_info(m.name) c WHERE m.type = 'table'
                     ORDER BY m.name, c.cid",
                )
                .unwrap()
                .query_map([], |row| row.get(0))
                .unwrap()
                .map(Result::unwrap)
                .collect()
        };
        let mut old = Connection::open_in_memory().unwrap();
        version_1(&old);
        let before = columns(&old);
        migrate(&mut old).unwrap();
        let mut new = Connection::open_in_memory().unwrap();
        migrate(&mut new).unwrap();
        assert_ne!(before, columns(&old));
        assert_eq!(columns(&old), columns(&new));
        migrate(&mut new).unwrap();
        assert_eq!(columns(&old), columns(&new), "migrating again changes nothing");
    }
}
