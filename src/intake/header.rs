//! Comment lines `# name: value` of a spectrum file.

use super::faults::Faults;
use crate::colorimetry::Lch;
use crate::material::own_tooth;
use crate::scene::Translucency;
use std::ops::RangeInclusive;

/// What lies between a piece and its backing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Contact {
    /// A drop of liquid: light passes as into cement.
    Optical,
    /// Air.
    Air,
}

/// What the comment lines say of a measurement.
#[derive(Debug, Clone, PartialEq)]
pub struct Header {
    /// Class id.
    pub class: String,
    /// Name in plain words.
    pub name: String,
    /// Thickness of the piece, mm.
    pub thickness_mm: f64,
    /// Translucency within its class.
    pub translucency: Translucency,
    /// Colour of a thick piece, where the file gives it.
    pub shade: Option<Lch>,
    /// Refractive index.
    pub refractive_index: f64,
    /// Anisotropy of scattering.
    pub anisotropy: f64,
    /// What lies between piece and backing.
    pub contact: Contact,
    /// Whether what was measured holds the specular reflection.
    pub specular_included: bool,
}

/// Refractive index where none is given: that of glass-ceramics, 1.50-1.55 (from memory).
const USUAL_INDEX: f64 = 1.52;
/// Anisotropy where none is given: that of the ceramics that ship, an assumption.
const USUAL_ANISOTROPY: f64 = 0.7;

const THICKNESS_MM: RangeInclusive<f64> = 0.1..=10.0;
const INDEX: RangeInclusive<f64> = 1.3..=2.5;
const ANISOTROPY: RangeInclusive<f64> = -0.95..=0.98;
const REFLECTANCE: RangeInclusive<f64> = 0.0..=1.0;

const NAMES: [&str; 10] = [
    "class",
    "name",
    "thickness_mm",
    "translucency",
    "shade",
    "refractive_index",
    "anisotropy",
    "white",
    "black",
    "contact",
];
/// Kept apart so that the array above reads in the order of the table in the module's head.
const SPECULAR: &str = "specular";

/// One `name: value` and where its value stands.
struct Entry<'a> {
    value: &'a str,
    line: usize,
    column: usize,
}

/// Comment lines as they are read.
#[derive(Default)]
pub(super) struct HeaderLines {
    entries: Vec<(&'static str, String, usize, usize)>,
}

/// Reflectances of the backings given for all wavelengths: white, black.
pub(super) type Backings = [Option<f64>; 2];

impl HeaderLines {
    /// Takes a comment line. A line without a known name is a remark and left alone, unless its name
    /// is nearly one that is known.
    pub fn take(&mut self, line: &str, number: usize, faults: &mut Faults) {
        let text = line.trim_start_matches(['#', ' ', '\t']);
        let Some((name, value)) = text.split_once([':', '=']) else { return };
        let name = name.trim().to_lowercase();
        let value_column = line.chars().count() - value.trim_start().chars().count() + 1;
        let known = NAMES.iter().chain([&SPECULAR]).find(|known| **known == name);
        let Some(known) = known else {
            let near = NAMES
                .iter()
                .chain([&SPECULAR])
                .find(|known| name.len() <= 32 && strsim::damerau_levenshtein(known, &name) <= 2);
            if let Some(near) = near {
                let column = line.chars().count() - text.chars().count() + 1;
                let message = format!("`{name}` is no name that counts here");
                faults.warning(Some((number, column)), message, format!("did you mean `{near}`?"));
            }
            return;
        };
        if self.entries.iter().any(|(taken, ..)| taken == known) {
            let message = format!("`{known}` is given twice");
            return faults.error(Some((number, value_column)), message, "keep one of them");
        }
        self.entries.push((known, value.trim().to_owned(), number, value_column));
    }

    fn find(&self, name: &str) -> Option<Entry<'_>> {
        self.entries
            .iter()
            .find(|(known, ..)| *known == name)
            .map(|(_, value, line, column)| Entry { value, line: *line, column: *column })
    }

    fn number(&self, name: &str, limits: RangeInclusive<f64>, faults: &mut Faults) -> Option<f64> {
        let entry = self.find(name)?;
        let place = Some((entry.line, entry.column));
        let found = entry.value.trim_end_matches("mm").trim().parse::<f64>();
        let (low, high) = (limits.start(), limits.end());
        match found {
            Ok(value) if limits.contains(&value) => return Some(value),
            Ok(value) => faults.error(
                place,
                format!("{name} is {value}, outside {low} to {high}"),
                percent_help(name, value),
            ),
            Err(_) => faults.error(
                place,
                format!("{name} is `{}`, which is no number", short(entry.value)),
                format!("write a number such as `# {name}: {low}`, with a point for decimals"),
            ),
        }
        None
    }

