//! Whether rows can be what a sitting of this program left behind.
//!
//! Columns are held against [`fields`](super::fields), rows against themselves, sessions against
//! whose they are said to be, and the smiles of forms against what their form and number say they
//! were ([`ItemTruth`]).

use super::field::{BadValue, Field};
use super::fields::{SESSION, TABLES, TableFields, answer, trial};
use super::not_the_item::NotTheItem;
use super::sitting::Sitting;
use crate::bake::ZoneDifference;
use crate::scene::Tooth;
use crate::trial::{Response, Verdict};
use rusqlite::{Connection, Row};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// Rows and sessions of one file. One learner sits some hundred smiles in a course; years of practice
/// are some ten thousand. Settings of this program.
const MOST_ROWS: u64 = 100_000;
const MOST_SESSIONS: usize = 2_000;
/// Forms that one learner sits in one course: each may cost a search.
const MOST_FORMS: usize = 16;
/// Factors on the time to answer that a course file can grant; 0 is unlimited.
const RESPONSE_FACTORS: std::ops::RangeInclusive<f64> = 1.0..=10.0;
const PHASES: [&str; 4] = ["pre", "post", "delayed", "only"];

/// What a stored trial says about a form's smile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ItemClaim<'a> {
    /// The course of its session.
    pub course: &'a str,
    /// The form's id in the course, as the session has it.
    pub form: Option<&'a str>,
    /// The session's seed.
    pub session_seed: u64,
    /// Smiles that the session was planned for.
    pub planned: u32,
    /// 0-based trial in the session.
    pub trial: u32,
    /// 0-based block.
    pub block: u32,
    /// What names the trial's random streams.
    pub seed_key: &'a str,
    /// Teeth that could be answered.
    pub n_teeth: u32,
    /// Position of the restored tooth, 1 at the viewer's left, 0 for none.
    pub target: u32,
    /// The restored tooth.
    pub tooth: Option<Tooth>,
    /// Position and number of the tooth that was named.
    pub named: Option<(u32, Tooth)>,
    /// Restored tooth minus its twin.
    pub difference: Option<ZoneDifference>,
    /// Natural residuals that are stored.
    pub residuals: usize,
}

/// Who knows which smiles forms hold.
pub trait ItemTruth: Sync {
    /// Whether a trial with such a level and seed key says that it is of a form.
    fn is_of_form(&self, level: &str, seed_key: &str) -> bool;

    /// The number of the item that a trial of a form shows.
    ///
    /// # Errors
    /// [`NotTheItem`] for what the trial says that the form does not.
    fn item(&self, claim: &ItemClaim<'_>) -> Result<u32, NotTheItem>;
}

/// What cannot be, and where.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Impossible(pub String);

/// Why an examination ends early.
#[derive(Debug)]
pub(super) enum Refusal {
    /// A value or a row that cannot be.
    Impossible(String),
    /// SQLite cannot read it.
    Unreadable(rusqlite::Error),
}

impl From<rusqlite::Error> for Refusal {
    fn from(error: rusqlite::Error) -> Self {
        Self::Unreadable(error)
    }
}

/// What was examined and found possible.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct Examined {
    /// Sessions.
    pub sessions: u64,
    /// Trials and answers.
    pub trials: u64,
}

/// A session as far as its rows are held against it.
struct Session {
    sitting: Sitting,
    seed: u64,
    planned: u32,
    /// Items of its form that were shown.
    items: BTreeSet<u32>,
}

/// Checks every row of a file that says it holds one learner's sessions of one course.
pub(super) fn examine(
    connection: &Connection,
    learner: &str,
    course: &str,
    truth: &dyn ItemTruth,
) -> Result<Examined, Refusal> {
    let mut sessions = sessions(connection, learner, course)?;
    let mut examined = Examined { sessions: sessions.len() as u64, trials: 0 };
    let (mut rows, mut forms) = (0, BTreeSet::new());
    for table in TABLES {
        let mut seen = BTreeSet::new();
        let mut statement = connection.prepare(&table.select())?;
        let mut found = statement.query([])?;
        while let Some(row) = found.next()? {
            rows += 1;
            if rows > MOST_ROWS {
                return Err(Refusal::Impossible(format!("it holds more than {MOST_ROWS} rows")));
            }
            let at = Place::of(table, row)?;
            check_fields(table.fields, row).map_err(|error| at.impossible(&error))?;
            if !seen.insert((at.session, at.number)) {
                return Err(at.impossible(&"it is there twice"));
            }
            let Some(session) = sessions.get_mut(&at.session) else {
                return Err(at.impossible(&"there is no such session"));
            };
            let checked = match table.name {
                "trial" => check_trial(row, session, truth, &mut forms)?,
                "answer" => check_answer(row)?,
                _ => Ok(()),
            };
            checked.map_err(|Impossible(what)| at.impossible(&what))?;
        }
        if matches!(table.name, "trial" | "answer") {
            examined.trials += seen.len() as u64;
        }
    }
    Ok(examined)
}

