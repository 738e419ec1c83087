//! Learners as random ids, and the separate list that says who they are.
//!
//! Results carry the id and nothing else about a person. The roster is a table that the course's
//! owner keeps apart from the results; nothing in this program needs it.

use crate::random::{Purpose, StreamKey};
use rand::RngExt;
use std::collections::BTreeSet;
use std::fmt;
use std::io::{Read, Write};
use std::str::FromStr;
use thiserror::Error;

/// Digits of an id: 48 bits, so that two of a million learners share one with a chance of 0.2 %.
const DIGITS: usize = 12;
/// Fewest digits that are accepted.
const FEWEST_DIGITS: usize = 8;
const MOST_DIGITS: usize = 32;
const HEADER: [&str; 3] = ["learner_id", "seat", "name"];

/// The id of a learner: 8 to 32 hexadecimal digits in lower case, drawn at random.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct LearnerId(String);

/// A text that is no learner id.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "\"{0}\" is not a learner id: {FEWEST_DIGITS} to {MOST_DIGITS} digits 0-9 and a-f, drawn at random"
)]
pub struct LearnerIdError(pub String);

impl LearnerId {
    /// The id number `n` of a roster. `entropy` is secret randomness from the system, not a seed
    /// that others know: who knows it knows the ids.
    #[must_use]
    pub fn draw(entropy: u64, n: u32) -> Self {
        let key = StreamKey {
            form: "roster",
            seed: entropy,
            purpose: Purpose::LearnerId,
            block: 0,
            trial: n,
        };
        let bits: u64 = key.stream().random();
        Self(format!("{bits:016x}")[..DIGITS].to_owned())
    }

    /// The digits.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl FromStr for LearnerId {
    type Err = LearnerIdError;
    fn from_str(text: &str) -> Result<Self, LearnerIdError> {
        let digit = |c: char| c.is_ascii_digit() || ('a'..='f').contains(&c);
        let fits = (FEWEST_DIGITS..=MOST_DIGITS).contains(&text.len()) && text.chars().all(digit);
        if fits { Ok(Self(text.to_owned())) } else { Err(LearnerIdError(text.to_owned())) }
    }
}

impl fmt::Display for LearnerId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// One learner of a roster.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RosterEntry {
    /// The id that results carry.
    pub learner: LearnerId,
    /// The seat, from 0. It decides which form comes first and in which order.
    pub seat: u64,
    /// Whatever the owner wants to know the learner by; may be empty.
    pub name: String,
}

/// Who sits where.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Roster {
    /// The learners.
    pub entries: Vec<RosterEntry>,
}

/// Why a roster cannot be read or written.
#[derive(Debug, Error)]
pub enum RosterError {
    /// The table is no table.
    #[error("roster: {0}")]
    Csv(#[from] csv::Error),
    /// The table has other columns.
    #[error("roster: the first line must be `learner_id,seat,name`, not `{0}`")]
    Header(String),
    /// A value is wrong.
    #[error("roster, line {line}: {problem}")]
    Line {
        /// The line, counted from 1.
        line: u64,
        /// What is wrong.
        problem: String,
    },
}

impl Roster {
    /// A roster of learners without names, in seats from 0. `entropy` is as for
    /// [`LearnerId::draw`].
    #[must_use]
    pub fn draw(entropy: u64, learners: u32) -> Self {
        let mut seen = BTreeSet::new();
        let mut entries = Vec::new();
        let mut n = 0;
        while entries.len() < learners as usize {
            let learner = LearnerId::draw(entropy, n);
            n += 1;
            if seen.insert(learner.clone()) {
                let seat = entries.len() as u64;
                entries.push(RosterEntry { learner, seat, name: String::new() });
            }
        }
        Self { entries }
    }

    /// Writes it as CSV.
    ///
    /// # Errors
    /// [`RosterError::Csv`] when writing fails.
    pub fn write(&self, to: impl Write) -> Result<(), RosterError> {
        let mut writer = csv::Writer::from_writer(to);
        writer.write_record(HEADER)?;
        for entry in &self.entries {
            writer.write_record([entry.learner.as_str(), &entry.seat.to_string(), &entry.name])?;
        }
        writer.flush().map_err(csv::Error::from)?;
        Ok(())
    }

    /// Reads it back.
    ///
    /// # Errors
    /// [`RosterError`] with the first line that is wrong: an id that is none or comes twice, or a
    /// seat that is no number.
    pub fn read(from: impl Read) -> Result<Self, RosterError> {
        let mut reader = csv::Reader::from_reader(from);
        let header = reader.headers()?.iter().collect::<Vec<_>>().join(",");
        if header != HEADER.join(",") {
            return Err(RosterError::Header(header));
        }
        let mut roster = Self::default();
        let mut seen = BTreeSet::new();
        for record in reader.records() {
            let record = record?;
            let line = record.position().map_or(0, csv::Position::line);
            let wrong = |problem: String| RosterError::Line { line, problem };
            let field = |i: usize| record.get(i).unwrap_or_default();
            let learner: LearnerId =
                field(0).parse().map_err(|e: LearnerIdError| wrong(e.to_string()))?;
            if !seen.insert(learner.clone()) {
                return Err(wrong(format!("learner {learner} is listed twice")));
            }
            let seat = field(1)
                .parse()
                .map_err(|_| wrong(format!("seat \"{}\" is not a whole number", field(1))))?;
            roster.entries.push(RosterEntry { learner, seat, name: field(2).to_owned() });
        }
        Ok(roster)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_roster_comes_back_and_says_what_is_wrong() {
        let mut roster = Roster::draw(99, 300);
        roster.entries[1].name = "the one by the window, \"left\"".to_owned();
        let mut text = Vec::new();
        roster.write(&mut text).unwrap();
        assert_eq!(Roster::read(&*text).unwrap(), roster);
        let ids: BTreeSet<_> = roster.entries.iter().map(|e| &e.learner).collect();
        assert_eq!(ids.len(), 300);
        assert!(roster.entries.iter().all(|e| e.learner.as_str().len() >= 8));
        assert_ne!(Roster::draw(98, 1).entries[0], roster.entries[0]);

        let error = |text: &str| Roster::read(text.as_bytes()).unwrap_err().to_string();
        assert!(error("id,seat\n").contains("learner_id,seat,name"));
        assert!(error("learner_id,seat,name\nAB,1,x\n").contains("line 2"));
        let twice = "learner_id,seat,name\nabcdef01,1,x\nabcdef01,2,y\n";
        assert!(error(twice).contains("line 3: learner abcdef01 is listed twice"));
        assert!(error("learner_id,seat,name\nabcdef01,-1,x\n").contains("whole number"));
    }
}
