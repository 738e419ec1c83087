//! What is wrong with a case as it is typed, by field.

use super::case_file::case_text;
use super::form::{CaseField, CaseForm, NeighbourText};
use super::format::{CLINIC_FORMAT, ClinicCase, MeasuredLab, MeasuredNeighbour};
use super::rules::parse_case;
use crate::level::checker::locate;
use crate::level::diagnostic::Severity;
use crate::level::source::Source;
use crate::material::Library;
use crate::scene::{Space, Thickness};

/// One thing that is wrong or odd about a form.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CaseFinding {
    /// Where, as a path of the case file: `teeth[0].colour.L`, `space.reduction.neck_mm`. Rows of the
    /// form that are blank do not count.
    pub path: String,
    /// Error or warning.
    pub severity: Severity,
    /// What is wrong: the value found and the rule it breaks.
    pub message: String,
    /// What to do.
    pub help: String,
}

/// What came of a form.
#[derive(Debug, Clone, PartialEq)]
pub struct CheckedForm {
    /// The case, where nothing is wrong.
    pub case: Option<ClinicCase>,
    /// Errors and warnings.
    pub findings: Vec<CaseFinding>,
}

impl CaseForm {
    /// The place of a row among the measured teeth of the case; `None` for a blank row.
    #[must_use]
    pub fn place_of_row(&self, row: usize) -> Option<usize> {
        let is_measured = |row: &&NeighbourText| !row.colour.is_blank();
        self.neighbours.get(row).filter(is_measured)?;
        Some(self.neighbours.iter().take(row).filter(is_measured).count())
    }

    /// The path of a field in the case file.
    #[must_use]
    pub fn path(&self, field: CaseField) -> String {
        let letter = |part: usize| ["L", "a", "b"][part.min(2)];
        match field {
            CaseField::Title => "title".to_owned(),
            CaseField::Name => "id".to_owned(),
            CaseField::Neighbour(row, part) => match self.place_of_row(row) {
                Some(place) => format!("teeth[{place}].colour.{}", letter(part)),
                None => "teeth".to_owned(),
            },
            CaseField::Target(part) => format!("target.{}", letter(part)),
            CaseField::Prepared(part) => format!("prepared_tooth.{}", letter(part)),
            CaseField::Reduction(height) => {
                let heights = ["margin_mm", "neck_mm", "body_mm", "incisal_mm"];
                format!("space.reduction.{}", heights[height.min(3)])
            }
            CaseField::CementGap => "space.cement_gap_mm".to_owned(),
        }
    }

    /// Reads the texts and applies every rule of a case file, without a file.
    #[must_use]
    pub fn check(&self, library: &Library) -> CheckedForm {
        let mut findings = Vec::new();
        if self.title.trim().is_empty() {
            findings.push(error("title", "the case has no title", "write a few words, no names"));
        }
        let teeth = self
            .neighbours
            .iter()
            .enumerate()
            .filter(|(_, row)| !row.colour.is_blank())
            .map(|(row, text)| MeasuredNeighbour {
                tooth: text.tooth.number(),
                colour: self.lab(|part| CaseField::Neighbour(row, part), &mut findings),
            })
            .collect();
        let target = (!self.target.is_blank()).then(|| self.lab(CaseField::Target, &mut findings));
        let prepared_tooth = self.lab(CaseField::Prepared, &mut findings);
        let [margin_mm, neck_mm, body_mm, incisal_mm] =
            [0, 1, 2, 3].map(|height| self.number(CaseField::Reduction(height), &mut findings));
        let cement_gap_mm = self.number(CaseField::CementGap, &mut findings);
        let case = ClinicCase {
            format: CLINIC_FORMAT,
            id: self.id(),
            title: self.title.trim().to_owned(),
            tooth: self.tooth.number(),
            preparation: self.preparation,
            teeth,
            target,
            prepared_tooth,
            space: Space {
                reduction: Thickness { margin_mm, neck_mm, body_mm, incisal_mm },
                cement_gap_mm,
            },
            cement: self.cement.clone(),
            ceramics: self.ceramics.clone(),
            exercise: self.exercise,
            gingiva: self.gingiva.clone(),
            arch: self.arch,
            light: self.light,
            framing: Some(self.framing),
            seed: self.seed,
        };
        if !findings.is_empty() {
            return CheckedForm { case: None, findings };
        }
        judge(case, library)
    }

