//! What every column of the results can hold.
//!
//! Nothing that this program stores lies outside. Files that others could have written are held
//! against these lists before anything of them is stored, and stored rows again before a report
//! counts them. The ranges are wide on purpose: they refuse what is impossible, not what is rare.

use super::strict_json;
use rusqlite::types::ValueRef;
use std::fmt;

/// One column.
#[derive(Debug)]
pub(super) struct Field {
    /// Its name.
    pub name: &'static str,
    /// What it can hold.
    holds: Holds,
    /// Whether it may hold nothing.
    optional: bool,
}

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

#[derive(Debug)]
enum Holds {
    /// An integer from the first to the second.
    Whole(i64, i64),
    /// A finite number from the first to the second, not so small that it lost digits.
    Number(f64, f64),
    /// One of these words.
    Word(&'static [&'static str]),
    /// A text of one line and of at most so many bytes, without control characters.
    Line(usize),
    /// 64 bits as a decimal number.
    Seed,
    /// A time such as `2026-01-31T09:30:00Z`, with or without parts of a second.
    Moment,
    /// JSON of at most so many bytes.
    Json(usize),
    /// JSON: so many numbers up to a size, or any count of them up to 32.
    Numbers(Option<usize>, f64),
    /// Bytes, at most so many.
    Bytes(usize),
}
use Holds::{Bytes, Json, Line, Moment, Number, Numbers, Seed, Whole, Word};

const fn is(name: &'static str, holds: Holds) -> Field {
    Field { name, holds, optional: false }
}

const fn may(name: &'static str, holds: Holds) -> Field {
    Field { name, holds, optional: true }
}

const IDS: Holds = Whole(1, i64::MAX);
/// Trials, questions and lines in a session.
const COUNT: Holds = Whole(0, 99_999);
const RUN: Holds = Whole(1, 99_999);
/// Teeth in view: two arches hold 32.
const TEETH: i64 = 32;
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

impl Field {
    /// Checks a value; the message names the column, the value and what it can be.
    pub fn check(&self, value: ValueRef<'_>) -> Result<(), String> {
        if matches!(value, ValueRef::Null) && self.optional {
            return Ok(());
        }
        let wrong = || Err(format!("{} is {}, not {}", self.name, Short(value), self.holds));
        let holds = match (&self.holds, value) {
            (Whole(least, most), ValueRef::Integer(n)) => (*least..=*most).contains(&n),
            (Number(least, most), ValueRef::Real(x)) => {
                (*least..=*most).contains(&x) && !x.is_subnormal()
            }
            (Bytes(most), ValueRef::Blob(bytes)) => bytes.len() <= *most,
            (holds, ValueRef::Text(bytes)) => {
                let Ok(text) = std::str::from_utf8(bytes) else { return wrong() };
                match holds {
                    Word(words) => words.contains(&text),
                    Line(most) => {
                        !text.is_empty()
                            && text.len() <= *most
                            && crate::printable::is_printable(text)
                    }
                    Seed => text.parse::<u64>().is_ok_and(|seed| seed.to_string() == text),
                    Moment => is_moment(text),
                    Json(most) => {
                        if text.len() > *most {
                            return Err(format!(
                                "{} is {} bytes long, more than {most}",
                                self.name,
                                text.len()
                            ));
                        }
                        return strict_json::check(text).map_err(|error| {
                            format!("{} is not what it can be: {error}", self.name)
                        });
                    }
                    Numbers(count, most) => {
                        return strict_json::check_numbers(text, *count, TEETH as usize, *most)
                            .map_err(|error| {
                                format!("{} is not what it can be: {error}", self.name)
                            });
                    }
                    _ => false,
                }
            }
            _ => false,
        };
        if holds { Ok(()) } else { wrong() }
    }
}

/// The rule of a column of trials, to check stored ones by.
pub(super) fn of_trials(name: &str) -> Option<&'static Field> {
    TRIAL.fields.iter().find(|field| field.name == name)
}

/// Checks every column of a row of answers by name.
pub(super) fn check_stored_answer(row: &rusqlite::Row<'_>) -> Result<(), String> {
    for field in ANSWER.fields {
        field.check(row.get_ref(field.name).map_err(|error| error.to_string())?)?;
    }
    Ok(())
}

/// A value in a message: short, and with nothing in it that acts on a terminal.
struct Short<'a>(ValueRef<'a>);

impl fmt::Display for Short<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.0 {
            ValueRef::Null => f.write_str("missing"),
            ValueRef::Integer(number) => write!(f, "{number}"),
            ValueRef::Real(number) => write!(f, "{number:e}"),
            ValueRef::Text(bytes) => {
                // Enough for a cut text, and no more than that of a long one.
                let text = String::from_utf8_lossy(&bytes[..bytes.len().min(800)]);
                write!(f, "\"{}\"", crate::printable::printable(&text))
            }
            ValueRef::Blob(bytes) => write!(f, "{} bytes", bytes.len()),
        }
    }
}

