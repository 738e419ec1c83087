//! What is wrong in a file, where, and what to do about it.

use std::fmt;
use std::path::PathBuf;

/// How bad a problem is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Legal, but unusual enough to look at twice.
    Warning,
    /// The file cannot be used.
    Error,
}

/// A place in a text file, both counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Position {
    /// Line.
    pub line: usize,
    /// Column in characters, not bytes.
    pub column: usize,
}

/// One problem in one file.
///
/// Shown as `levels/x.ron:12:9: error: …`, with the remedy on a second line.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// The file as the caller named it.
    pub file: PathBuf,
    /// Where in it; `None` when the file as a whole is the problem.
    pub position: Option<Position>,
    /// Error or warning.
    pub severity: Severity,
    /// What is wrong: the value found and the rule it breaks.
    pub message: String,
    /// What to do.
    pub help: String,
}

impl fmt::Display for Severity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Warning => "warning",
            Self::Error => "error",
        })
    }
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:{}", self.line, self.column)
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:", crate::printable::path(&self.file))?;
        if let Some(position) = self.position {
            write!(f, "{position}:")?;
        }
        write!(f, " {}: {}", self.severity, self.message)?;
        if !self.help.is_empty() {
            write!(f, "\n    help: {}", self.help)?;
        }
        Ok(())
    }
}

/// Every problem of a file that could not be loaded, in file order, warnings included.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LoadError {
    /// The problems; at least one is an error.
    pub diagnostics: Vec<Diagnostic>,
}

impl fmt::Display for LoadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, diagnostic) in self.diagnostics.iter().enumerate() {
            if index > 0 {
                f.write_str("\n")?;
            }
            diagnostic.fmt(f)?;
        }
        Ok(())
    }
}

impl std::error::Error for LoadError {}

/// Longest name that is compared with known ones; comparing takes time by the product of lengths.
const MAX_NAME: usize = 64;

/// The name among `known` that `given` was probably meant to be.
pub(super) fn nearest<'a>(
    given: &str,
    known: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    if given.len() > MAX_NAME {
        return None;
    }
    let folded = given.to_lowercase();
    known
        .into_iter()
        .map(|name| (strsim::damerau_levenshtein(&folded, &name.to_lowercase()), name))
        .filter(|(distance, name)| {
            *distance <= 1 + name.chars().count().min(given.chars().count()) / 3
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// Words of the notation as a choice: `a`, `a` or `b`, `a`, `b` or `c`.
pub(super) fn one_of<'a>(names: impl IntoIterator<Item = &'a str>) -> String {
    choice(names.into_iter().map(|name| format!("`{name}`")).collect())
}

/// Ids as a choice: "a", "a" or "b", "a", "b" or "c".
pub(super) fn one_of_ids<'a>(ids: impl IntoIterator<Item = &'a String>) -> String {
    choice(ids.into_iter().map(|id| format!("\"{id}\"")).collect())
}

fn choice(names: Vec<String>) -> String {
    match names.split_last() {
        None => "nothing".to_owned(),
        Some((last, [])) => last.clone(),
        Some((last, rest)) => format!("{} or {last}", rest.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn display_has_place_severity_and_help() {
        let mut diagnostic = Diagnostic {
            file: "levels/x.ron".into(),
            position: Some(Position { line: 12, column: 9 }),
            severity: Severity::Error,
            message: "share is 0".into(),
            help: "give a share above 0".into(),
        };
        let text = "levels/x.ron:12:9: error: share is 0\n    help: give a share above 0";
        assert_eq!(diagnostic.to_string(), text);
        diagnostic.position = None;
        diagnostic.severity = Severity::Warning;
        diagnostic.help.clear();
        assert_eq!(diagnostic.to_string(), "levels/x.ron: warning: share is 0");
    }

    #[test]
    fn nearest_finds_slips_and_nothing_else() {
        let known = ["thickness_mm", "translucency", "teeth"];
        assert_eq!(nearest("thicknes_mm", known), Some("thickness_mm"));
        assert_eq!(nearest("Translucensy", known), Some("translucency"));
        assert_eq!(nearest("tooth", known), Some("teeth"));
        assert_eq!(nearest("teth", known), Some("teeth"));
        assert_eq!(nearest("colour", known), None);
        assert_eq!(nearest("", known), None);
        assert_eq!(nearest(&"teeth".repeat(20), known), None);
    }

    #[test]
    fn one_of_reads_as_a_sentence() {
        assert_eq!(one_of([]), "nothing");
        assert_eq!(one_of(["a"]), "`a`");
        assert_eq!(one_of(["a", "b", "c"]), "`a`, `b` or `c`");
    }
}
