//! A case as it is typed into a form: text by field, and what is wrong with it by field.

use super::format::{
    CLINIC_FORMAT, CaseExercise, CeramicChoice, ClinicCase, MeasuredLab, MeasuredNeighbour,
};
use super::rules::parse_case;
use crate::colorimetry::Illuminant;
use crate::level::checker::locate;
use crate::level::diagnostic::Severity;
use crate::level::format::ron_options;
use crate::level::source::Source;
use crate::material::Library;
use crate::scene::{Framing, Preparation, Space, Thickness, Tooth, Translucency};
use ron::ser::PrettyConfig;

/// Rows for natural teeth in a form.
pub const NEIGHBOUR_ROWS: usize = 5;
/// Longest text that a field takes, characters.
const LONGEST: usize = 80;

/// A colour as typed: L*, a*, b*.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct LabText {
    /// L*.
    pub l: String,
    /// a*.
    pub a: String,
    /// b*.
    pub b: String,
}

/// A natural tooth as typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NeighbourText {
    /// Which tooth.
    pub tooth: Tooth,
    /// Its colour; blank where it was not measured.
    pub colour: LabText,
}

/// A text of the form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CaseField {
    /// The title.
    Title,
    /// L*, a* or b* (0, 1, 2) of the natural tooth in a row.
    Neighbour(usize, usize),
    /// L*, a* or b* of the wanted colour.
    Target(usize),
    /// L*, a* or b* of the prepared tooth.
    Prepared(usize),
    /// Total reduction at margin, neck, middle or incisal third (0 to 3), mm.
    Reduction(usize),
    /// Gap for the cement, mm.
    CementGap,
}

/// A case as typed.
#[derive(Debug, Clone, PartialEq)]
pub struct CaseForm {
    /// Title; the level's id and file name follow from it.
    pub title: String,
    /// The tooth to be restored.
    pub tooth: Tooth,
    /// Veneer or crown.
    pub preparation: Preparation,
    /// Natural teeth, some of them measured.
    pub neighbours: Vec<NeighbourText>,
    /// The wanted colour; blank for that of the same tooth on the other side.
    pub target: LabText,
    /// Colour of the prepared tooth.
    pub prepared: LabText,
    /// Total reduction at margin, neck, middle and incisal third, mm.
    pub reduction: [String; 4],
    /// Gap for the cement, mm.
    pub cement_gap: String,
    /// Cement id.
    pub cement: String,
    /// Ceramics to choose from.
    pub ceramics: Vec<CeramicChoice>,
    /// Upper teeth in view.
    pub arch: u8,
    /// The light.
    pub light: Illuminant,
    /// What is in the frame.
    pub framing: Framing,
    /// What is done with the level.
    pub exercise: CaseExercise,
}

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

impl LabText {
    /// One of the three, by place.
    #[must_use]
    pub fn part(&self, place: usize) -> &str {
        match place {
            0 => &self.l,
            1 => &self.a,
            _ => &self.b,
        }
    }

    const fn part_mut(&mut self, place: usize) -> &mut String {
        match place {
            0 => &mut self.l,
            1 => &mut self.a,
            _ => &mut self.b,
        }
    }

    fn is_blank(&self) -> bool {
        (0..3).all(|place| self.part(place).trim().is_empty())
    }

    fn of(l: &str, a: &str, b: &str) -> Self {
        Self { l: l.to_owned(), a: a.to_owned(), b: b.to_owned() }
    }
}

impl Default for CaseForm {
    /// A blank form for a veneer on a left central incisor.
    fn default() -> Self {
        let tooth = Tooth::arch(2)[1];
        let mut form = Self {
            title: String::new(),
            tooth,
            preparation: Preparation::Veneer,
            neighbours: Vec::new(),
            target: LabText::default(),
            prepared: LabText::default(),
            reduction: Default::default(),
            cement_gap: "0.05".to_owned(),
            cement: "clear".to_owned(),
            ceramics: vec![
                CeramicChoice {
                    class: "lithium-disilicate".to_owned(),
                    translucency: Translucency::Low,
                },
                CeramicChoice {
                    class: "lithium-disilicate".to_owned(),
                    translucency: Translucency::Medium,
                },
                CeramicChoice {
                    class: "feldspathic".to_owned(),
                    translucency: Translucency::Medium,
                },
            ],
            arch: 10,
            light: Illuminant::D65,
            framing: Framing::Retracted,
            exercise: CaseExercise::Bench,
        };
        form.list_neighbours();
        form
    }
}

