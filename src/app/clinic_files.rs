//! Cases of one's own as files: which there are, and what saving one would do to what is there.

use crate::app::content::ActiveContent;
use crate::app::whole_file;
use crate::level::KnownMaterials;
use crate::level::clinic::{
    CaseFile, CaseForm, ClinicCase, case_files, case_text, has_comments, level_text, open_case,
    text_of,
};
use crate::level::load::parse_level;
use std::path::{Path, PathBuf};

/// The folder for cases, within that for levels of one's own.
const CASES: &str = "cases";
/// The first line of a level that is made from a case, after `//`.
const REMARK: &str = "Made by the form for cases from the clinic.";
/// Longest id that a number is added to, characters.
const LONGEST_BASE: usize = 60;

/// What went wrong, and what to do.
pub(super) type Refusal = (String, &'static str);

/// A case that was opened or saved, as it was then.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownFile {
    /// The file.
    pub path: PathBuf,
    /// Its text.
    pub text: String,
    /// Its id.
    pub id: String,
}

/// The files that a case is saved as.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Targets {
    /// The case, which the form opens.
    pub case: PathBuf,
    /// The level that is made from it, which is played.
    pub level: PathBuf,
}

/// What is there where a case shall be saved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Standing {
    /// Nothing.
    Free,
    /// Files, with their texts, of which nothing is lost but values.
    Taken(Vec<(PathBuf, String)>),
    /// A file that holds more than values, and why it is left alone.
    Kept(PathBuf, &'static str),
}

/// The cases that can be opened; none where there is no folder.
///
/// # Errors
/// Why the folder cannot be read.
pub(super) fn listed(content: &ActiveContent) -> Result<Vec<CaseFile>, Vec<String>> {
    let Some(folder) = content.0.own_folder() else { return Ok(Vec::new()) };
    case_files(&folder, CASES).map_err(|error| faults(&error))
}

/// Where cases are looked for, in words.
pub(super) fn folder_in_words(content: &ActiveContent) -> String {
    content.0.own_folder().map_or_else(
        || "this account has no folder for cases".to_owned(),
        |folder| folder.join(CASES).display().to_string(),
    )
}

/// Reads a case.
///
/// # Errors
/// Every fault of the file, with line and column.
pub(super) fn open(
    path: &Path,
    content: &ActiveContent,
) -> Result<(CaseForm, KnownFile), Vec<String>> {
    let opened = open_case(path, content.0.library()).map_err(|error| faults(&error))?;
    let form = CaseForm::of(&opened.case).map_err(|error| vec![error.to_string()])?;
    Ok((form, KnownFile { path: path.to_owned(), text: opened.text, id: opened.case.id }))
}

fn faults(error: &crate::level::LoadError) -> Vec<String> {
    error.diagnostics.iter().map(ToString::to_string).collect()
}

/// The files of a case. One that was opened is kept where it lies as long as its id stays.
pub(super) fn targets(id: &str, folder: &Path, opened: Option<&KnownFile>) -> Targets {
    let same = opened.filter(|opened| opened.id == id).map(|opened| opened.path.clone());
    Targets {
        case: same.unwrap_or_else(|| folder.join(CASES).join(format!("{id}.ron"))),
        level: folder.join(format!("{id}.ron")),
    }
}

/// What is there already.
pub(super) fn standing(targets: &Targets) -> Standing {
    let mut taken = Vec::new();
    for (path, is_level) in [(&targets.case, false), (&targets.level, true)] {
        if !path.exists() {
            continue;
        }
        let Ok(text) = text_of(path) else {
            return Standing::Kept(path.clone(), "it cannot be read");
        };
        // The form's own first line is no loss: it is written again.
        let first = format!("// {REMARK}\n");
        let rest = if is_level { text.strip_prefix(&first).unwrap_or(&text) } else { &text };
        if has_comments(rest) {
            return Standing::Kept(
                path.clone(),
                "it holds comments that saving over it would lose",
            );
        }
        taken.push((path.clone(), text));
    }
    if taken.is_empty() { Standing::Free } else { Standing::Taken(taken) }
}

/// The first id with a number added under which nothing is kept.
pub(super) fn free_id(id: &str, folder: &Path, content: &ActiveContent) -> String {
    let base = &id[..id.len().min(LONGEST_BASE)];
    let levels = content.0.levels();
    let is_free = |id: &String| {
        standing(&targets(id, folder, None)) == Standing::Free
            && levels.iter().all(|level| level.id != *id)
    };
    let mut numbered = (2_u32..).map(|number| format!("{}-{number}", base.trim_end_matches('-')));
    numbered.find(is_free).unwrap_or_else(|| id.to_owned())
}

/// Writes the case and the level that is made from it.
///
/// # Errors
/// Why something was not written.
pub(super) fn write(
    case: &ClinicCase,
    targets: &Targets,
    replace: bool,
    content: &ActiveContent,
) -> Result<KnownFile, Refusal> {
    let library = content.0.library();
    let failed = |error: &dyn std::fmt::Display| (error.to_string(), "check the values");
    let level = case.level(library).map_err(|error| failed(&error))?;
    let played = level_text(&level, REMARK).map_err(|error| failed(&error))?;
    let text = case_text(case).map_err(|error| failed(&error))?;
    // Only what the program takes is written, its name included.
    parse_level(&targets.level, &played, &KnownMaterials::of(library))
        .map_err(|error| failed(&error))?;
    for (path, text) in [(&targets.case, &text), (&targets.level, &played)] {
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).map_err(|error| {
                let message = format!("{} cannot be made: {error}", crate::printable::path(folder));
                (message, "make the folder writable, or start the program with --levels DIR")
            })?;
        }
        whole_file::write(path, text, replace).map_err(|error| match error {
            whole_file::WriteError::Taken(_) => {
                (error.to_string(), "save it again: you will be asked first")
            }
            whole_file::WriteError::Failed { .. } => (
                error.to_string(),
                "make the folder writable, or start the program with --levels DIR",
            ),
        })?;
    }
    Ok(KnownFile { path: targets.case.clone(), text, id: case.id.clone() })
}