    fn word<T: Copy>(&self, name: &str, words: &[(&str, T)], usual: T, faults: &mut Faults) -> T {
        let Some(entry) = self.find(name) else { return usual };
        if let Some((_, value)) = words.iter().find(|(word, _)| *word == entry.value) {
            return *value;
        }
        let choices: Vec<String> = words.iter().map(|(word, _)| format!("`{word}`")).collect();
        faults.error(
            Some((entry.line, entry.column)),
            format!("{name} is `{}`", short(entry.value)),
            format!("write {}", choices.join(" or ")),
        );
        usual
    }

    /// Reflectances given for a whole backing.
    pub fn backings(&self, faults: &mut Faults) -> Backings {
        ["white", "black"].map(|name| self.number(name, REFLECTANCE, faults))
    }

    /// Whether a backing is given, be it usable or not.
    pub fn gives(&self, name: &str) -> bool {
        self.find(name).is_some()
    }

    /// The header, or `None` after saying what is missing.
    pub fn finish(&self, faults: &mut Faults) -> Option<Header> {
        let thickness_mm = self.number("thickness_mm", THICKNESS_MM, faults);
        if self.find("thickness_mm").is_none() {
            let help = "measure the piece and write a line such as `# thickness_mm: 1.02`";
            faults.error(Some((1, 1)), "the thickness of the piece is missing", help);
        }
        let class = self.find("class");
        let is_id = |text: &str| {
            let word = |word: &str| {
                !word.is_empty()
                    && word.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit())
            };
            text.len() <= 64 && text.split('-').all(word)
        };
        match &class {
            None => {
                let help = "write a line such as `# class: own-glass-ceramic`";
                faults.error(Some((1, 1)), "the name of the ceramic's class is missing", help);
            }
            Some(entry) if !is_id(entry.value) => faults.error(
                Some((entry.line, entry.column)),
                format!("class is `{}`", short(entry.value)),
                "use lower-case words joined by hyphens, a to z and 0 to 9",
            ),
            Some(_) => {}
        }
        let shade = self.find("shade").and_then(|entry| {
            let found = own_tooth::colour(entry.value);
            if found.is_none() {
                faults.error(
                    Some((entry.line, entry.column)),
                    format!("shade is `{}`", short(entry.value)),
                    "write lightness, chroma and hue: `L78 C14 h88`",
                );
            }
            found
        });
        let refractive_index = self.number("refractive_index", INDEX, faults);
        let anisotropy = self.number("anisotropy", ANISOTROPY, faults);
        let translucencies = [
            ("low", Translucency::Low),
            ("medium", Translucency::Medium),
            ("high", Translucency::High),
        ];
        let translucency = self.word("translucency", &translucencies, Translucency::Medium, faults);
        let contacts = [("optical", Contact::Optical), ("air", Contact::Air)];
        let contact = self.word("contact", &contacts, Contact::Optical, faults);
        let specular = [("excluded", false), ("included", true)];
        let specular_included = self.word(SPECULAR, &specular, false, faults);
        let class = class?.value.to_owned();
        Some(Header {
            name: self.find("name").map_or_else(|| class.clone(), |entry| entry.value.to_owned()),
            class,
            thickness_mm: thickness_mm?,
            translucency,
            shade,
            refractive_index: refractive_index.unwrap_or(USUAL_INDEX),
            anisotropy: anisotropy.unwrap_or(USUAL_ANISOTROPY),
            contact,
            specular_included,
        })
    }
}

fn percent_help(name: &str, value: f64) -> String {
    match name {
        "white" | "black" if value > 1.0 && value <= 100.0 => {
            format!("reflectances are fractions: write {}", value / 100.0)
        }
        "thickness_mm" if value > 10.0 => {
            format!("write millimetres; were these micrometres? then {}", value / 1000.0)
        }
        _ => "correct it".to_owned(),
    }
}

/// The first characters of something that may be long.
pub(super) fn short(text: &str) -> String {
    let mut out: String = text.chars().filter(|c| !c.is_control()).take(24).collect();
    if text.chars().count() > 24 {
        out.push('…');
    }
    out
}
