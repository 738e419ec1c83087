//! Checks files of one's own, in themselves and in use.

use super::files::SHIPPED_LEVELS;
use super::sources::{built_in_known, library};
use crate::course::{CourseFault, course_faults};
use crate::exercise;
use crate::level::clinic::load_case;
use crate::level::course_format::Course;
use crate::level::format::{Level, ron_options};
use crate::level::load::{self, CheckReport};
use crate::level::{self, Diagnostic, KnownMaterials, Position, Severity};
use crate::material::OwnMaterials;
use crate::play::content::ContentError;
use std::path::{Path, PathBuf};

/// Checks level, course and material files, and whether the forms of courses can decide what the
/// courses ask of them. Levels may also refer to the materials in the folder `materials`, courses
/// to the built-in levels, or to those in the folder `levels` instead.
///
/// # Errors
/// [`ContentError::Invalid`] when this build's own materials or those of the folder are faulty.
pub fn check(
    paths: &[PathBuf],
    materials: Option<&Path>,
    levels: Option<&Path>,
) -> Result<CheckReport, ContentError> {
    let base = library(materials, None)?;
    let known = match levels {
        None => built_in_known(&base)?,
        Some(folder) => {
            let mut known = KnownMaterials::of(&base);
            // What is wrong with them is said where they are among the files to be checked.
            let report = load::check(&[folder.to_owned()], &known);
            report.levels.iter().for_each(|(_, level)| known.add_level(level));
            known
        }
    };
    let mut report = load::check(paths, &known);
    let mut found = Vec::new();
    for (file, course) in &report.courses {
        for CourseFault { path, message, help } in course_faults(course) {
            found.push(load::mistake_in(file, &path, message, help));
        }
    }
    report.diagnostics.extend(found);
    let mut own = OwnMaterials::default();
    for file in &report.materials {
        report.diagnostics.extend(level::faults_in_use(file, &base));
        load::add_own(&mut own, file);
    }
    if report.errors() > 0 {
        return Ok(report);
    }
    // Levels and cases are for the materials that lie beside them, as with `--materials`.
    let together = base.with_replaced(own).map_err(|e| ContentError::Invalid(e.to_string()))?;
    let is_shipped = materials.is_none()
        && together.measured_ceramics().is_empty()
        && (together.ceramics(), together.cements(), together.tissues())
            == (base.ceramics(), base.cements(), base.tissues());
    for (file, level) in &report.levels {
        // What ships plays with what ships: its own tests lay it out.
        if is_shipped && is_built_in(level) {
            continue;
        }
        if let Some((at, fault)) = exercise::fault_in_use(level, &together) {
            let position = load::place_in(file, &at);
            report.diagnostics.push(in_use(file, position, fault));
        }
    }
    for file in &report.cases {
        let made = load_case(file, &together).map(|loaded| {
            report.diagnostics.extend(loaded.warnings);
            let at = |what: &str| load::place_in(file, what);
            match loaded.value.level(&together) {
                Ok(level) => exercise::fault_in_use(&level, &together)
                    .map(|(_, fault)| in_use(file, at("space"), fault)),
                Err(error) => Some(in_use(file, at(""), error.to_string())),
            }
        });
        match made {
            Ok(fault) => report.diagnostics.extend(fault),
            Err(error) => report.diagnostics.extend(error.diagnostics),
        }
    }
    Ok(report)
}

/// Whether a level is one that comes with the program, as it comes.
fn is_built_in(level: &Level) -> bool {
    let name = format!("{}.ron", level.id);
    let text = SHIPPED_LEVELS.iter().find(|(file, _)| *file == name).map(|(_, text)| *text);
    text.is_some_and(|text| ron_options().from_str::<Level>(text).as_ref() == Ok(level))
}

/// What goes wrong when a sound file is used.
fn in_use(file: &Path, position: Option<Position>, message: String) -> Diagnostic {
    let help = "change what it names, or use other materials with it".to_owned();
    Diagnostic { file: file.to_owned(), position, severity: Severity::Error, message, help }
}

/// What keeps the forms of a course from being made, or from deciding what it asks of them: nothing
/// of it can be seen in the file alone.
#[must_use]
pub fn faults_of_forms(course: &Course) -> Vec<String> {
    let fault = |fault: CourseFault| {
        format!("course {}, {}: {}; {}", course.id, fault.path, fault.message, fault.help)
    };
    course_faults(course).into_iter().map(fault).collect()
}
