//! What material files come to in use: every entry is designed here as it would be there, so that what
//! passes has a medium, and numbers that no such tissue or material has are refused.
//!
//! # Ranges
//! | what | range | source |
//! |---|---|---|
//! | refractive index of enamel and dentin | 1.33 to 1.66 | between those of water and hydroxyapatite, of which they consist (from memory); measured 1.54 and 1.63 (Meng et al., J Biomed Opt 2009;14:034010) |
//! | thickness at which a tissue's TP is stated | 0.3 to 4 mm | such pieces are published (Yu, Ahn, Lee, Acta Odontol Scand 2009;67:57-64: 1 mm), wider: common practice, no source |
//! | σs′ of tissues at 550 nm | 0.1 to 40 /mm | about ten times either way of 0.4 to 4 /mm (enamel: Zijp et al., J Dent Res 1995;74:1891-1898; dentin: Fried et al., Appl Opt 1995;34:1278-1285, from memory) |
//! | refractive index of cements | 1.4 to 1.7 | resins with glass fillers (common practice, no source) |
//! | scattering of cements | from 0.05 /mm without a remark | what is printed of clear cements comes to 0.6 to 1.4 /mm |

use super::checker::{Checker, kind_of, parse};
use super::diagnostic::Diagnostic;
use super::load::source_of;
use super::material_rules::{check_cements, check_ceramics, check_measured, check_tissues};
use super::source::Source;
use crate::bake::within_reach;
use crate::colorimetry::Lch;
use crate::material::format::{Cements, Ceramics, MeasuredCeramics, Tissues};
use crate::material::{Library, LibraryError, OwnMaterials};
use crate::optics::Medium;
use crate::scene::{NaturalTooth, Tooth, Translucency};
use crate::spectrum::Spectrum;
use rayon::prelude::*;
use serde::de::DeserializeOwned;
use std::ops::RangeInclusive;
use std::path::Path;

const TISSUE_INDEX: RangeInclusive<f64> = 1.33..=1.66;
const TISSUE_PIECE_MM: RangeInclusive<f64> = 0.3..=4.0;
const TISSUE_SCATTERING: RangeInclusive<f64> = 0.1..=40.0;
const CEMENT_INDEX: RangeInclusive<f64> = 1.4..=1.7;
const CLEAREST_CEMENT: f64 = 0.05;
/// Natural teeth whose colours the tissues must have: light and dark, as levels draw them.
const USUAL_TEETH: [Lch; 4] = [
    Lch { l: 76.0, c: 16.0, h: 88.0 },
    Lch { l: 82.0, c: 12.0, h: 92.0 },
    Lch { l: 70.0, c: 20.0, h: 85.0 },
    Lch { l: 66.0, c: 26.0, h: 82.0 },
];
/// The dentin that natural teeth are solved with.
const USUAL_DENTIN: &str = "adult";
/// Shades of a class that are named where they cannot be had.
const NAMED: usize = 3;

/// What is wrong or odd about a material file once its entries are designed; `base` gives what the
/// file does not. Nothing for files of other kinds, and for those that are faulty by themselves.
#[must_use]
pub fn faults_in_use(path: &Path, base: &Library) -> Vec<Diagnostic> {
    source_of(path).map_or_else(|error| error.diagnostics, |source| found_in(&source, base))
}

/// The same for a text.
#[must_use]
pub fn faults_of_text(name: &str, text: &str, base: &Library) -> Vec<Diagnostic> {
    found_in(&Source::new(name, text), base)
}

fn found_in(source: &Source, base: &Library) -> Vec<Diagnostic> {
    match kind_of(source).as_deref() {
        Some("Tissues") => said(source, "Tissues", check_tissues, |f, c| tissues(f, base, c)),
        Some("Cements") => said(source, "Cements", check_cements, |f, c| cements(f, base, c)),
        Some("Ceramics") => said(source, "Ceramics", check_ceramics, |f, c| ceramics(f, base, c)),
        Some("MeasuredCeramics") => {
            said(source, "MeasuredCeramics", check_measured, |f, c| measured(f, base, c))
        }
        _ => Vec::new(),
    }
}

