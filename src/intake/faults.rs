//! What is wrong in a spectrum file, up to a number that somebody would read.

use crate::level::{Diagnostic, LoadError, Position, Severity};
use std::path::{Path, PathBuf};

/// Faults listed; the rest are counted.
const MOST: usize = 20;

pub(super) struct Faults {
    file: PathBuf,
    listed: Vec<Diagnostic>,
    more: usize,
    warnings: Vec<Diagnostic>,
}

/// A place in the file: line and column from 1, or the file as a whole.
pub(super) type Place = Option<(usize, usize)>;

impl Faults {
    pub fn new(file: &Path) -> Self {
        Self { file: file.to_owned(), listed: Vec::new(), more: 0, warnings: Vec::new() }
    }

    fn diagnostic(
        &self,
        severity: Severity,
        place: Place,
        message: impl Into<String>,
        help: impl Into<String>,
    ) -> Diagnostic {
        Diagnostic {
            file: self.file.clone(),
            position: place.map(|(line, column)| Position { line, column }),
            severity,
            message: message.into(),
            help: help.into(),
        }
    }

    pub fn error(&mut self, place: Place, message: impl Into<String>, help: impl Into<String>) {
        if self.listed.len() < MOST {
            let fault = self.diagnostic(Severity::Error, place, message, help);
            self.listed.push(fault);
        } else {
            self.more += 1;
        }
    }

    pub fn warning(&mut self, place: Place, message: impl Into<String>, help: impl Into<String>) {
        if self.warnings.len() < MOST {
            let fault = self.diagnostic(Severity::Warning, place, message, help);
            self.warnings.push(fault);
        }
    }

    pub const fn any(&self) -> bool {
        !self.listed.is_empty()
    }

    /// The value with the warnings, or every fault, in file order.
    pub fn finish<T>(mut self, value: Option<T>) -> Result<(T, Vec<Diagnostic>), LoadError> {
        if self.listed.is_empty()
            && let Some(value) = value
        {
            return Ok((value, self.warnings));
        }
        self.listed.append(&mut self.warnings);
        self.listed.sort_by_key(|d| d.position);
        if self.more > 0 {
            let message = format!("{} more faults are not listed", self.more);
            let rest = self.diagnostic(Severity::Error, None, message, "mend these first");
            self.listed.push(rest);
        }
        Err(LoadError { diagnostics: self.listed })
    }
}
