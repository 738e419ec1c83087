//! Reading level and material files, and checking many at once.

use super::checker::{Checker, Loaded, ids_in, kind_of, locate, name_at, parse};
use super::course_format::Course;
use super::course_rules::check_course;
use super::diagnostic::{Diagnostic, LoadError, Position, Severity};
use super::format::Level;
use super::material_rules::{check_cements, check_ceramics, check_measured, check_tissues};
use super::rules::{KnownMaterials, check_level};
use super::source::Source;
use crate::material::OwnMaterials;
use crate::material::format::{Cements, Ceramics, MeasuredCeramics, Tissues};
use crate::words::count;
use serde::de::DeserializeOwned;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Far above any level or material file, far below what would stall the program.
const MAX_FILE_BYTES: u64 = 1 << 18;

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

fn level_from(source: &Source, known: &KnownMaterials) -> Result<Loaded<Level>, LoadError> {
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

fn course_from(source: &Source, known: &KnownMaterials) -> Result<Loaded<Course>, LoadError> {
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

/// The value if there is one; all diagnostics go to the list.
fn keep<T>(result: Result<Loaded<T>, LoadError>, diagnostics: &mut Vec<Diagnostic>) -> Option<T> {
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

/// Where something stands in a file, such as `restorations`; `None` where it cannot be read.
#[must_use]
pub fn place_in(path: &Path, what: &str) -> Option<Position> {
    let source = read(path).ok()?;
    Some(source.position(locate(&source, what)))
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

/// A mistake in a file that was read before, at what a path such as `pass.threshold_de00` names in it:
/// for rules that go beyond what files say.
#[must_use]
pub fn mistake_in(
    file: &Path,
    path: &str,
    message: impl Into<String>,
    help: impl Into<String>,
) -> Diagnostic {
    match read(file) {
        Ok(source) => {
            let offset = locate(&source, path);
            source.diagnostic(Severity::Error, offset, message, help)
        }
        Err(_) => whole(file, Severity::Error, message, help),
    }
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

/// A problem of a file or folder as a whole.
fn whole(
    path: &Path,
    severity: Severity,
    message: impl Into<String>,
    help: impl Into<String>,
) -> Diagnostic {
    let (message, help) = (message.into(), help.into());
    Diagnostic { file: path.to_owned(), position: None, severity, message, help }
}

/// Reads a text file for its own kind of rules.
pub(super) fn source_of(path: &Path) -> Result<Source, LoadError> {
    read(path)
}

/// Reads a text file.
fn read(path: &Path) -> Result<Source, LoadError> {
    let bytes = read_bytes(path, MAX_FILE_BYTES)?;
    if bytes.len() as u64 > MAX_FILE_BYTES {
        let help = "no level or material file is that large: check what it is";
        let message = format!("the file is larger than {MAX_FILE_BYTES} bytes");
        return Err(LoadError { diagnostics: vec![whole(path, Severity::Error, message, help)] });
    }
    match std::str::from_utf8(&bytes) {
        Ok(text) => Ok(Source::new(path, text)),
        Err(error) => {
            let valid = std::str::from_utf8(&bytes[..error.valid_up_to()]).unwrap_or_default();
            let source = Source::new(path, valid);
            let byte = bytes.get(error.valid_up_to()).copied().unwrap_or_default();
            let diagnostic = source.diagnostic(
                Severity::Error,
                source.text.len(),
                format!("the file is not UTF-8 text: byte 0x{byte:02x} starts no character"),
                "save the file as UTF-8",
            );
            Err(LoadError { diagnostics: vec![diagnostic] })
        }
    }
}

/// Reads a regular file up to one byte beyond `most`, so that a longer one shows by its length.
///
/// # Errors
/// Why it cannot be read.
pub fn read_bytes(path: &Path, most: u64) -> Result<Vec<u8>, LoadError> {
    let refuse = |message: String, help: &str| LoadError {
        diagnostics: vec![whole(path, Severity::Error, message, help)],
    };
    let failed = |error: std::io::Error| match error.kind() {
        std::io::ErrorKind::NotFound => {
            refuse("there is no such file".to_owned(), "check the spelling of the path")
        }
        std::io::ErrorKind::PermissionDenied => {
            refuse("the file may not be read".to_owned(), "change its permissions")
        }
        _ => refuse(format!("the file cannot be read: {error}"), "check the disk and the path"),
    };
    let metadata = fs::metadata(path).map_err(failed)?;
    if metadata.is_dir() {
        return Err(refuse("this is a folder, not a file".to_owned(), "name a file in it"));
    }
    // A pipe or device could block for ever.
    if !metadata.is_file() {
        return Err(refuse("this is not a regular file".to_owned(), "name a text file"));
    }
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(failed)?;
    file.take(most.saturating_add(1)).read_to_end(&mut bytes).map_err(failed)?;
    Ok(bytes)
}

/// The files to check, each once: files in the order given, `.ron` files of folders by path.
pub(super) fn files_below(paths: &[PathBuf], diagnostics: &mut Vec<Diagnostic>) -> Vec<PathBuf> {
    let mut files = Vec::new();
    let mut seen = BTreeSet::new();
    for path in paths {
        let mut found = Vec::new();
        if path.is_dir() {
            walk(path, &mut found, diagnostics);
            found.sort();
            if found.is_empty() {
                let help = "name a folder with level or material files";
                let message = "there is no .ron file in this folder";
                diagnostics.push(whole(path, Severity::Error, message, help));
            }
        } else {
            found.push(path.clone());
        }
        // A file named twice, or by itself and by its folder, would clash with itself.
        files.extend(
            found.into_iter().filter(|file| {
                seen.insert(fs::canonicalize(file).unwrap_or_else(|_| file.clone()))
            }),
        );
    }
    files
}

fn walk(folder: &Path, found: &mut Vec<PathBuf>, diagnostics: &mut Vec<Diagnostic>) {
    let entries = match fs::read_dir(folder) {
        Ok(entries) => entries,
        Err(error) => {
            let message = format!("the folder cannot be read: {error}");
            let help = "check its permissions";
            return diagnostics.push(whole(folder, Severity::Error, message, help));
        }
    };
    for entry in entries.flatten() {
        let path = entry.path();
        // The type of the entry itself: folders behind links are left alone, they may loop.
        if entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            walk(&path, found, diagnostics);
        } else if path.extension().is_some_and(|extension| extension == "ron") && !path.is_dir() {
            found.push(path);
        }
    }
}