/// What the rules on use find in a file that obeys the rules on its values.
fn said<T: DeserializeOwned>(
    source: &Source,
    kind: &str,
    values: impl FnOnce(&T, &mut Checker<'_>),
    in_use: impl FnOnce(&T, &mut Checker<'_>),
) -> Vec<Diagnostic> {
    if parse::<T>(source, kind, values).is_err() {
        return Vec::new();
    }
    match parse(source, kind, in_use) {
        Ok(loaded) => loaded.warnings,
        Err(error) => error.diagnostics,
    }
}

/// Why an entry cannot be had, without the entry's name, which its place says.
fn reason(error: &LibraryError) -> String {
    match error {
        LibraryError::Design { source, .. } | LibraryError::Shade { source, .. } => {
            source.to_string()
        }
        LibraryError::Medium { source, .. } => source.to_string(),
        other => other.to_string(),
    }
}

const NOT_MADE: &str = "colour and translucency conflict, or no such piece can exist: compare with an \
                        entry that ships";

fn tissues(file: &Tissues, base: &Library, checker: &mut Checker<'_>) {
    let indices = std::iter::once(("enamel".to_owned(), file.enamel.refractive_index)).chain(
        file.dentins.iter().enumerate().map(|(i, d)| (format!("dentins[{i}]"), d.refractive_index)),
    );
    for (path, index) in indices {
        let path = format!("{path}.refractive_index");
        plausible(&path, index, TISSUE_INDEX, "", "between water and hydroxyapatite", checker);
    }
    let dentins = file.dentins.iter().enumerate();
    let dentins = dentins.map(|(i, d)| (format!("dentins[{i}]"), d.at_mm));
    let prepared = file.prepared_teeth.iter().enumerate();
    let prepared = prepared.map(|(i, p)| (format!("prepared_teeth[{i}]"), p.at_mm));
    let pieces = std::iter::once(("enamel".to_owned(), file.enamel.at_mm));
    for (path, at_mm) in pieces.chain(dentins).chain(prepared) {
        let path = format!("{path}.at_mm");
        plausible(&path, at_mm, TISSUE_PIECE_MM, " mm", "pieces that are measured", checker);
    }
    if !file.dentins.iter().any(|dentin| dentin.id == USUAL_DENTIN) {
        let message =
            format!("there is no dentin \"{USUAL_DENTIN}\", of which natural teeth are made");
        checker.error("dentins", message, format!("give one the id \"{USUAL_DENTIN}\""));
    }
    if checker.has_errors() {
        return;
    }
    let own = OwnMaterials { tissues: Some(file.clone()), ..OwnMaterials::default() };
    let library = match base.with_replaced(own) {
        Ok(library) => library,
        Err(error) => return checker.error("enamel", reason(&error), NOT_MADE),
    };
    scatters("enamel", library.enamel(), checker);
    for (index, dentin) in file.dentins.iter().enumerate() {
        let path = format!("dentins[{index}]");
        match library.dentin(&dentin.id) {
            Ok(medium) => scatters(&path, &medium, checker),
            Err(error) => checker.error(&path, reason(&error), NOT_MADE),
        }
    }
    for (index, tooth) in file.prepared_teeth.iter().enumerate() {
        let path = format!("prepared_teeth[{index}]");
        match library.prepared_tooth(&tooth.id) {
            Ok(medium) => scatters(&path, &medium, checker),
            Err(error) => checker.error(&path, reason(&error), NOT_MADE),
        }
    }
    if checker.has_errors() {
        return;
    }
    // No natural tooth could be shown without.
    for body in USUAL_TEETH {
        for tooth in Tooth::arch(6) {
            let natural = NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 };
            if let Err(error) = within_reach(&natural, 1, &library) {
                let message = format!("with this enamel and dentin {error}");
                let help = "natural teeth of every usual colour must be had from them";
                return checker.error("enamel", message, help);
            }
        }
    }
}

/// Requires a number that such a material can have; `source` says where the range is from.
fn plausible(
    path: &str,
    value: f64,
    range: RangeInclusive<f64>,
    unit: &str,
    source: &str,
    checker: &mut Checker<'_>,
) {
    if !range.contains(&value) {
        let name = path.rsplit('.').next().unwrap_or(path);
        let (low, high) = (range.start(), range.end());
        let message = format!("{name} is {value}{unit}, outside {low} to {high}{unit} ({source})");
        checker.error(path, message, "check the value");
    }
}

/// Whether a tissue scatters as one does.
fn scatters(path: &str, medium: &Medium, checker: &mut Checker<'_>) {
    let scattering = medium.reduced_scattering.at_nm(550.0);
    if !TISSUE_SCATTERING.contains(&scattering) {
        let (low, high) = (TISSUE_SCATTERING.start(), TISSUE_SCATTERING.end());
        checker.error(
            &format!("{path}.tp"),
            format!(
                "so translucent a piece of this thickness scatters {scattering:.3} /mm; tooth tissues \
                 scatter within {low} to {high} /mm (ten times either way of what is published)"
            ),
            "check the translucency parameter and the thickness that it was measured at",
        );
    }
}

fn cements(file: &Cements, base: &Library, checker: &mut Checker<'_>) {
    for (index, cement) in file.cements.iter().enumerate() {
        let at = |field: &str| format!("cements[{index}].{field}");
        let path = at("refractive_index");
        let source = "resins with glass fillers";
        plausible(&path, cement.refractive_index, CEMENT_INDEX, "", source, checker);
        let scattering = cement.scattering_550;
        if (0.0..CLEAREST_CEMENT).contains(&scattering) {
            let message = format!("scattering_550 is {scattering} /mm: no cement is that clear");
            let help = "clear cements in print come to 0.6 to 1.4 /mm; leave it if it is meant";
            checker.warning(&at("scattering_550"), message, help);
        }
        let absorption = cement.absorption;
        for (field, value) in [
            ("at_450", absorption.at_450),
            ("at_550", absorption.at_550),
            ("at_650", absorption.at_650),
        ] {
            if !(value >= LEAST_ABSORPTION) {
                checker.error(
                    &at(&format!("absorption.{field}")),
                    format!("{field} is {value} /mm; it must be at least {LEAST_ABSORPTION} /mm"),
                    "every resin absorbs a little: the clear one that ships has 0.01 to 0.05 /mm",
                );
            }
        }
    }
    if checker.has_errors() {
        return;
    }
    let own = OwnMaterials { cements: Some(file.clone()), ..OwnMaterials::default() };
    let library = match base.with_replaced(own) {
        Ok(library) => library,
        Err(error) => return checker.error("", error.to_string(), ""),
    };
    for (index, cement) in file.cements.iter().enumerate() {
        if let Err(error) = library.cement(&cement.id) {
            let help = "compare its scattering and absorption with a cement that ships";
            checker.error(&format!("cements[{index}]"), reason(&error), help);
        }
    }
}

/// Absorption between its anchors runs straight in its logarithm, which 0 has not.
const LEAST_ABSORPTION: f64 = 1e-6;

fn ceramics(file: &Ceramics, base: &Library, checker: &mut Checker<'_>) {
    if checker.has_errors() {
        return;
    }
    let own = OwnMaterials { ceramics: Some(file.clone()), ..OwnMaterials::default() };
    let library = match base.with_replaced(own) {
        Ok(library) => library,
        Err(error) => return checker.error("", error.to_string(), ""),
    };
    let plain = file.classes.iter().enumerate();
    let plain = plain.map(|(i, class)| (format!("classes[{i}]"), class.id.as_str()));
    let pigmented = file.pigmented.iter().flatten().enumerate();
    let pigmented = pigmented.map(|(i, class)| (format!("pigmented[{i}]"), class.id.as_str()));
    for (path, id) in plain.chain(pigmented) {
        for translucency in library.translucencies(id) {
            shades(&path, id, translucency, &library, checker);
        }
    }
}

/// Exercises leave out the shades that a ceramic cannot have; one that has none can't be used.
fn shades(
    path: &str,
    id: &str,
    translucency: Translucency,
    library: &Library,
    checker: &mut Checker<'_>,
) {
    let all = library.shades(id, translucency);
    let failed: Vec<(String, String)> = all
        .par_iter()
        .filter_map(|shade| {
            let error = library.ceramic(id, translucency, *shade).err()?;
            Some((shade.name(), reason(&error)))
        })
        .collect();
    if 2 * failed.len() <= all.len() {
        return;
    }
    let names: Vec<&str> = failed.iter().take(NAMED).map(|(name, _)| name.as_str()).collect();
    let why = failed.first().map_or("", |(_, why)| why.as_str());
    let (count, of) = (failed.len(), all.len());
    let which = format!("{translucency:?}").to_lowercase();
    let names = names.join(", ");
    let message = format!(
        "in {which} translucency {count} of {of} shades cannot be had, such as {names}: {why}"
    );
    if count == of {
        checker.error(path, message, NOT_MADE);
    } else {
        checker.warning(path, message, "they are left out wherever this ceramic is used");
    }
}

fn measured(file: &MeasuredCeramics, base: &Library, checker: &mut Checker<'_>) {
    if checker.has_errors() {
        return;
    }
    let own = OwnMaterials { measured: vec![file.clone()], ..OwnMaterials::default() };
    let library = match base.with_replaced(own) {
        Ok(library) => library,
        Err(error) => return checker.error("", error.to_string(), ""),
    };
    for (index, class) in file.classes.iter().enumerate() {
        for (place, piece) in class.pieces.iter().enumerate() {
            let made = library.ceramic(&class.id, piece.translucency, piece.shade);
            let path = format!("classes[{index}].pieces[{place}]");
            match made {
                Err(error) => checker.error(&path, reason(&error), "measure the piece again"),
                Ok(medium) if is_nothing(&medium.reduced_scattering) => checker.error(
                    &format!("{path}.reduced_scattering"),
                    "it scatters nothing at all: no ceramic is as clear as glass",
                    "measure the piece again",
                ),
                Ok(_) => {}
            }
        }
    }
}

fn is_nothing(spectrum: &Spectrum) -> bool {
    spectrum.max() <= 0.0
}
