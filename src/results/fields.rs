//! What every column of the results can hold.
//!
//! Nothing that this program stores lies outside. Files that others could have written are held
//! against these lists before anything of them is stored, and stored rows again before a report
//! counts them. The ranges are wide on purpose: they refuse what is impossible, not what is rare.

use super::field::Holds::{Bytes, Json, Line, Moment, Number, Numbers, Seed, Whole, Word};
use super::field::{BadValue, Field, Holds, TEETH, is, may};

/// The columns of one table that a session has rows in, without `id`.
#[derive(Debug)]
pub(super) struct TableFields {
    /// The table.
    pub name: &'static str,
    /// What a row is called.
    pub row: &'static str,
    /// The column that numbers rows in a session; `None` for one row a session.
    pub number: Option<&'static str>,
    /// Its columns; `session` is the first and the number, if there is one, the second.
    pub fields: &'static [Field],
}

impl TableFields {
    /// A query for all rows in the order in which they were stored.
    pub fn select(&self) -> String {
        format!("SELECT {} FROM {} NOT INDEXED ORDER BY rowid", self.columns(), self.name)
    }

    /// The columns' names.
    pub fn columns(&self) -> String {
        self.fields.iter().map(|field| field.name).collect::<Vec<_>>().join(", ")
    }
}

const IDS: Holds = Whole(1, i64::MAX);
/// Trials, questions and lines in a session.
const COUNT: Holds = Whole(0, 99_999);
const RUN: Holds = Whole(1, 99_999);

/// ISO 3950: the quadrant, then the tooth.
const TOOTH: Holds = Whole(11, 48);
/// Black and white are 100 apart, and no two colours of a display twice that.
const DE00: Holds = Number(0.0, 200.0);
const SIGNED_DE00: Holds = Number(-200.0, 200.0);
/// A run of three years, s.
const SECONDS: Holds = Number(0.0, 1e8);
/// Frames are 32-bit numbers; a smile that stays until it is answered asks for the most.
const FRAMES: Holds = Whole(0, u32::MAX as i64);
const HZ: Holds = Number(1.0, 2000.0);
const NAME: Holds = Line(200);
const YES_NO: Holds = Whole(0, 1);
const DEVICES: Holds = Word(&["pointer", "keyboard", "simulated"]);
const MODES: Holds = Word(&["practice", "measure", "exam", "rehearsal"]);

/// `session`; its `id` comes first.
pub(super) const SESSION: &[Field] = &[
    is("id", IDS),
    is("started_at", Moment),
    may("finished_at", Moment),
    is("build", NAME),
    is("task", NAME),
    is("mode", MODES),
    is("level", NAME),
    is("seed", Seed),
    is("refresh_hz", HZ),
    is("planned_trials", Whole(0, 99_999)),
    is("settings", Json(1 << 14)),
];

/// Places of columns of [`TRIAL`] that rules of whole rows look at.
pub(super) mod trial {
    pub const KIND: usize = 2;
    pub const N_TEETH: usize = 3;
    pub const TARGET_POS: usize = 4;
    pub const TARGET_TOOTH: usize = 5;
    pub const X_DE00: usize = 6;
    pub const DH00: usize = 9;
    pub const RESPONSE: usize = 10;
    pub const RESPONSE_POS: usize = 11;
    pub const RESPONSE_TOOTH: usize = 12;
    pub const VERDICT: usize = 13;
    pub const TIMEOUT: usize = 14;
    pub const T_FIX: usize = 15;
    pub const T_RESP: usize = 18;
    pub const BLOCK: usize = 19;
    pub const LEVEL: usize = 20;
    pub const SEED_KEY: usize = 21;
    pub const RESIDUALS: usize = 22;
}

const TRIAL: TableFields = TableFields {
    name: "trial",
    row: "trial",
    number: Some("trial"),
    fields: &[
        is("session", IDS),
        is("trial", COUNT),
        is("trial_kind", Word(&["signal", "catch"])),
        is("n_teeth", Whole(1, TEETH)),
        is("target_pos", Whole(0, TEETH)),
        may("target_tooth", TOOTH),
        may("x_de00", DE00),
        may("dl00", SIGNED_DE00),
        may("dc00", SIGNED_DE00),
        may("dh00", SIGNED_DE00),
        is("response", Word(&["tooth", "none", "timeout"])),
        may("response_pos", Whole(1, TEETH)),
        may("response_tooth", TOOTH),
        is(
            "verdict",
            Word(&["found", "wrong_tooth", "missed", "false_alarm", "correctly_none", "timed_out"]),
        ),
        is("timeout", YES_NO),
        is("t_fix", SECONDS),
        is("t_on", SECONDS),
        is("t_mask", SECONDS),
        may("t_resp", SECONDS),
        is("block", COUNT),
        is("level", NAME),
        is("seed_key", NAME),
        is("u_resid", Numbers(None, 200.0)),
        is("run", RUN),
        is("task", NAME),
        is("mode", MODES),
        is("scene_seed", Seed),
        may("x_zone", Numbers(Some(3), 200.0)),
        may("x_percentiles", Numbers(Some(3), 200.0)),
        may("contralateral_de00", DE00),
        may("recipe", Json(1 << 14)),
        is("light", NAME),
        is("exposure_req", FRAMES),
        is("exposure_actual", FRAMES),
        is("frame_ms_max", Number(0.0, 1e11)),
        is("dropped", FRAMES),
        is("refresh_hz", HZ),
        may("response_time", SECONDS),
        may("input_device", DEVICES),
        may("drawn_de00", DE00),
        may("shown_de00", DE00),
        may("shown_dl00", SIGNED_DE00),
        may("shown_dc00", SIGNED_DE00),
        may("shown_dh00", SIGNED_DE00),
    ],
};

