//! A case from the clinic as it is typed: what is wrong with it, and where its levels are kept.
//!
//! What was typed is kept while the program runs. Levels are written into the folder `levels`
//! beside the results (or the folder of `--levels`) and cases into `cases` within it
//! (`files`), from where they are opened again. Nothing is written over unasked, and a file
//! with comments never: its case goes to a new name.

mod choices;
pub mod files;

use crate::level::Severity;
use crate::level::clinic::{CaseFile, CaseFinding, CaseForm, ClinicCase};
use crate::play::clinic::files::{KnownFile, Standing, Targets};
use crate::play::content::ActiveContent;
use crate::play::intents::FormIntent;
use crate::play::start::PendingStart;
use crate::play::wanted::{BenchWanted, Start};
use std::path::{Path, PathBuf};

/// What is asked before anything could be lost.
#[derive(Debug, Clone, PartialEq)]
pub enum FormQuestion {
    /// Whether to save over files that are there.
    Over {
        /// The files and their texts.
        files: Vec<(PathBuf, String)>,
        /// Whether the case was changed since it was opened here.
        changed: bool,
        /// The id under which nothing is kept.
        other: String,
    },
    /// Whether to open a case although what was typed is not saved.
    Discard(PathBuf),
}

/// The cases that can be opened, and why one could not be.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct CaseList {
    /// The files, by path.
    pub files: Vec<CaseFile>,
    /// What is wrong with the folder, or with the file that was chosen last.
    pub faults: Vec<String>,
    /// Where they are looked for.
    pub folder: String,
}

/// A form being filled in; what was typed stays while the program runs.
#[derive(Debug, Clone, Default)]
pub struct ClinicForm {
    /// What was typed.
    pub form: CaseForm,
    /// What is wrong or odd about it, since it was last checked.
    pub findings: Vec<CaseFinding>,
    /// Whether it was checked since the last change.
    pub checked: bool,
    /// The level that was written last.
    pub saved: Option<PathBuf>,
    /// The cases that can be opened, while they are listed.
    pub listed: Option<CaseList>,
    /// What is asked.
    pub question: Option<FormQuestion>,
    /// The case that was opened or saved last, as it was then.
    pub opened: Option<KnownFile>,
    /// Why it was saved under another name than the one it had.
    pub renamed: Option<String>,
    /// The form as it was opened, saved or laid out: what was typed since is nowhere else.
    kept: CaseForm,
}

impl ClinicForm {
    /// Errors and warnings about a path and everything below it.
    pub fn findings_at<'a>(&'a self, path: &'a str) -> impl Iterator<Item = &'a CaseFinding> {
        self.findings.iter().filter(move |finding| is_at(&finding.path, path))
    }

    /// Number of errors.
    #[must_use]
    pub fn errors(&self) -> usize {
        self.findings.iter().filter(|finding| finding.severity == Severity::Error).count()
    }

    /// Whether something was typed that is in no file.
    #[must_use]
    pub fn is_unsaved(&self) -> bool {
        self.form != self.kept
    }

    fn changed(&mut self) {
        self.checked = false;
        self.saved = None;
        self.question = None;
        self.renamed = None;
    }

    /// Checks the form; the case, where nothing is wrong.
    fn check(&mut self, content: &ActiveContent) -> Option<ClinicCase> {
        let checked = self.form.check(content.0.library());
        self.findings = checked.findings;
        self.checked = true;
        self.saved = None;
        self.question = None;
        self.renamed = None;
        checked.case
    }

    /// Takes an intent in.
    pub fn handle(
        &mut self,
        intent: FormIntent,
        content: &ActiveContent,
        pending: &mut PendingStart,
    ) {
        match intent {
            FormIntent::Type(field, text) => {
                self.form.set_text(field, &text);
                self.changed();
            }
            FormIntent::Choose(choice, steps) => {
                self.choose(choice, steps, content);
                self.changed();
            }
            FormIntent::ToggleCeramic(ceramic) => {
                let chosen = &mut self.form.ceramics;
                match chosen.iter().position(|other| *other == ceramic) {
                    Some(at) => {
                        chosen.remove(at);
                    }
                    None => chosen.push(ceramic),
                }
                self.changed();
            }
            FormIntent::Example => {
                let form = CaseForm::example();
                *self = Self { kept: form.clone(), form, ..Self::default() };
            }
            FormIntent::Clear => *self = Self::default(),
            FormIntent::Check => {
                self.check(content);
            }
            FormIntent::Bench => {
                if let Some(case) = self.check(content) {
                    pending.ask(Start::Bench(Box::new(BenchWanted::Case(Box::new(case)))));
                }
            }
            FormIntent::Save => {
                if let Some(case) = self.check(content) {
                    self.save(case, &[], content);
                }
            }
            FormIntent::List => {
                self.listed = if self.listed.is_some() { None } else { Some(list(content)) };
            }
            FormIntent::Open(path) => {
                if self.is_unsaved() {
                    self.question = Some(FormQuestion::Discard(path));
                } else {
                    self.open(&path, content);
                }
            }
            FormIntent::Yes => match self.question.take() {
                Some(FormQuestion::Over { files, .. }) => {
                    if let Some(case) = self.check(content) {
                        self.save(case, &files, content);
                    }
                }
                Some(FormQuestion::Discard(path)) => self.open(&path, content),
                None => {}
            },
            FormIntent::UnderAnotherName => {
                if let Some(FormQuestion::Over { other, .. }) = self.question.take() {
                    self.form.name = other;
                    if let Some(case) = self.check(content) {
                        self.save(case, &[], content);
                    }
                }
            }
            FormIntent::No => self.question = None,
        }
    }

