//! The rows of one file copied into a store.

use super::examine;
use super::fields::{SESSION, TABLES, TableFields};
use super::sitting::Sitting;
use rusqlite::types::{ToSqlOutput, Value, ValueRef};
use rusqlite::{CachedStatement, Connection, OptionalExtension, Row};
use std::collections::BTreeMap;

/// Whose fault it is that a row cannot be copied.
pub(super) enum Fault {
    File(rusqlite::Error),
    Store(rusqlite::Error),
}

#[derive(Default)]
pub(super) struct Counts {
    pub new: u64,
    pub known: u64,
    /// Rows that are stored already, and otherwise.
    pub differing: u64,
}

/// The texts of the statements that copy rows.
pub(super) struct Statements {
    session: String,
    tables: [TableStatements; TABLES.len()],
}

struct TableStatements {
    table: &'static TableFields,
    /// All rows of the file.
    read: String,
    /// The row of a session, and of its number where rows are numbered.
    stored: String,
    insert: String,
}

impl Statements {
    pub fn new() -> Self {
        let marks = |count: usize| vec!["?"; count].join(", ");
        let names: Vec<&str> = SESSION.iter().skip(1).map(|field| field.name).collect();
        let session =
            format!("INSERT INTO session ({}) VALUES ({})", names.join(", "), marks(names.len()));
        let tables = TABLES.map(|table| {
            let (name, columns) = (table.name, table.columns());
            let number = table.number.map(|n| format!(" AND {n} = ?2")).unwrap_or_default();
            TableStatements {
                table,
                read: table.select(),
                stored: format!("SELECT {columns} FROM {name} WHERE session = ?1{number}"),
                insert: format!(
                    "INSERT OR {} INTO {name} ({columns}) VALUES ({})",
                    // A table of one row a session keeps the later one.
                    if table.number.is_some() { "ABORT" } else { "REPLACE" },
                    marks(table.fields.len())
                ),
            }
        });
        Self { session, tables }
    }
}

/// Where a session of the file is in the store.
#[derive(Clone, Copy)]
struct Moved {
    new: i64,
    known: bool,
}

pub(super) struct Merge<'a> {
    pub from: &'a Connection,
    pub to: &'a Connection,
    pub into: &'a Statements,
}