fn sessions(
    connection: &Connection,
    learner: &str,
    course: &str,
) -> Result<BTreeMap<i64, Session>, Refusal> {
    let mut sessions = BTreeMap::new();
    let mut origins = BTreeSet::new();
    let mut statement = connection.prepare(&session_query(""))?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        let id: i64 = row.get(0)?;
        let impossible =
            |what: &dyn fmt::Display| Refusal::Impossible(format!("session {id}: {what}"));
        if sessions.len() >= MOST_SESSIONS {
            let what = format!("it holds more than {MOST_SESSIONS} sessions");
            return Err(Refusal::Impossible(what));
        }
        check_fields(SESSION, row).map_err(|error| impossible(&error))?;
        let settings = serde_json::from_str(row.get_ref(10)?.as_str().unwrap_or_default()).ok();
        let sitting = settings.as_ref().and_then(Sitting::of);
        let sitting = sitting.ok_or_else(|| impossible(&"it says nothing of a course"))?;
        if sitting.learner != learner || sitting.course != course {
            return Err(impossible(&"it is not of the learner and course of the manifest"));
        }
        check_sitting(&sitting).map_err(|error| impossible(&error))?;
        if !origins.insert(origin(row, &sitting)?) {
            return Err(impossible(&"it is there twice"));
        }
        let seed = row.get_ref(7)?.as_str().unwrap_or_default().parse().unwrap_or(0);
        let planned = row.get(9)?;
        sessions.insert(id, Session { sitting, seed, planned, items: BTreeSet::new() });
    }
    Ok(sessions)
}

/// A query for the columns of [`SESSION`] in their order.
pub(super) fn session_query(which: &str) -> String {
    let columns: Vec<&str> = SESSION.iter().map(|field| field.name).collect();
    format!("SELECT {} FROM session NOT INDEXED {which} ORDER BY id", columns.join(", "))
}

/// What a session is known by, whatever its number: who sat it, when it began and what it was drawn
/// from. `row` is one of [`session_query`].
pub(super) fn origin(row: &Row<'_>, sitting: &Sitting) -> rusqlite::Result<String> {
    let text = |i: usize| row.get_ref(i).map(|value| value.as_str().unwrap_or_default().to_owned());
    let Sitting { learner, course, .. } = sitting;
    let (started, task, mode) = (text(1)?, text(4)?, text(5)?);
    let (level, seed) = (text(6)?, text(7)?);
    Ok(format!("{learner}/{course}/{started}/{task}/{mode}/{level}/{seed}"))
}

fn check_fields(fields: &[Field], row: &Row<'_>) -> Result<(), BadValue> {
    for (i, field) in fields.iter().enumerate() {
        field.check(row.get_ref(i)?)?;
    }
    Ok(())
}

/// What a session says of its sitting that cannot be.
#[derive(Debug, thiserror::Error)]
enum BadSitting {
    #[error("its time to answer is {0:e} times the usual")]
    ResponseFactor(f64),
    #[error("its phase is none of pre, post, delayed and only")]
    Phase,
    #[error("its form has no name")]
    Form,
    #[error("its step is {0}")]
    Step(u32),
}

fn check_sitting(sitting: &Sitting) -> Result<(), BadSitting> {
    let factor = sitting.response_factor;
    if factor != 0.0 && !RESPONSE_FACTORS.contains(&factor) {
        return Err(BadSitting::ResponseFactor(factor));
    }
    if sitting.phase.as_deref().is_some_and(|phase| !PHASES.contains(&phase)) {
        return Err(BadSitting::Phase);
    }
    if sitting.form.as_deref().is_some_and(|form| !is_name(form)) {
        return Err(BadSitting::Form);
    }
    match sitting.step {
        Some(step) if step > 9_999 => Err(BadSitting::Step(step)),
        _ => Ok(()),
    }
}

/// Whether a text can be the id of a course or form: one line of at most 200 bytes.
pub(super) fn is_name(text: &str) -> bool {
    !text.is_empty() && text.len() <= 200 && crate::printable::is_printable(text)
}

/// Where in a file a row is.
struct Place {
    session: i64,
    row: &'static str,
    number: Option<i64>,
}

impl Place {
    fn of(table: &TableFields, row: &Row<'_>) -> rusqlite::Result<Self> {
        let number = table.number.map(|_| row.get(1)).transpose()?;
        Ok(Self { session: row.get(0)?, row: table.row, number })
    }

    fn impossible(&self, what: &dyn fmt::Display) -> Refusal {
        let Self { session, row, .. } = self;
        Refusal::Impossible(match self.number {
            Some(number) => format!("session {session}, {row} {number}: {what}"),
            None => format!("session {session}, {row}: {what}"),
        })
    }
}

