//! The material files of a folder: a whole set, or somebody's own.

use super::parse::keep;
use super::read::{files_below, read};
use crate::level::checker::{Checker, Loaded, kind_of, locate, parse};
use crate::level::diagnostic::{Diagnostic, LoadError, Severity};
use crate::level::known::KnownMaterials;
use crate::level::material_rules::{check_cements, check_ceramics, check_measured, check_tissues};
use crate::level::source::Source;
use crate::material::OwnMaterials;
use crate::material::format::{Cements, Ceramics, Tissues};
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The material files of one folder.
#[derive(Debug, Clone, PartialEq)]
pub struct MaterialFiles {
    /// `ceramics.ron`.
    pub ceramics: Ceramics,
    /// `cements.ron`.
    pub cements: Cements,
    /// `tissues.ron`.
    pub tissues: Tissues,
}

impl MaterialFiles {
    /// The ids that levels may refer to.
    #[must_use]
    pub fn known(&self) -> KnownMaterials {
        let mut known = KnownMaterials::default();
        known.add_ceramics(&self.ceramics);
        known.add_cements(&self.cements);
        known.add_tissues(&self.tissues);
        known
    }
}

/// Reads `ceramics.ron`, `cements.ron` and `tissues.ron` from a folder.
///
/// # Errors
/// The problems of all three files together.
pub fn load_materials(folder: &Path) -> Result<Loaded<MaterialFiles>, LoadError> {
    let mut diagnostics = Vec::new();
    let ceramics = from_folder(folder, "ceramics.ron", "Ceramics", check_ceramics);
    let ceramics = keep(ceramics, &mut diagnostics);
    let cements = from_folder(folder, "cements.ron", "Cements", check_cements);
    let cements = keep(cements, &mut diagnostics);
    let tissues = from_folder(folder, "tissues.ron", "Tissues", check_tissues);
    let tissues = keep(tissues, &mut diagnostics);
    match (ceramics, cements, tissues) {
        (Some(ceramics), Some(cements), Some(tissues)) => Ok(Loaded {
            value: MaterialFiles { ceramics, cements, tissues },
            warnings: diagnostics,
        }),
        _ => Err(LoadError { diagnostics }),
    }
}

fn from_folder<T: DeserializeOwned>(
    folder: &Path,
    name: &str,
    kind: &str,
    rules: impl FnOnce(&T, &mut Checker<'_>),
) -> Result<Loaded<T>, LoadError> {
    parse(&read(&folder.join(name))?, kind, rules)
}

/// Adds what one material file holds, unless it has faults or there was one of its kind before.
pub fn add_own(own: &mut OwnMaterials, path: &Path) {
    let Ok(source) = read(path) else { return };
    let none = &mut Vec::new();
    match kind_of(&source).as_deref() {
        Some("Ceramics") => {
            let file = keep(parse(&source, "Ceramics", check_ceramics), none);
            own.ceramics = own.ceramics.take().or(file);
        }
        Some("Cements") => {
            let file = keep(parse(&source, "Cements", check_cements), none);
            own.cements = own.cements.take().or(file);
        }
        Some("Tissues") => {
            let file = keep(parse(&source, "Tissues", check_tissues), none);
            own.tissues = own.tissues.take().or(file);
        }
        Some("MeasuredCeramics") => {
            own.measured.extend(keep(parse(&source, "MeasuredCeramics", check_measured), none));
        }
        _ => {}
    }
}

/// Reads every material file below a folder, each by what its one value is called; levels and cases
/// that lie there too are left alone.
///
/// # Errors
/// The problems of all files together: also a kind that two files hold, and an id that two
/// ceramics have, `designed` ones included unless the folder brings its own.
pub fn load_own_materials(
    folder: &Path,
    designed: &Ceramics,
) -> Result<Loaded<OwnMaterials>, LoadError> {
    let mut diagnostics = Vec::new();
    let mut own = OwnMaterials::default();
    let mut ids: BTreeMap<String, PathBuf> = BTreeMap::new();
    let mut measured: Vec<Source> = Vec::new();
    for path in files_below(&[folder.to_owned()], &mut diagnostics) {
        let source = match read(&path) {
            Ok(source) => source,
            Err(error) => {
                diagnostics.extend(error.diagnostics);
                continue;
            }
        };
        let found = &mut diagnostics;
        match kind_of(&source).as_deref() {
            Some("Ceramics") => {
                let file = keep(parse(&source, "Ceramics", check_ceramics), found);
                once(&mut own.ceramics, file, &source, found);
            }
            Some("Cements") => {
                let file = keep(parse(&source, "Cements", check_cements), found);
                once(&mut own.cements, file, &source, found);
            }
            Some("Tissues") => {
                let file = keep(parse(&source, "Tissues", check_tissues), found);
                once(&mut own.tissues, file, &source, found);
            }
            Some("Level" | "ClinicCase") => {}
            // Anything else that is wrong is said here too.
            _ => measured.push(source),
        }
    }
    for class in &own.ceramics.as_ref().unwrap_or(designed).classes {
        ids.insert(class.id.clone(), PathBuf::from("the designed ceramics"));
    }
    for source in measured {
        let file = keep(parse(&source, "MeasuredCeramics", check_measured), &mut diagnostics);
        let Some(file) = file else { continue };
        for (index, class) in file.classes.iter().enumerate() {
            if let Some(first) = ids.insert(class.id.clone(), source.file.clone()) {
                let message =
                    format!("id \"{}\" is taken by {}", class.id, crate::printable::path(&first));
                let offset = locate(&source, &format!("classes[{index}].id"));
                let help = "give every ceramic class an id of its own";
                diagnostics.push(source.diagnostic(Severity::Error, offset, message, help));
            }
        }
        own.measured.push(file);
    }
    if diagnostics.iter().any(|d| d.severity == Severity::Error) {
        return Err(LoadError { diagnostics });
    }
    Ok(Loaded { value: own, warnings: diagnostics })
}

/// Takes a file unless there was one of its kind before.
fn once<T>(
    slot: &mut Option<T>,
    file: Option<T>,
    source: &Source,
    diagnostics: &mut Vec<Diagnostic>,
) {
    if slot.is_some() && file.is_some() {
        let message = "the folder holds a second file of this kind";
        diagnostics.push(source.diagnostic(Severity::Error, 0, message, "keep one of them"));
    }
    *slot = slot.take().or(file);
}