    /// Opens a case; one with faults leaves the form as it is, and says them.
    fn open(&mut self, path: &Path, content: &ActiveContent) {
        match files::open(path, content) {
            Ok((form, file)) => {
                *self = Self { kept: form.clone(), form, opened: Some(file), ..Self::default() };
                // What is unusual about it stands at its fields.
                self.check(content);
            }
            Err(faults) => {
                self.question = None;
                self.listed = Some(CaseList { faults, ..list(content) });
            }
        }
    }

    /// Saves a case that has nothing wrong. Files that are there are only written over where `over`
    /// says that they were asked about as they are; one with comments never is.
    fn save(&mut self, case: ClinicCase, over: &[(PathBuf, String)], content: &ActiveContent) {
        let refused = |form: &mut Self, message: String, help: &str| {
            form.findings.push(CaseFinding {
                path: "title".to_owned(),
                severity: Severity::Error,
                message,
                help: help.to_owned(),
            });
        };
        let Some(folder) = content.0.own_folder() else {
            let message = "this account has no folder for levels of its own".to_owned();
            return refused(self, message, "start the program with --levels DIR");
        };
        let targets = files::targets(&case.id, &folder, self.opened.as_ref());
        let has_level = content.0.levels().iter().any(|level| level.id == case.id);
        // One that comes with the program, or that lies elsewhere in the folder.
        let is_own = content.0.own_levels().contains(&case.id);
        if has_level && !(is_own && targets.level.exists()) {
            let message = format!("there is a level \"{}\" already", case.id);
            return refused(self, message, "give the case another title or file name");
        }
        match files::standing(&targets) {
            Standing::Kept(path, why) => {
                let other = files::free_id(&case.id, &folder, content);
                let targets = files::targets(&other, &folder, None);
                let name = std::mem::replace(&mut self.form.name, other.clone());
                self.write(&ClinicCase { id: other, ..case }, &targets, false, content);
                if self.saved.is_some() {
                    self.renamed = Some(format!(
                        "{} is left as it was: {why}.",
                        crate::printable::path(&path)
                    ));
                } else {
                    self.form.name = name;
                }
            }
            Standing::Taken(files) if files != over => {
                let known = self.opened.as_ref().filter(|known| known.path == targets.case);
                let changed = known.is_some_and(|known| {
                    files.iter().any(|(path, text)| *path == known.path && *text != known.text)
                });
                let other = files::free_id(&case.id, &folder, content);
                self.question = Some(FormQuestion::Over { files, changed, other });
            }
            Standing::Taken(_) => self.write(&case, &targets, true, content),
            Standing::Free => self.write(&case, &targets, false, content),
        }
    }

    fn write(
        &mut self,
        case: &ClinicCase,
        targets: &Targets,
        replace: bool,
        content: &ActiveContent,
    ) {
        match files::write(case, targets, replace, content) {
            Ok(file) => {
                self.saved = Some(targets.level.clone());
                self.opened = Some(file);
                self.kept = self.form.clone();
                content.0.look_again();
                if self.listed.is_some() {
                    self.listed = Some(list(content));
                }
            }
            Err((message, help)) => self.findings.push(CaseFinding {
                path: "title".to_owned(),
                severity: Severity::Error,
                message,
                help: help.to_owned(),
            }),
        }
    }
}

fn list(content: &ActiveContent) -> CaseList {
    let folder = files::folder_in_words(content);
    match files::listed(content) {
        Ok(files) => CaseList { files, faults: Vec::new(), folder },
        Err(faults) => CaseList { files: Vec::new(), faults, folder },
    }
}

/// Whether a finding's path is `path` or lies below it.
fn is_at(found: &str, path: &str) -> bool {
    found
        .strip_prefix(path)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with('.') || rest.starts_with('['))
}