/// Places of columns of [`ANSWER`] that rules of whole rows look at.
pub(super) mod answer {
    pub const T_SHOWN: usize = 2;
    pub const T_ANSWER: usize = 3;
}

const ANSWER: TableFields = TableFields {
    name: "answer",
    row: "question",
    number: Some("number"),
    fields: &[
        is("session", IDS),
        is("number", COUNT),
        is("t_shown", SECONDS),
        is("t_answer", SECONDS),
        is("run", RUN),
        is("task", NAME),
        is("mode", MODES),
        is("level", NAME),
        is("seed_key", NAME),
        is("is_catch", YES_NO),
        may("light", NAME),
        is("sights", Json(1 << 20)),
        is("truth", Json(1 << 20)),
        is("answer", Json(1 << 16)),
        may("score", Number(0.0, 100.0)),
        may("regret_de00", SIGNED_DE00),
        may("correct", YES_NO),
        is("response_time", SECONDS),
        is("input_device", DEVICES),
    ],
};

const MEASUREMENT: TableFields = TableFields {
    name: "measurement",
    row: "measurement",
    number: None,
    fields: &[
        is("session", IDS),
        is("config", Json(1 << 16)),
        is("seed", Seed),
        is("layout", Whole(1, 1000)),
        is("posterior", Bytes(1 << 22)),
        may("ended_because", NAME),
    ],
};

const MEASURED_TRIAL: TableFields = TableFields {
    name: "measured_trial",
    row: "measured trial",
    number: Some("trial"),
    fields: &[
        is("session", IDS),
        is("trial", COUNT),
        is("record", Json(1 << 16)),
        is("recipe", NAME),
        may("missed", NAME),
        is("refresh_hz_now", HZ),
        is("elapsed_s", SECONDS),
    ],
};

const SITTING_LOG: TableFields = TableFields {
    name: "sitting_log",
    row: "log line",
    number: Some("number"),
    fields: &[
        is("session", IDS),
        is("number", COUNT),
        is("at", Moment),
        is(
            "event",
            Word(&[
                "started",
                "shown",
                "focus_lost",
                "focus_back",
                "left",
                "resumed",
                "cut_off",
                "handed_in",
            ]),
        ),
        may("trial", COUNT),
        // Of the wall clock: a century.
        may("away_s", Number(0.0, 3.2e9)),
    ],
};

/// Every table that sessions have rows in; one that refers to another comes after it.
pub(super) const TABLES: [&TableFields; 5] =
    [&TRIAL, &ANSWER, &MEASUREMENT, &MEASURED_TRIAL, &SITTING_LOG];

/// The rule of a column of trials, to check stored ones by.
pub(super) fn of_trials(name: &str) -> Option<&'static Field> {
    TRIAL.fields.iter().find(|field| field.name == name)
}

/// Checks every column of a row of answers by name.
pub(super) fn check_stored_answer(row: &rusqlite::Row<'_>) -> Result<(), BadValue> {
    for field in ANSWER.fields {
        field.check(row.get_ref(field.name)?)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::Connection;

    #[test]
    fn every_column_of_the_schema_is_listed() {
        let mut connection = Connection::open_in_memory().unwrap();
        crate::results::schema::migrate(&mut connection).unwrap();
        let columns = |table: &str| -> Vec<String> {
            let mut columns: Vec<String> = connection
                .prepare("SELECT name FROM pragma_table_info(?1)")
                .unwrap()
                .query_map([table], |row| row.get(0))
                .unwrap()
                .map(Result::unwrap)
                .collect();
            columns.sort();
            columns
        };
        let listed = |fields: &[Field]| {
            let mut names: Vec<String> = fields.iter().map(|f| f.name.to_owned()).collect();
            names.sort();
            names
        };
        assert_eq!(columns("session"), listed(SESSION));
        for table in TABLES {
            let mut stored = columns(table.name);
            stored.retain(|name| name != "id");
            assert_eq!(stored, listed(table.fields), "{}", table.name);
            assert_eq!(table.fields[0].name, "session");
            assert_eq!(table.number, table.number.map(|_| table.fields[1].name));
        }
        let tables: i64 = connection
            .query_row(
                "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'",
                [],
                |row| row.get(0),
            )
            .unwrap();
        assert_eq!(tables, TABLES.len() as i64 + 1);
        let at = |place: usize| TRIAL.fields[place].name;
        assert_eq!(
            [
                trial::KIND,
                trial::N_TEETH,
                trial::TARGET_POS,
                trial::TARGET_TOOTH,
                trial::X_DE00,
                trial::DH00,
                trial::RESPONSE,
                trial::RESPONSE_POS,
                trial::RESPONSE_TOOTH,
                trial::VERDICT,
                trial::TIMEOUT,
                trial::T_FIX,
                trial::T_RESP,
                trial::BLOCK,
                trial::LEVEL,
                trial::SEED_KEY,
                trial::RESIDUALS,
            ]
            .map(at),
            [
                "trial_kind",
                "n_teeth",
                "target_pos",
                "target_tooth",
                "x_de00",
                "dh00",
                "response",
                "response_pos",
                "response_tooth",
                "verdict",
                "timeout",
                "t_fix",
                "t_resp",
                "block",
                "level",
                "seed_key",
                "u_resid",
            ]
        );
        assert_eq!(ANSWER.fields[answer::T_SHOWN].name, "t_shown");
        assert_eq!(ANSWER.fields[answer::T_ANSWER].name, "t_answer");
    }
}
