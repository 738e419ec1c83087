//! Many files checked at once.

use super::parse::{course_from, keep, level_from};
use super::read::{files_below, read};
use crate::level::checker::{Checker, ids_in, kind_of, locate, name_at, parse};
use crate::level::course_format::Course;
use crate::level::diagnostic::{Diagnostic, Severity};
use crate::level::format::Level;
use crate::level::known::KnownMaterials;
use crate::level::material_rules::{check_cements, check_ceramics, check_measured, check_tissues};
use crate::level::source::Source;
use crate::words::count;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::fmt;
use std::path::PathBuf;

/// What checking files found.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CheckReport {
    /// Files looked at.
    pub files: usize,
    /// All problems, by file in the order checked, then by position.
    pub diagnostics: Vec<Diagnostic>,
    /// The valid levels and where each came from.
    pub levels: Vec<(PathBuf, Level)>,
    /// The valid courses and where each came from.
    pub courses: Vec<(PathBuf, Course)>,
    /// The material files that obey the rules on their values.
    pub materials: Vec<PathBuf>,
    /// The files with cases from the clinic, which need a library to be looked into.
    pub cases: Vec<PathBuf>,
}

impl CheckReport {
    /// Number of errors.
    #[must_use]
    pub fn errors(&self) -> usize {
        self.diagnostics.iter().filter(|d| d.severity == Severity::Error).count()
    }

    /// Number of warnings.
    #[must_use]
    pub fn warnings(&self) -> usize {
        self.diagnostics.len() - self.errors()
    }
}

impl fmt::Display for CheckReport {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for diagnostic in &self.diagnostics {
            writeln!(f, "{diagnostic}")?;
        }
        let files = count(self.files, "file", "files");
        let errors = count(self.errors(), "error", "errors");
        write!(f, "{files}: {errors}, {}", count(self.warnings(), "warning", "warnings"))
    }
}

/// Checks files, and all `.ron` files below folders.
///
/// A file is taken for what its one value is called: `Level`, `Course`, `ClinicCase`, `Ceramics`,
/// `MeasuredCeramics`, `Cements` or `Tissues`. Levels may refer to `known` materials and to those of
/// material files among `paths`, courses to known levels and those among `paths`.
#[must_use]
pub fn check(paths: &[PathBuf], known: &KnownMaterials) -> CheckReport {
    let mut diagnostics = Vec::new();
    let files = files_below(paths, &mut diagnostics);
    let mut report = CheckReport { files: files.len(), ..CheckReport::default() };
    let mut by_file: BTreeMap<usize, Vec<Diagnostic>> = BTreeMap::new();
    let mut known = known.clone();
    let (mut levels, mut courses) = (Vec::new(), Vec::new());
    for (index, path) in files.iter().enumerate() {
        let found = by_file.entry(index).or_default();
        match read(path) {
            Ok(source) => {
                if kind_of(&source).as_deref() == Some("ClinicCase") {
                    report.cases.push(source.file);
                } else if kind_of(&source).as_deref() == Some("Course") {
                    courses.push((index, source));
                } else if !check_material(&source, &mut known, found) {
                    levels.push((index, source));
                } else if found.iter().all(|d| d.severity == Severity::Warning) {
                    report.materials.push(source.file);
                }
            }
            Err(error) => found.extend(error.diagnostics),
        }
    }
    // Levels come second, when every material file is known.
    let mut owners: BTreeMap<String, PathBuf> = BTreeMap::new();
    for (index, source) in levels {
        let found = by_file.entry(index).or_default();
        // Courses that refer to a level with mistakes are not to blame.
        if let Some(stem) = source.file.file_stem() {
            let stem = stem.to_string_lossy().into_owned();
            if name_at(&source, "exercise").is_some_and(|name| name != "Glance") {
                known.question_levels.insert(stem.clone());
            } else {
                known.question_levels.remove(&stem);
            }
            known.levels.insert(stem);
        }
        let Some(level) = keep(level_from(&source, &known), found) else { continue };
        match owners.get(&level.id) {
            Some(first) => {
                let offset = locate(&source, "id");
                let message =
                    format!("id \"{}\" is taken by {}", level.id, crate::printable::path(first));
                let help = "give every level an id of its own, here and in the file name";
                found.push(source.diagnostic(Severity::Error, offset, message, help));
            }
            None => {
                owners.insert(level.id.clone(), source.file.clone());
                report.levels.push((source.file, level));
            }
        }
    }
    for (index, source) in courses {
        let found = by_file.entry(index).or_default();
        if let Some(course) = keep(course_from(&source, &known), found) {
            report.courses.push((source.file, course));
        }
    }
    diagnostics.extend(by_file.into_values().flatten());
    report.diagnostics = diagnostics;
    report
}

/// Checks a material file and adds its ids to the known ones; false when the source is none.
fn check_material(
    source: &Source,
    known: &mut KnownMaterials,
    diagnostics: &mut Vec<Diagnostic>,
) -> bool {
    // Ids of a file with mistakes count too: levels that refer to them are not to blame.
    match kind_of(source).as_deref() {
        Some(kind @ "Ceramics") => match checked(source, kind, check_ceramics, diagnostics) {
            Some(file) => known.add_ceramics(&file),
            None => {
                let ids = ids_in(source, "classes");
                known.graded_ceramics.extend(ids.iter().cloned());
                known.ceramics.extend(ids);
            }
        },
        Some(kind @ "MeasuredCeramics") => {
            match checked(source, kind, check_measured, diagnostics) {
                Some(file) => known.add_measured(&file),
                None => known.ceramics.extend(ids_in(source, "classes")),
            }
        }
        Some(kind @ "Cements") => match checked(source, kind, check_cements, diagnostics) {
            Some(file) => known.add_cements(&file),
            None => known.cements.extend(ids_in(source, "cements")),
        },
        Some(kind @ "Tissues") => match checked(source, kind, check_tissues, diagnostics) {
            Some(file) => known.add_tissues(&file),
            None => known.prepared_teeth.extend(ids_in(source, "prepared_teeth")),
        },
        _ => return false,
    }
    true
}

fn checked<T: DeserializeOwned>(
    source: &Source,
    kind: &str,
    rules: impl FnOnce(&T, &mut Checker<'_>),
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<T> {
    keep(parse(source, kind, rules), diagnostics)
}