/// A trial whose columns are possible, held against itself and its form.
fn check_trial(
    row: &Row<'_>,
    session: &mut Session,
    truth: &dyn ItemTruth,
    forms: &mut BTreeSet<(u64, u32)>,
) -> rusqlite::Result<Result<(), Impossible>> {
    let text = |i: usize| row.get_ref(i).map(|value| value.as_str().unwrap_or_default());
    let tooth = |i: usize| -> rusqlite::Result<Option<Tooth>> {
        Ok(row.get::<_, Option<u8>>(i)?.and_then(|number| Tooth::new(number).ok()))
    };
    let said = |what: &str| Ok(Err(Impossible(what.to_owned())));
    let (n_teeth, target): (u32, u32) = (row.get(trial::N_TEETH)?, row.get(trial::TARGET_POS)?);
    let named: Option<u32> = row.get(trial::RESPONSE_POS)?;
    let (restored, answered) = (tooth(trial::TARGET_TOOTH)?, tooth(trial::RESPONSE_TOOTH)?);
    let has_target = text(trial::KIND)? == "signal";
    if restored.is_some() != has_target
        || row.get_ref(trial::TARGET_TOOTH)?.as_i64_or_null().is_ok_and(|n| n.is_some())
            != has_target
    {
        return said("its restored tooth and its kind do not go together");
    }
    if (target > 0 && !has_target) || target > n_teeth {
        return said("its restored tooth has a position where it cannot be");
    }
    let Ok(difference) = difference_of(row, has_target)? else {
        return said("its difference has parts without the others or without a restored tooth");
    };
    let response = match (text(trial::RESPONSE)?, answered) {
        ("tooth", Some(tooth)) => Response::Tooth(tooth),
        ("none", None) => Response::None,
        ("timeout", None) => Response::Timeout,
        _ => return said("its answer and the tooth answered do not go together"),
    };
    if named.is_some_and(|named| named > n_teeth) || (named.is_some() && answered.is_none()) {
        return said("the tooth answered has a position where it cannot be");
    }
    if text(trial::VERDICT)? != Verdict::of(restored, response).name() {
        return said("its verdict is not that of its answer");
    }
    if (row.get::<_, i64>(trial::TIMEOUT)? == 1) != (response == Response::Timeout) {
        return said("it is timed out and answered, or neither");
    }
    if runs_backwards(row)? {
        return said("its times run backwards");
    }
    let seed_key = text(trial::SEED_KEY)?;
    if !truth.is_of_form(text(trial::LEVEL)?, seed_key) {
        return Ok(Ok(()));
    }
    forms.insert((session.seed, session.planned));
    if forms.len() > MOST_FORMS {
        return said("more forms were sat than any course has");
    }
    let claim = ItemClaim {
        course: &session.sitting.course,
        form: session.sitting.form.as_deref(),
        session_seed: session.seed,
        planned: session.planned,
        trial: row.get(1)?,
        block: row.get(trial::BLOCK)?,
        seed_key,
        n_teeth,
        target,
        tooth: restored,
        named: named.zip(answered),
        difference,
        residuals: text(trial::RESIDUALS)?.split(',').count(),
    };
    if claim.named.is_none() && matches!(response, Response::Tooth(_)) {
        return said("the tooth answered has no position");
    }
    Ok(match truth.item(&claim) {
        Err(error) => Err(Impossible(error.to_string())),
        Ok(item) if !session.items.insert(item) => {
            Err(Impossible(format!("item {item} of its form was shown before")))
        }
        Ok(_) => Ok(()),
    })
}

/// The difference of a trial; an error where it has parts without the others or without a restored
/// tooth.
fn difference_of(
    row: &Row<'_>,
    has_target: bool,
) -> rusqlite::Result<Result<Option<ZoneDifference>, ()>> {
    let parts: [Option<f64>; 4] = [
        row.get(trial::X_DE00)?,
        row.get(trial::X_DE00 + 1)?,
        row.get(trial::X_DE00 + 2)?,
        row.get(trial::DH00)?,
    ];
    Ok(match parts {
        [Some(de00), Some(dl00), Some(dc00), Some(dh00)] if has_target => {
            Ok(Some(ZoneDifference { de00, dl00, dc00, dh00 }))
        }
        [None, None, None, None] => Ok(None),
        _ => Err(()),
    })
}

/// Whether a time of a trial lies before an earlier one.
fn runs_backwards(row: &Row<'_>) -> rusqlite::Result<bool> {
    let mut before = 0.0;
    for at in trial::T_FIX..=trial::T_RESP {
        let Some(time) = row.get::<_, Option<f64>>(at)? else { continue };
        if time < before {
            return Ok(true);
        }
        before = time;
    }
    Ok(false)
}

fn check_answer(row: &Row<'_>) -> rusqlite::Result<Result<(), Impossible>> {
    let (shown, answered): (f64, f64) = (row.get(answer::T_SHOWN)?, row.get(answer::T_ANSWER)?);
    if answered < shown {
        return Ok(Err(Impossible("its times run backwards".to_owned())));
    }
    Ok(Ok(()))
}
