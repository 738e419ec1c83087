//! Rows that are stored and cannot be what this program stored.
//!
//! Hand-ins are checked before anything of them is stored, so such rows come from earlier versions, a
//! failing disk, or somebody who wrote into the file. They keep nobody's other rows from being read.

use std::fmt;

/// A row that is left out when rows are read, and why.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct BadRow {
    /// Whose it is; `None` where not even that can be read.
    pub learner: Option<String>,
    /// Session number in the store.
    pub session: i64,
    /// What the row is, such as `trial`, and its number; `None` for the session itself.
    pub row: Option<(&'static str, i64)>,
    /// What is wrong with it.
    pub what: String,
}

impl fmt::Display for BadRow {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let printable = crate::printable::printable;
        match &self.learner {
            Some(learner) => write!(f, "learner {}, ", printable(learner))?,
            None => f.write_str("learner unknown, ")?,
        }
        write!(f, "session {}", self.session)?;
        if let Some((row, number)) = self.row {
            write!(f, ", {row} {number}")?;
        }
        write!(f, ": {}", crate::printable::one_line(&self.what))
    }
}
