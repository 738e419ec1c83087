//! A case as it is typed into a form: text by field.

use super::format::{CaseExercise, CeramicChoice, ClinicCase, MeasuredLab};
use crate::colorimetry::Illuminant;
use crate::scene::{Framing, Preparation, Thickness, Tooth, ToothNumberError, Translucency};

/// Rows for natural teeth in a form.
pub const NEIGHBOUR_ROWS: usize = 5;
/// Longest text that a field takes, characters.
const LONGEST: usize = 80;
/// Longest id, characters.
const LONGEST_ID: usize = 64;

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
    /// The file name.
    Name,
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
    /// Title.
    pub title: String,
    /// File name and id; blank where they follow from the title.
    pub name: String,
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
    /// Gingiva id of a case that was opened; the form has no field for it.
    pub gingiva: Option<String>,
    /// Base seed of a case that was opened; the form has no field for it.
    pub seed: Option<u64>,
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

    pub(super) fn is_blank(&self) -> bool {
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
            name: String::new(),
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
            gingiva: None,
            seed: None,
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
        let mut fields = vec![CaseField::Title, CaseField::Name];
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
            CaseField::Name => &self.name,
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
            CaseField::Name => Some(&mut self.name),
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

    /// The id, which is the file's name too: what was typed for it or, where nothing was, what
    /// follows from the title; lower-case words joined by hyphens.
    #[must_use]
    pub fn id(&self) -> String {
        let from = if self.name.trim().is_empty() { &self.title } else { &self.name };
        words_with_hyphens(from)
    }

    /// The form of a case that was read: what is measured in its fields, and what the form has no
    /// field for is kept.
    ///
    /// # Errors
    /// [`ToothNumberError`] when a number names no tooth; a checked case has none such.
    pub fn of(case: &ClinicCase) -> Result<Self, ToothNumberError> {
        let neighbours = case.teeth.iter().map(|measured| {
            let tooth = Tooth::new(measured.tooth)?;
            Ok(NeighbourText { tooth, colour: LabText::from(measured.colour) })
        });
        let Thickness { margin_mm, neck_mm, body_mm, incisal_mm } = case.space.reduction;
        let follows = words_with_hyphens(&case.title) == case.id;
        let mut form = Self {
            title: case.title.clone(),
            name: if follows { String::new() } else { case.id.clone() },
            tooth: Tooth::new(case.tooth)?,
            preparation: case.preparation,
            neighbours: neighbours.collect::<Result<_, _>>()?,
            target: case.target.map_or_else(LabText::default, LabText::from),
            prepared: LabText::from(case.prepared_tooth),
            reduction: [margin_mm, neck_mm, body_mm, incisal_mm].map(|mm| decimals(mm, 2)),
            cement_gap: decimals(case.space.cement_gap_mm, 2),
            cement: case.cement.clone(),
            ceramics: case.ceramics.clone(),
            arch: case.arch,
            light: case.light,
            framing: case.framing.unwrap_or_default(),
            exercise: case.exercise,
            gingiva: case.gingiva.clone(),
            seed: case.seed,
        };
        form.list_neighbours();
        Ok(form)
    }
}

impl From<MeasuredLab> for LabText {
    fn from(measured: MeasuredLab) -> Self {
        let [l, a, b] = [measured.l, measured.a, measured.b].map(|value| decimals(value, 1));
        Self { l, a, b }
    }
}

/// A number with all its digits, and at least so many after the point.
fn decimals(value: f64, least: usize) -> String {
    let shortest = format!("{value}");
    let after = shortest.split_once('.').map_or(0, |(_, after)| after.len());
    if after < least { format!("{value:.least$}") } else { shortest }
}

/// A text as lower-case words joined by hyphens, at most 64 characters; `case` where it has no letter.
fn words_with_hyphens(text: &str) -> String {
    let mut id = String::new();
    for c in text.chars() {
        if c.is_ascii_alphanumeric() {
            id.push(c.to_ascii_lowercase());
        } else if !id.is_empty() && !id.ends_with('-') {
            id.push('-');
        }
    }
    id.truncate(LONGEST_ID);
    let id = id.trim_matches('-');
    if id.is_empty() { "case".to_owned() } else { id.to_owned() }
}
