//! One level, course or material file, from text or disk.

use super::read::read;
use crate::level::checker::{Loaded, parse};
use crate::level::course_format::Course;
use crate::level::course_rules::check_course;
use crate::level::diagnostic::{Diagnostic, LoadError};
use crate::level::format::Level;
use crate::level::known::KnownMaterials;
use crate::level::material_rules::{check_cements, check_ceramics, check_measured, check_tissues};
use crate::level::rules::check_level;
use crate::level::source::Source;
use crate::material::format::{Cements, Ceramics, MeasuredCeramics, Tissues};
use std::path::{Path, PathBuf};

/// Parses the text of a level; the stem of `source_name` must be the level's id.
///
/// # Errors
/// Every problem of the text, in file order.
pub fn parse_level(
    source_name: impl Into<PathBuf>,
    text: &str,
    known: &KnownMaterials,
) -> Result<Loaded<Level>, LoadError> {
    level_from(&Source::new(source_name, text), known)
}

/// Reads one level file.
///
/// # Errors
/// Why the file cannot be read, or every problem in it.
pub fn load_level(path: &Path, known: &KnownMaterials) -> Result<Loaded<Level>, LoadError> {
    level_from(&read(path)?, known)
}

pub(super) fn level_from(
    source: &Source,
    known: &KnownMaterials,
) -> Result<Loaded<Level>, LoadError> {
    parse(source, "Level", |level, checker| check_level(level, known, checker))
}

/// Parses the text of a course; the stem of `source_name` must be the course's id.
///
/// # Errors
/// Every problem of the text, in file order.
pub fn parse_course(
    source_name: impl Into<PathBuf>,
    text: &str,
    known: &KnownMaterials,
) -> Result<Loaded<Course>, LoadError> {
    course_from(&Source::new(source_name, text), known)
}

/// Reads one course file.
///
/// # Errors
/// Why the file cannot be read, or every problem in it.
pub fn load_course(path: &Path, known: &KnownMaterials) -> Result<Loaded<Course>, LoadError> {
    course_from(&read(path)?, known)
}

pub(super) fn course_from(
    source: &Source,
    known: &KnownMaterials,
) -> Result<Loaded<Course>, LoadError> {
    parse(source, "Course", |course, checker| check_course(course, known, checker))
}

/// Parses the text of `ceramics.ron`.
///
/// # Errors
/// Every problem of the text, in file order.
pub fn parse_ceramics(
    source_name: impl Into<PathBuf>,
    text: &str,
) -> Result<Loaded<Ceramics>, LoadError> {
    parse(&Source::new(source_name, text), "Ceramics", check_ceramics)
}

/// Parses the text of `cements.ron`.
///
/// # Errors
/// Every problem of the text, in file order.
pub fn parse_cements(
    source_name: impl Into<PathBuf>,
    text: &str,
) -> Result<Loaded<Cements>, LoadError> {
    parse(&Source::new(source_name, text), "Cements", check_cements)
}

/// Parses the text of a file of measured ceramics.
///
/// # Errors
/// Every problem of the text, in file order.
pub fn parse_measured_ceramics(
    source_name: impl Into<PathBuf>,
    text: &str,
) -> Result<Loaded<MeasuredCeramics>, LoadError> {
    parse(&Source::new(source_name, text), "MeasuredCeramics", check_measured)
}

/// Parses the text of `tissues.ron`.
///
/// # Errors
/// Every problem of the text, in file order.
pub fn parse_tissues(
    source_name: impl Into<PathBuf>,
    text: &str,
) -> Result<Loaded<Tissues>, LoadError> {
    parse(&Source::new(source_name, text), "Tissues", check_tissues)
}

/// The value if there is one; all diagnostics go to the list.
pub(super) fn keep<T>(
    result: Result<Loaded<T>, LoadError>,
    diagnostics: &mut Vec<Diagnostic>,
) -> Option<T> {
    match result {
        Ok(Loaded { value, warnings }) => {
            diagnostics.extend(warnings);
            Some(value)
        }
        Err(error) => {
            diagnostics.extend(error.diagnostics);
            None
        }
    }
}
