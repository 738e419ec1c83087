//! Levels and materials read: those that come with the program, and those in folders.

use super::files::SHIPPED_LEVELS;
use crate::level::format::Level;
use crate::level::load;
use crate::level::{self, KnownMaterials, Severity};
use crate::material::format::Ceramics;
use crate::material::{Library, OwnMaterials};
use crate::play::content::ContentError;
use std::path::{Path, PathBuf};

/// The materials that come with the program, with those of a folder of one's own. Tables of optics
/// that do not ship are kept in the folder `tables`, if one is given.
///
/// # Errors
/// [`ContentError::Invalid`] with every fault of the files.
pub fn library(materials: Option<&Path>, tables: Option<PathBuf>) -> Result<Library, ContentError> {
    let invalid = |error: &dyn std::fmt::Display| ContentError::Invalid(error.to_string());
    let own = match materials {
        None => OwnMaterials::default(),
        Some(folder) => {
            let designed = Ceramics::shipped().map_err(|error| invalid(&error))?;
            let own = load::load_own_materials(folder, &designed);
            let own = own.map_err(|error| invalid(&error))?.value;
            unusable(folder, tables.clone())?;
            own
        }
    };
    Library::with_own(own, tables).map_err(|error| invalid(&error))
}

/// Refuses materials of which an entry cannot be had in use, by the entry.
fn unusable(folder: &Path, tables: Option<PathBuf>) -> Result<(), ContentError> {
    let invalid = |error: &dyn std::fmt::Display| ContentError::Invalid(error.to_string());
    let base = Library::with_own(OwnMaterials::default(), tables).map_err(|e| invalid(&e))?;
    let files = load::check(&[folder.to_owned()], &KnownMaterials::of(&base)).materials;
    let faults = files.iter().flat_map(|file| level::faults_in_use(file, &base));
    let faults: Vec<String> = faults
        .filter(|fault| fault.severity == Severity::Error)
        .map(|fault| fault.to_string())
        .collect();
    if faults.is_empty() { Ok(()) } else { Err(ContentError::Invalid(faults.join("\n"))) }
}

/// What levels and courses may refer to.
pub(super) fn built_in_known(library: &Library) -> Result<KnownMaterials, ContentError> {
    let mut known = KnownMaterials::of(library);
    for level in built_in(&known)? {
        known.add_level(&level);
    }
    Ok(known)
}

/// The levels that come with the program.
pub(super) fn built_in(known: &KnownMaterials) -> Result<Vec<Level>, ContentError> {
    SHIPPED_LEVELS
        .iter()
        .map(|(file, text)| {
            load::parse_level(Path::new("levels").join(file), text, known)
                .map(|loaded| loaded.value)
                .map_err(|error| ContentError::Invalid(error.to_string()))
        })
        .collect()
}

/// The levels of a folder.
pub(super) fn in_folder(folder: &Path, known: &KnownMaterials) -> Result<Vec<Level>, ContentError> {
    let report = load::check(&[folder.to_owned()], known);
    if report.errors() > 0 {
        return Err(ContentError::Invalid(report.to_string()));
    }
    Ok(report.levels.into_iter().map(|(_, level)| level).collect())
}