    fn lab(
        &self,
        field: impl Fn(usize) -> CaseField,
        findings: &mut Vec<CaseFinding>,
    ) -> MeasuredLab {
        let [l, a, b] = [0, 1, 2].map(|part| self.number(field(part), findings));
        MeasuredLab { l, a, b }
    }

    fn number(&self, field: CaseField, findings: &mut Vec<CaseFinding>) -> f64 {
        let text = self.text(field).trim();
        // Some write a decimal comma.
        match text.replace(',', ".").parse::<f64>() {
            Ok(value) if value.is_finite() => value,
            _ => {
                let message = if text.is_empty() {
                    "nothing is written here".to_owned()
                } else {
                    format!("\"{text}\" is not a number")
                };
                let help = match field {
                    CaseField::Reduction(_) | CaseField::CementGap => "write millimetres: 0.55",
                    _ => "write a number: 74.2",
                };
                findings.push(error(&self.path(field), message, help));
                0.0
            }
        }
    }
}

fn error(path: &str, message: impl Into<String>, help: &str) -> CaseFinding {
    CaseFinding {
        path: path.to_owned(),
        severity: Severity::Error,
        message: message.into(),
        help: help.to_owned(),
    }
}

/// Applies the rules of case files to a case, and says by path what they find.
fn judge(case: ClinicCase, library: &Library) -> CheckedForm {
    let text = match case_text(&case) {
        Ok(text) => text,
        Err(problem) => {
            let findings = vec![error("", problem.to_string(), "check the values")];
            return CheckedForm { case: None, findings };
        }
    };
    // The rules point into a text; this one names the place of every field.
    let source = Source::new("case.ron", text.as_str());
    let places: Vec<_> = paths_of(&case)
        .into_iter()
        .map(|path| (locate(&source, &path), path))
        // What is not in the text is nowhere in it.
        .filter(|(offset, _)| *offset > 0)
        .map(|(offset, path)| (path, Some(source.position(offset))))
        .collect();
    let (diagnostics, is_sound) = match parse_case("case.ron", &text, library) {
        Ok(loaded) => (loaded.warnings, true),
        Err(problems) => (problems.diagnostics, false),
    };
    let findings = diagnostics
        .into_iter()
        .map(|found| {
            let place = places.iter().find(|(_, position)| *position == found.position);
            CaseFinding {
                path: place.map_or_else(String::new, |(path, _)| path.clone()),
                severity: found.severity,
                message: found.message,
                help: found.help,
            }
        })
        .collect();
    CheckedForm { case: is_sound.then_some(case), findings }
}

/// Every path of a case file that rules point to.
fn paths_of(case: &ClinicCase) -> Vec<String> {
    let mut paths: Vec<String> = ["id", "title", "tooth", "preparation", "teeth", "target"]
        .into_iter()
        .chain(["prepared_tooth", "space", "space.reduction", "space.cement_gap_mm", "cement"])
        .chain(["ceramics", "exercise", "gingiva", "arch", "light", "framing"])
        .map(str::to_owned)
        .collect();
    for colour in ["target", "prepared_tooth"] {
        paths.extend(["L", "a", "b"].map(|part| format!("{colour}.{part}")));
    }
    for row in 0..case.teeth.len() {
        paths.push(format!("teeth[{row}]"));
        paths.push(format!("teeth[{row}].tooth"));
        paths.push(format!("teeth[{row}].colour"));
        paths.extend(["L", "a", "b"].map(|part| format!("teeth[{row}].colour.{part}")));
    }
    for height in ["margin_mm", "neck_mm", "body_mm", "incisal_mm"] {
        paths.push(format!("space.reduction.{height}"));
    }
    for row in 0..case.ceramics.len() {
        paths.push(format!("ceramics[{row}]"));
        paths.push(format!("ceramics[{row}].class"));
        paths.push(format!("ceramics[{row}].translucency"));
    }
    paths
}