impl CaseForm {
    /// Numbers to try the form with, invented: a discoloured left central incisor, its fellow and a
    /// lateral measured.
    #[must_use]
    pub fn example() -> Self {
        let mut form = Self { title: "Discoloured central".to_owned(), ..Self::default() };
        for row in &mut form.neighbours {
            row.colour = match row.tooth.number() {
                11 => LabText::of("74.2", "0.8", "16.9"),
                22 => LabText::of("72.6", "1.1", "18.2"),
                _ => LabText::default(),
            };
        }
        form.prepared = LabText::of("60.0", "4.0", "17.0");
        form.reduction = ["0.30", "0.55", "0.80", "1.00"].map(str::to_owned);
        form.cement_gap = "0.08".to_owned();
        form
    }

    /// Every text of the form, in its order.
    #[must_use]
    pub fn fields(&self) -> Vec<CaseField> {
        let mut fields = vec![CaseField::Title];
        for row in 0..self.neighbours.len() {
            fields.extend((0..3).map(|part| CaseField::Neighbour(row, part)));
        }
        fields.extend((0..3).map(CaseField::Target));
        fields.extend((0..3).map(CaseField::Prepared));
        fields.extend((0..4).map(CaseField::Reduction));
        fields.push(CaseField::CementGap);
        fields
    }

    /// A text of the form; empty for one that is not there.
    #[must_use]
    pub fn text(&self, field: CaseField) -> &str {
        match field {
            CaseField::Title => &self.title,
            CaseField::Neighbour(row, part) => {
                self.neighbours.get(row).map_or("", |row| row.colour.part(part))
            }
            CaseField::Target(part) => self.target.part(part),
            CaseField::Prepared(part) => self.prepared.part(part),
            CaseField::Reduction(height) => self.reduction.get(height).map_or("", String::as_str),
            CaseField::CementGap => &self.cement_gap,
        }
    }

    /// Sets a text of the form, cut to a sensible length.
    pub fn set_text(&mut self, field: CaseField, text: &str) {
        let slot = match field {
            CaseField::Title => Some(&mut self.title),
            CaseField::Neighbour(row, part) => {
                self.neighbours.get_mut(row).map(|row| row.colour.part_mut(part))
            }
            CaseField::Target(part) => Some(self.target.part_mut(part)),
            CaseField::Prepared(part) => Some(self.prepared.part_mut(part)),
            CaseField::Reduction(height) => self.reduction.get_mut(height),
            CaseField::CementGap => Some(&mut self.cement_gap),
        };
        if let Some(slot) = slot {
            *slot = text.chars().filter(|c| !c.is_control()).take(LONGEST).collect();
        }
    }

    /// Changes the tooth to be restored; the natural teeth listed are those around it. What was typed
    /// for a tooth stays with it.
    pub fn set_tooth(&mut self, tooth: Tooth) {
        self.tooth = tooth;
        self.list_neighbours();
    }

    /// Lists the teeth nearest the one to be restored, its fellow on the other side first.
    fn list_neighbours(&mut self) {
        let fellow = self.tooth.contralateral();
        // Places along the arch from the midline, the patient's right below 0.
        let place = |tooth: Tooth| {
            let position = i32::from(tooth.position());
            if tooth.is_patients_right() { 1 - position } else { position }
        };
        let mut teeth = Tooth::arch(usize::from(self.arch));
        teeth.retain(|tooth| *tooth != self.tooth);
        teeth.sort_by_key(|tooth| (*tooth != fellow, (place(*tooth) - place(self.tooth)).abs()));
        teeth.truncate(NEIGHBOUR_ROWS);
        let mut rows: Vec<NeighbourText> = teeth
            .into_iter()
            .map(|tooth| {
                let known = self.neighbours.iter().find(|row| row.tooth == tooth);
                let colour = known.map_or_else(LabText::default, |row| row.colour.clone());
                NeighbourText { tooth, colour }
            })
            .collect();
        let typed = self.neighbours.iter().filter(|row| {
            !row.colour.is_blank()
                && row.tooth != self.tooth
                && rows.iter().all(|listed| listed.tooth != row.tooth)
        });
        let typed: Vec<NeighbourText> = typed.cloned().collect();
        rows.extend(typed);
        self.neighbours = rows;
    }

    /// The id that follows from the title: lower-case words joined by hyphens.
    #[must_use]
    pub fn id(&self) -> String {
        let mut id = String::new();
        for c in self.title.chars() {
            if c.is_ascii_alphanumeric() {
                id.push(c.to_ascii_lowercase());
            } else if !id.is_empty() && !id.ends_with('-') {
                id.push('-');
            }
        }
        id.truncate(60);
        let id = id.trim_matches('-');
        if id.is_empty() { "case".to_owned() } else { id.to_owned() }
    }

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
            gingiva: None,
            arch: self.arch,
            light: self.light,
            framing: Some(self.framing),
            seed: None,
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

/// The text of a case file.
///
/// # Errors
/// When a value has no notation, which no case's has.
pub fn case_text(case: &ClinicCase) -> Result<String, ron::Error> {
    let config = PrettyConfig::new().struct_names(false);
    Ok(format!("ClinicCase{}\n", ron_options().to_string_pretty(case, config)?))
}
