//! Case files that are there already: what there is in a folder, and what saving over one would lose.

use super::format::ClinicCase;
use super::rules::from_source;
use crate::level::checker::{kind_of, text_at};
use crate::level::diagnostic::{Diagnostic, LoadError};
use crate::level::format::ron_options;
use crate::level::load::{files_below, source_of};
use crate::level::scan::scan;
use crate::material::Library;
use ron::ser::PrettyConfig;
use std::path::{Path, PathBuf};

/// What the one value of a case file is called.
const KIND: &str = "ClinicCase";

/// A file that may hold a case.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseFile {
    /// The file.
    pub path: PathBuf,
    /// The case's title; `None` where none can be read.
    pub title: Option<String>,
}

/// A case that was read from a file.
#[derive(Debug, Clone, PartialEq)]
pub struct OpenedCase {
    /// The case; it obeys every rule.
    pub case: ClinicCase,
    /// What is odd about it.
    pub warnings: Vec<Diagnostic>,
    /// The file's text as it was read.
    pub text: String,
}

/// The `.ron` files of a folder that say they hold a case, and every one in the folder `within` below
/// it, by path. A folder that is not there has none.
///
/// # Errors
/// Why the folder cannot be read.
pub fn case_files(folder: &Path, within: &str) -> Result<Vec<CaseFile>, LoadError> {
    if !folder.exists() {
        return Ok(Vec::new());
    }
    let mut diagnostics = Vec::new();
    let paths = files_below(&[folder.to_owned()], &mut diagnostics);
    // That there is no file is said once, and is no fault here; more is why nothing can be read.
    if paths.is_empty() && diagnostics.len() > 1 {
        diagnostics.truncate(1);
        return Err(LoadError { diagnostics });
    }
    let within = folder.join(within);
    let file = |path: PathBuf| {
        let source = source_of(&path).ok();
        let says_so = source.as_ref().and_then(kind_of).as_deref() == Some(KIND);
        let title = source.filter(|_| says_so).and_then(|source| text_at(&source, "title"));
        (says_so || path.starts_with(&within)).then_some(CaseFile { path, title })
    };
    Ok(paths.into_iter().filter_map(file).collect())
}

/// Reads a case file, and keeps its text.
///
/// # Errors
/// Why it cannot be read, or every problem in it, with line and column.
pub fn open_case(path: &Path, library: &Library) -> Result<OpenedCase, LoadError> {
    let source = source_of(path)?;
    let loaded = from_source(&source, library)?;
    Ok(OpenedCase { case: loaded.value, warnings: loaded.warnings, text: source.text })
}

/// The text of a file as it is compared with what was read before.
///
/// # Errors
/// Why it cannot be read.
pub fn text_of(path: &Path) -> Result<String, LoadError> {
    source_of(path).map(|source| source.text)
}

/// Whether a RON text has comments, which writing its value anew would lose. A text that cannot be
/// read to its end counts as one that has.
#[must_use]
pub fn has_comments(text: &str) -> bool {
    let scan = scan(text);
    scan.has_comments || !scan.complete || !scan.problems.is_empty()
}

/// The text of a case file.
///
/// # Errors
/// When a value has no notation, which no case's has.
pub fn case_text(case: &ClinicCase) -> Result<String, ron::Error> {
    let config = PrettyConfig::new().struct_names(false);
    Ok(format!("ClinicCase{}\n", ron_options().to_string_pretty(case, config)?))
}