impl Merge<'_> {
    pub fn all(&self) -> Result<Counts, Fault> {
        let mut counts = Counts::default();
        let moved = self.sessions(&mut counts)?;
        for statements in &self.into.tables {
            self.table(statements, &moved, &mut counts)?;
        }
        Ok(counts)
    }

    fn sessions(&self, counts: &mut Counts) -> Result<BTreeMap<i64, Moved>, Fault> {
        let mut moved = BTreeMap::new();
        let mut statement = self.from.prepare(&examine::session_query("")).map_err(Fault::File)?;
        let mut rows = statement.query([]).map_err(Fault::File)?;
        while let Some(row) = rows.next().map_err(Fault::File)? {
            let old: i64 = row.get(0).map_err(Fault::File)?;
            let settings = text(row, 10).map_err(Fault::File)?;
            let settings = serde_json::from_str(&settings).ok();
            let Some(sitting) = settings.as_ref().and_then(Sitting::of) else { continue };
            let origin = examine::origin(row, &sitting).map_err(Fault::File)?;
            let known = self.known(&origin).map_err(Fault::Store)?;
            let new = match known {
                Some(new) => {
                    counts.differing += u64::from(!self.same_session(row, new)?);
                    new
                }
                None => {
                    let mut insert =
                        self.to.prepare_cached(&self.into.session).map_err(Fault::Store)?;
                    bind(&mut insert, row, 1, 0)?;
                    insert.raw_execute().map_err(Fault::Store)?;
                    let new = self.to.last_insert_rowid();
                    self.to
                        .prepare_cached("INSERT INTO gathered VALUES (?1, ?2)")
                        .and_then(|mut insert| insert.execute((new, &origin)))
                        .map_err(Fault::Store)?;
                    new
                }
            };
            moved.insert(old, Moved { new, known: known.is_some() });
        }
        Ok(moved)
    }

    fn known(&self, origin: &str) -> rusqlite::Result<Option<i64>> {
        self.to
            .prepare_cached("SELECT session FROM gathered WHERE origin = ?1")?
            .query_row([origin], |row| row.get(0))
            .optional()
    }

    /// Whether a session says what it said before; one that was not finished then may be now.
    fn same_session(&self, row: &Row<'_>, stored: i64) -> Result<bool, Fault> {
        let mut query = self
            .to
            .prepare_cached(&examine::session_query("WHERE id = ?1"))
            .map_err(Fault::Store)?;
        let mut before = query.query([stored]).map_err(Fault::Store)?;
        let Some(before) = before.next().map_err(Fault::Store)? else { return Ok(false) };
        for (i, field) in SESSION.iter().enumerate().skip(1) {
            let now = row.get_ref(i).map_err(Fault::File)?;
            let then = before.get_ref(i).map_err(Fault::Store)?;
            if now == then {
                continue;
            }
            let finished = field.name == "finished_at";
            if !finished || !matches!((then, now), (ValueRef::Null, _) | (_, ValueRef::Null)) {
                return Ok(false);
            }
            if then == ValueRef::Null {
                self.to
                    .prepare_cached("UPDATE session SET finished_at = ?2 WHERE id = ?1")
                    .and_then(|mut update| update.execute((stored, ToSqlOutput::Borrowed(now))))
                    .map_err(Fault::Store)?;
            }
        }
        Ok(true)
    }

    /// Copies rows of a table: all of new sessions, and of known ones those that are not there yet.
    fn table(
        &self,
        of: &TableStatements,
        moved: &BTreeMap<i64, Moved>,
        counts: &mut Counts,
    ) -> Result<(), Fault> {
        let counted = matches!(of.table.name, "trial" | "answer");
        let mut statement = self.from.prepare(&of.read).map_err(Fault::File)?;
        let mut rows = statement.query([]).map_err(Fault::File)?;
        let mut insert = self.to.prepare_cached(&of.insert).map_err(Fault::Store)?;
        while let Some(row) = rows.next().map_err(Fault::File)? {
            let session: i64 = row.get(0).map_err(Fault::File)?;
            let Some(Moved { new, known }) = moved.get(&session).copied() else { continue };
            let stored = if known { self.stored(of, row, new)? } else { Stored::Missing };
            match stored {
                Stored::Same => counts.known += u64::from(counted),
                // A measurement goes on: an old hand-in must not set it back.
                Stored::Otherwise if of.table.number.is_none() => {
                    if self.has_as_many_trials(session, new)? {
                        put(&mut insert, row, new)?;
                    }
                }
                Stored::Otherwise => counts.differing += 1,
                Stored::Missing => {
                    put(&mut insert, row, new)?;
                    counts.new += u64::from(counted);
                }
            }
        }
        Ok(())
    }

    fn stored(&self, of: &TableStatements, row: &Row<'_>, new: i64) -> Result<Stored, Fault> {
        let mut query = self.to.prepare_cached(&of.stored).map_err(Fault::Store)?;
        let mut found = if of.table.number.is_some() {
            let number: i64 = row.get(1).map_err(Fault::File)?;
            query.query([new, number])
        } else {
            query.query([new])
        }
        .map_err(Fault::Store)?;
        let Some(found) = found.next().map_err(Fault::Store)? else { return Ok(Stored::Missing) };
        for i in 1..of.table.fields.len() {
            if row.get_ref(i).map_err(Fault::File)? != found.get_ref(i).map_err(Fault::Store)? {
                return Ok(Stored::Otherwise);
            }
        }
        Ok(Stored::Same)
    }

    /// Whether the file has at least as many trials of a session as are stored by now.
    fn has_as_many_trials(&self, old: i64, new: i64) -> Result<bool, Fault> {
        let count = |connection: &Connection, session: i64| {
            connection
                .prepare_cached("SELECT count(*) FROM trial WHERE session = ?1")?
                .query_row([session], |row| row.get::<_, i64>(0))
        };
        Ok(count(self.from, old).map_err(Fault::File)?
            >= count(self.to, new).map_err(Fault::Store)?)
    }
}

enum Stored {
    Missing,
    Same,
    Otherwise,
}

fn text(row: &Row<'_>, column: usize) -> rusqlite::Result<String> {
    row.get(column)
}

/// Binds a row's columns from `first` on to a statement's values from `before` + 1 on.
fn bind(
    insert: &mut CachedStatement<'_>,
    row: &Row<'_>,
    first: usize,
    before: usize,
) -> Result<(), Fault> {
    for column in first..row.as_ref().column_count() {
        let value = row.get_ref(column).map_err(Fault::File)?;
        insert
            .raw_bind_parameter(before + column - first + 1, ToSqlOutput::Borrowed(value))
            .map_err(Fault::Store)?;
    }
    Ok(())
}

fn put(insert: &mut CachedStatement<'_>, row: &Row<'_>, session: i64) -> Result<(), Fault> {
    insert
        .raw_bind_parameter(1, ToSqlOutput::Owned(Value::Integer(session)))
        .map_err(Fault::Store)?;
    bind(insert, row, 1, 1)?;
    insert.raw_execute().map(|_| ()).map_err(Fault::Store)
}