impl fmt::Display for Holds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Whole(least, most) => write!(f, "a whole number from {least} to {most}"),
            Number(least, most) => write!(f, "a number from {least} to {most}"),
            Word(words) => write!(f, "one of {}", words.join(", ")),
            Line(most) => write!(f, "a name of 1 to {most} bytes in one line"),
            Seed => f.write_str("a 64-bit number"),
            Moment => f.write_str("a time such as 2026-01-31T09:30:00Z"),
            Json(_) | Numbers(..) => f.write_str("JSON"),
            Bytes(most) => write!(f, "at most {most} bytes"),
        }
    }
}

/// Whether a text is a day such as `2026-01-31`, of the years 2000 to 2999.
pub(super) fn is_day(text: &str) -> bool {
    let bytes = text.as_bytes();
    let number = |range: std::ops::Range<usize>| -> Option<u32> {
        let digits = bytes.get(range)?;
        digits.iter().try_fold(0, |n, digit| {
            digit.is_ascii_digit().then(|| n * 10 + u32::from(digit - b'0'))
        })
    };
    bytes.len() == 10
        && bytes[4] == b'-'
        && bytes[7] == b'-'
        && number(0..4).is_some_and(|year| (2000..3000).contains(&year))
        && number(5..7).is_some_and(|month| (1..=12).contains(&month))
        && number(8..10).is_some_and(|day| (1..=31).contains(&day))
}

fn is_moment(text: &str) -> bool {
    let bytes = text.as_bytes();
    let two = |at: usize, below: u32| {
        bytes.get(at..at + 2).is_some_and(|d| {
            d.iter().all(u8::is_ascii_digit)
                && u32::from(d[0] - b'0') * 10 + u32::from(d[1] - b'0') < below
        })
    };
    let sharp = |at: usize, c: u8| bytes.get(at) == Some(&c);
    let parts = bytes.get(19..bytes.len().saturating_sub(1)).unwrap_or_default();
    text.get(..10).is_some_and(is_day)
        && sharp(10, b'T')
        && two(11, 24)
        && sharp(13, b':')
        && two(14, 60)
        && sharp(16, b':')
        && two(17, 61)
        && bytes.len() >= 20
        && bytes.last() == Some(&b'Z')
        && (parts.is_empty()
            || (parts[0] == b'.'
                && (2..=10).contains(&parts.len())
                && parts[1..].iter().all(u8::is_ascii_digit)))
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

    #[test]
    fn times_are_those_of_rfc_3339_in_utc() {
        for good in ["2026-01-31T09:30:00Z", "2026-12-01T23:59:60Z", "2026-01-31T09:30:00.250Z"] {
            assert!(is_moment(good), "{good}");
        }
        for bad in [
            "",
            "Z",
            "2026-01-31",
            "2026-01-31T09:30:00",
            "2026-01-31 09:30:00Z",
            "2026-13-31T09:30:00Z",
            "2026-01-31T24:30:00Z",
            "2026-01-31T09:30:00.Z",
            "2026-01-31T09:30:00x5Z",
            "2026-01-31T09:30:00+01:00",
            "-026-01-31T09:30:00Z",
            "9999-01-31T09:30:00Z",
            "2026-01-31T09:30:00éZ",
        ] {
            assert!(!is_moment(bad), "{bad}");
        }
    }

    #[test]
    fn numbers_are_finite_in_range_and_whole_in_digits() {
        let number = is("x", Number(0.0, 200.0));
        for good in [0.0, 2.5, 200.0] {
            number.check(ValueRef::Real(good)).unwrap();
        }
        // IEEE 754: the smallest subnormal, infinities, what is no number.
        for bad in [-5.0, 1e308, f64::INFINITY, f64::NEG_INFINITY, f64::NAN, 5e-324, 200.1] {
            let said = number.check(ValueRef::Real(bad)).unwrap_err();
            assert!(
                said.starts_with("x is ") && said.ends_with("a number from 0 to 200"),
                "{said}"
            );
        }
        assert!(number.check(ValueRef::Null).unwrap_err().contains("missing"));
        assert!(number.check(ValueRef::Text(b"2.5")).is_err());
        may("x", Number(0.0, 1.0)).check(ValueRef::Null).unwrap();
        let line = is("x", NAME);
        line.check(ValueRef::Text("naïve".as_bytes())).unwrap();
        line.check(ValueRef::Text(&[b'x'; 200])).unwrap();
        for bad in [&b""[..], b"a\nb", b"a\x1b[2J", b"\xff\xfe", &[b'x'; 201]] {
            let said = line.check(ValueRef::Text(bad)).unwrap_err();
            assert!(crate::printable::is_printable(&said), "{said}");
        }
    }
}
