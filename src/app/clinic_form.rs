//! A case from the clinic as it is typed: what is wrong with it, and where its levels are kept.

use crate::app::content::ActiveContent;
use crate::app::start::{BenchWanted, PendingStart};
use crate::app::whole_file;
use crate::exercise::light_in_words;
use crate::level::clinic::{
    CaseField, CaseFinding, CaseForm, CeramicChoice, ClinicCase, level_text,
};
use crate::level::load::parse_level;
use crate::level::{KnownMaterials, Severity};
use crate::scene::{Framing, Preparation, Tooth};
use bevy::prelude::*;
use std::path::PathBuf;

/// What a learner can ask for in the form.
#[derive(Debug, Clone, PartialEq)]
pub enum FormIntent {
    /// Set a text.
    Type(CaseField, String),
    /// Change a choice by steps.
    Choose(CaseChoice, i32),
    /// Offer a ceramic, or no longer.
    ToggleCeramic(CeramicChoice),
    /// Invented numbers to try the form with.
    Example,
    /// A blank form.
    Clear,
    /// Say what is wrong.
    Check,
    /// To the bench with it.
    Bench,
    /// Keep it as a level.
    Save,
}

/// A choice of the form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CaseChoice {
    /// The tooth to be restored.
    Tooth,
    /// Veneer or crown.
    Preparation,
    /// The cement.
    Cement,
    /// Teeth in view.
    Arch,
    /// The light.
    Light,
    /// What is in the frame.
    Framing,
    /// What the level does.
    Exercise,
}

impl CaseChoice {
    /// All choices in the order of the form.
    pub const ALL: [Self; 7] = [
        Self::Tooth,
        Self::Preparation,
        Self::Cement,
        Self::Arch,
        Self::Light,
        Self::Framing,
        Self::Exercise,
    ];

    /// Plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tooth => "tooth to be restored",
            Self::Preparation => "restoration",
            Self::Cement => "cement",
            Self::Arch => "teeth in view",
            Self::Light => "light",
            Self::Framing => "framing",
            Self::Exercise => "exercise of the level",
        }
    }

    /// The path of the case file that it sets.
    #[must_use]
    pub const fn path(self) -> &'static str {
        match self {
            Self::Tooth => "tooth",
            Self::Preparation => "preparation",
            Self::Cement => "cement",
            Self::Arch => "arch",
            Self::Light => "light",
            Self::Framing => "framing",
            Self::Exercise => "exercise",
        }
    }
}

/// A form being filled in; what was typed stays while the program runs.
#[derive(Resource, Debug, Clone, Default)]
pub struct ClinicForm {
    /// What was typed.
    pub form: CaseForm,
    /// What is wrong or odd about it, since it was last checked.
    pub findings: Vec<CaseFinding>,
    /// Whether it was checked since the last change.
    pub checked: bool,
    /// The file that was written last.
    pub saved: Option<PathBuf>,
}

impl ClinicForm {
    /// A choice in words.
    #[must_use]
    pub fn in_words(&self, choice: CaseChoice, content: &ActiveContent) -> String {
        use crate::level::clinic::CaseExercise as Does;
        let form = &self.form;
        match choice {
            CaseChoice::Tooth => format!("{}, {}", form.tooth, form.tooth.name()),
            CaseChoice::Preparation => match form.preparation {
                Preparation::Crown => "crown".to_owned(),
                _ => "veneer".to_owned(),
            },
            CaseChoice::Cement => {
                let cements = &content.0.library().cements().cements;
                let found = cements.iter().find(|cement| cement.id == form.cement);
                found.map_or_else(|| form.cement.clone(), |cement| cement.name.clone())
            }
            CaseChoice::Arch => format!("{}", form.arch),
            CaseChoice::Light => light_in_words(form.light).to_owned(),
            CaseChoice::Framing => match form.framing {
                Framing::Conversation => "in conversation".to_owned(),
                Framing::CloseUp => "close up".to_owned(),
                Framing::Posterior => "from the cheek".to_owned(),
                Framing::Retracted => "lips held away".to_owned(),
            },
            CaseChoice::Exercise => match form.exercise {
                Does::Bench => "Bench: compose it".to_owned(),
                Does::Blend => "Blend: compare options".to_owned(),
                Does::Glance => "Glance: find it".to_owned(),
            },
        }
    }

    /// Errors and warnings about a path and everything below it.
    pub fn findings_at<'a>(&'a self, path: &'a str) -> impl Iterator<Item = &'a CaseFinding> {
        self.findings.iter().filter(move |finding| is_at(&finding.path, path))
    }

    /// Number of errors.
    #[must_use]
    pub fn errors(&self) -> usize {
        self.findings.iter().filter(|finding| finding.severity == Severity::Error).count()
    }

    fn changed(&mut self) {
        self.checked = false;
        self.saved = None;
    }

    /// Checks the form; the case, where nothing is wrong.
    fn check(&mut self, content: &ActiveContent) -> Option<ClinicCase> {
        let checked = self.form.check(content.0.library());
        self.findings = checked.findings;
        self.checked = true;
        self.saved = None;
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
            FormIntent::Example => *self = Self { form: CaseForm::example(), ..Self::default() },
            FormIntent::Clear => *self = Self::default(),
            FormIntent::Check => {
                self.check(content);
            }
            FormIntent::Bench => {
                if let Some(case) = self.check(content) {
                    *pending = PendingStart::Bench(Box::new(BenchWanted::Case(Box::new(case))));
                }
            }
            FormIntent::Save => {
                if let Some(case) = self.check(content) {
                    match save(&case, content) {
                        Ok(path) => {
                            self.saved = Some(path);
                            content.0.look_again();
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
        }
    }

    fn choose(&mut self, choice: CaseChoice, steps: i32, content: &ActiveContent) {
        use crate::level::clinic::CaseExercise as Does;
        let form = &mut self.form;
        match choice {
            CaseChoice::Tooth => {
                let teeth = Tooth::arch(usize::from(form.arch));
                form.set_tooth(along(&teeth, &form.tooth, steps));
            }
            CaseChoice::Preparation => {
                let all = [Preparation::Veneer, Preparation::Crown];
                form.preparation = along(&all, &form.preparation, steps);
            }
            CaseChoice::Cement => {
                let cements = content.0.library().cements().cements.iter();
                let ids: Vec<String> = cements.map(|cement| cement.id.clone()).collect();
                form.cement = along(&ids, &form.cement, steps);
            }
            CaseChoice::Arch => {
                form.arch = along(&[6, 8, 10], &form.arch, steps);
                form.set_tooth(form.tooth);
            }
            CaseChoice::Light => {
                form.light = along(&crate::colorimetry::Illuminant::ALL, &form.light, steps);
            }
            CaseChoice::Framing => {
                form.framing = along(&Framing::ALL, &form.framing, steps);
            }
            CaseChoice::Exercise => {
                let all = [Does::Bench, Does::Blend, Does::Glance];
                form.exercise = along(&all, &form.exercise, steps);
            }
        }
    }
}

/// Whether a finding's path is `path` or lies below it.
fn is_at(found: &str, path: &str) -> bool {
    found
        .strip_prefix(path)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with('.') || rest.starts_with('['))
}

/// The entry some steps further along a list; its ends are joined.
fn along<T: PartialEq + Clone>(list: &[T], from: &T, steps: i32) -> T {
    let at = list.iter().position(|entry| entry == from).unwrap_or(0) as i64;
    let to = (at + i64::from(steps)).rem_euclid(list.len().max(1) as i64) as usize;
    list.get(to).unwrap_or(from).clone()
}

/// Writes the case as a level into the folder for levels of one's own. A file that is there is never
/// written over.
///
/// # Errors
/// What is wrong, and what to do.
fn save(case: &ClinicCase, content: &ActiveContent) -> Result<PathBuf, (String, &'static str)> {
    let library = content.0.library();
    let failed = |error: &dyn std::fmt::Display| (error.to_string(), "check the values");
    let level = case.level(library).map_err(|error| failed(&error))?;
    let text = level_text(&level, "Made by the form for cases from the clinic.")
        .map_err(|error| failed(&error))?;
    let Some(folder) = content.0.own_folder() else {
        let message = "this account has no folder for levels of its own".to_owned();
        return Err((message, "start the program with --levels DIR"));
    };
    let path = folder.join(format!("{}.ron", case.id));
    // Only what the program takes is written, its name included.
    parse_level(&path, &text, &KnownMaterials::of(library)).map_err(|error| failed(&error))?;
    if content.0.levels().iter().any(|level| level.id == case.id) {
        let message = format!("there is a level \"{}\" already", case.id);
        return Err((message, "give the case another title"));
    }
    let shown = |error: std::io::Error| {
        let message = format!("{} cannot be made: {error}", folder.display());
        (message, "make the folder writable, or start the program with --levels DIR")
    };
    std::fs::create_dir_all(&folder).map_err(shown)?;
    whole_file::write(&path, &text, false).map_err(|error| match error {
        whole_file::WriteError::Taken(_) => {
            (error.to_string(), "give the case another title; nothing is written over")
        }
        whole_file::WriteError::Failed { .. } => {
            (error.to_string(), "make the folder writable, or start the program with --levels DIR")
        }
    })?;
    Ok(path)
}
