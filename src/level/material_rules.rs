//! What material files must be beyond well-formed.

use super::checker::Checker;
use crate::colorimetry::Lch;
use crate::material::format::{Cement, Cements, CeramicClass, Ceramics, MATERIAL_FORMAT};
use crate::material::format::{MeasuredCeramics, MeasuredClass, PigmentBand, PigmentedClass};
use crate::material::format::{ShadeLattice, Tissues};
use crate::optics::Medium;
use crate::scene::Translucency;
use crate::spectrum::{RegularSamples, Spectrum};
use std::collections::BTreeSet;
use std::ops::RangeInclusive;

/// From water to zirconia.
const REFRACTIVE_INDEX: RangeInclusive<f64> = 1.3..=2.5;
/// 0 for large scatterers, 4 for very small ones (Rayleigh).
const SCATTERING_EXPONENT: RangeInclusive<f64> = 0.0..=4.0;
const SAMPLE_MM: RangeInclusive<f64> = 0.1..=10.0;
const COEFFICIENT_PER_MM: RangeInclusive<f64> = 0.0..=100.0;
/// Mean cosine of the scattering angle.
const ANISOTROPY: RangeInclusive<f64> = -0.95..=0.98;
/// A perfectly clear piece between white and black would reach 100.
const TRANSLUCENCY_PARAMETER: RangeInclusive<f64> = 0.0..=100.0;

/// Bands that colour; at least 30 nm wide, as optics are computed every 20 nm.
const PIGMENT_AT_NM: RangeInclusive<f64> = 420.0..=680.0;
const PIGMENT_WIDTH_NM: RangeInclusive<f64> = 30.0..=80.0;
const PIGMENT_STRENGTH: RangeInclusive<f64> = 0.0..=3.0;

const MIN_SHADES: usize = 16;
/// Value steps between neighbouring rows of the shade lattice, L*: about 2.
const VALUE_STEP: RangeInclusive<f64> = 1.0..=3.0;
const SHADE_LIGHTNESS: RangeInclusive<f64> = 50.0..=98.0;
const SHADE_CHROMA: RangeInclusive<f64> = 0.0..=40.0;
const SHADE_HUE: RangeInclusive<f64> = 60.0..=120.0;

/// Cements that exercises count on.
const USUAL_CEMENTS: [&str; 6] =
    ["clear", "light", "very-light", "warm", "very-warm", "opaque-light"];

const LEVELS: [(Translucency, &str); 3] =
    [(Translucency::Low, "low"), (Translucency::Medium, "medium"), (Translucency::High, "high")];

pub(super) fn check_ceramics(file: &Ceramics, checker: &mut Checker<'_>) {
    checker.format(file.format, MATERIAL_FORMAT);
    not_empty("classes", file.classes.len(), checker);
    let plain = entries("classes", file.classes.iter().map(|class| &class.id));
    let pigmented = entries("pigmented", file.pigmented.iter().flatten().map(|class| &class.id));
    checker.unique(plain.chain(pigmented));
    for (index, class) in file.classes.iter().enumerate() {
        check_class(&format!("classes[{index}]"), class, checker);
    }
    let plain: BTreeSet<&str> = file.classes.iter().map(|class| class.id.as_str()).collect();
    for (index, class) in file.pigmented.iter().flatten().enumerate() {
        check_pigmented(&format!("pigmented[{index}]"), class, &plain, checker);
    }
    check_shades(&file.shades, checker);
}

fn check_class(path: &str, class: &CeramicClass, checker: &mut Checker<'_>) {
    let at = |field: &str| format!("{path}.{field}");
    checker.id(&at("id"), &class.id);
    checker.not_blank(&at("name"), &class.name);
    checker.within(&at("refractive_index"), class.refractive_index, REFRACTIVE_INDEX, "");
    checker.within(&at("anisotropy"), class.anisotropy, ANISOTROPY, "");
    let exponent = class.scattering_exponent;
    checker.within(&at("scattering_exponent"), exponent, SCATTERING_EXPONENT, "");
    checker.not_blank(&at("basis"), &class.basis);
    check_grades(&at("translucencies"), class, checker);
    if let Some(graded) = class.graded {
        let (cervical, incisal) = (graded.cervical_contrast_ratio, graded.incisal_contrast_ratio);
        contrast_ratio(&at("graded.cervical_contrast_ratio"), cervical, checker);
        contrast_ratio(&at("graded.incisal_contrast_ratio"), incisal, checker);
        if cervical <= incisal {
            checker.error(
                &at("graded"),
                format!("the cervical end hides no more ({cervical}) than the incisal ({incisal})"),
                "give the cervical end the higher contrast ratio",
            );
        }
    }
}

fn check_pigmented(
    path: &str,
    class: &PigmentedClass,
    plain: &BTreeSet<&str>,
    checker: &mut Checker<'_>,
) {
    let at = |field: &str| format!("{path}.{field}");
    checker.id(&at("id"), &class.id);
    checker.not_blank(&at("name"), &class.name);
    checker.not_blank(&at("basis"), &class.basis);
    let PigmentBand { at_nm, width_nm, strength } = class.pigment;
    checker.within(&at("pigment.at_nm"), at_nm, PIGMENT_AT_NM, " nm");
    checker.within(&at("pigment.width_nm"), width_nm, PIGMENT_WIDTH_NM, " nm");
    checker.within(&at("pigment.strength"), strength, PIGMENT_STRENGTH, "");
    if checker.entire("classes") && !plain.contains(class.of.as_str()) {
        let message = format!("no plain class has the id \"{}\"", class.of);
        checker.error(&at("of"), message, "name one of `classes`");
    }
}

fn check_grades(path: &str, class: &CeramicClass, checker: &mut Checker<'_>) {
    let mut complete = checker.usable(path);
    let mut found: Vec<(usize, &str, f64)> = Vec::new();
    for (index, grade) in class.translucencies.iter().enumerate() {
        let at = |field: &str| format!("{path}[{index}].{field}");
        contrast_ratio(&at("contrast_ratio"), grade.contrast_ratio, checker);
        checker.within(&at("at_mm"), grade.at_mm, SAMPLE_MM, " mm");
        let first = class.translucencies[0].at_mm;
        if grade.at_mm != first && checker.usable(&format!("{path}[0].at_mm")) {
            checker.error(
                &at("at_mm"),
                format!("at_mm is {} mm, but the first of this class is {first} mm", grade.at_mm),
                "state all contrast ratios of a class at one thickness",
            );
        }
    }
    for (level, name) in LEVELS {
        let mut matching =
            class.translucencies.iter().enumerate().filter(|(_, g)| g.level == level);
        match (matching.next(), matching.next()) {
            (Some((index, grade)), None) => found.push((index, name, grade.contrast_ratio)),
            (Some(_), Some((second, _))) => {
                complete = false;
                let message = format!("{name} translucency is given twice");
                checker.error(&format!("{path}[{second}].level"), message, "remove one");
            }
            (None, _) if complete => {
                let message = format!("{name} translucency is missing");
                checker.error(path, message, "give low, medium and high once each");
            }
            (None, _) => {}
        }
    }
    for pair in found.windows(2) {
        let [(_, hides_more, higher), (index, hides_less, lower)] = *pair else { continue };
        if complete && lower >= higher {
            checker.error(
                &format!("{path}[{index}].contrast_ratio"),
                format!(
                    "{hides_less} translucency has contrast ratio {lower}, not below {higher} of \
                     {hides_more} translucency"
                ),
                "the lower the translucency, the higher the contrast ratio",
            );
        }
    }
}

/// Wavelengths that measured coefficients must reach, nm.
const MEASURED_NM: (f64, f64) = (400.0, 700.0);
/// Coarsest step of measured coefficients, nm.
const COARSEST_NM: f64 = 20.0;

pub(super) fn check_measured(file: &MeasuredCeramics, checker: &mut Checker<'_>) {
    checker.format(file.format, MATERIAL_FORMAT);
    not_empty("classes", file.classes.len(), checker);
    checker.unique(entries("classes", file.classes.iter().map(|class| &class.id)));
    for (index, class) in file.classes.iter().enumerate() {
        check_measured_class(&format!("classes[{index}]"), class, checker);
    }
}

fn check_measured_class(path: &str, class: &MeasuredClass, checker: &mut Checker<'_>) {
    let at = |field: &str| format!("{path}.{field}");
    checker.id(&at("id"), &class.id);
    checker.not_blank(&at("name"), &class.name);
    checker.within(&at("refractive_index"), class.refractive_index, REFRACTIVE_INDEX, "");
    checker.within(&at("anisotropy"), class.anisotropy, ANISOTROPY, "");
    checker.not_blank(&at("basis"), &class.basis);
    not_empty(&at("pieces"), class.pieces.len(), checker);
    let mut names = BTreeSet::new();
    for (index, piece) in class.pieces.iter().enumerate() {
        let path = format!("{path}.pieces[{index}]");
        check_colour(&format!("{path}.shade"), piece.shade, checker);
        if !names.insert((piece.translucency, piece.shade.name())) {
            let message = format!("a second piece is {} in this translucency", piece.shade.name());
            checker.error(&format!("{path}.shade"), message, "keep one of them");
        }
        let absorption = check_samples(&format!("{path}.absorption"), &piece.absorption, checker);
        let field = format!("{path}.reduced_scattering");
        let scattering = check_samples(&field, &piece.reduced_scattering, checker);
        if let (Some(a), Some(s)) = (absorption, scattering)
            && let Err(error) = Medium::new(a, s, class.anisotropy, class.refractive_index)
        {
            checker.error(&path, error.to_string(), "coefficients are at least 0 per mm");
        }
    }
}

/// The spectrum of coefficients in a file, where it is one.
fn check_samples(
    path: &str,
    samples: &RegularSamples,
    checker: &mut Checker<'_>,
) -> Option<Spectrum> {
    let RegularSamples { first_nm, step_nm, values } = samples;
    match Spectrum::from_regular(*first_nm, *step_nm, values) {
        Ok(spectrum) => {
            let last_nm = first_nm + step_nm * (values.len() - 1) as f64;
            let (from, to) = MEASURED_NM;
            if *first_nm > from || last_nm < to {
                checker.error(
                    path,
                    format!("the samples reach from {first_nm} to {last_nm} nm"),
                    format!("cover {from} to {to} nm"),
                );
            }
            if *step_nm > COARSEST_NM {
                let message = format!("a step of {step_nm} nm is too coarse");
                checker.error(path, message, format!("use at most {COARSEST_NM} nm"));
            }
            Some(spectrum)
        }
        Err(error) => {
            checker.error(path, error.to_string(), "give regular samples, each a number");
            None
        }
    }
}

fn check_shades(shades: &ShadeLattice, checker: &mut Checker<'_>) {
    checker.within("shades.at_mm", shades.at_mm, SAMPLE_MM, " mm");
    checker.not_blank("shades.basis", &shades.basis);
    let lattice = &shades.lattice;
    if lattice.len() < MIN_SHADES {
        let message = format!("the lattice has {} shades, fewer than {MIN_SHADES}", lattice.len());
        checker.error("shades.lattice", message, "add shades");
    }
    let mut names = BTreeSet::new();
    for (index, shade) in lattice.iter().enumerate() {
        let path = format!("shades.lattice[{index}]");
        checker.within(&format!("{path}.L"), shade.l, SHADE_LIGHTNESS, "");
        checker.within(&format!("{path}.C"), shade.c, SHADE_CHROMA, "");
        checker.within(&format!("{path}.h"), shade.h, SHADE_HUE, "°");
        let name = format!("L{:.0} C{:.0} h{:.0}", shade.l, shade.c, shade.h);
        if names.contains(&name) {
            let help = "shades are named by whole L, C and h: move one or remove it";
            checker.error(&path, format!("a second shade would be called {name}"), help);
        } else if checker.usable(&path) {
            names.insert(name);
        }
    }
    if checker.usable("shades.lattice") {
        let mut values: Vec<f64> = lattice.iter().map(|shade| shade.l).collect();
        values.sort_by(f64::total_cmp);
        values.dedup();
        for pair in values.windows(2) {
            let step = pair[1] - pair[0];
            if !VALUE_STEP.contains(&step) {
                checker.error(
                    "shades.lattice",
                    format!(
                        "the value step from L {} to L {} is {step:.2}, outside {} to {}",
                        pair[0],
                        pair[1],
                        VALUE_STEP.start(),
                        VALUE_STEP.end()
                    ),
                    "space the rows about 2 L* apart",
                );
            }
        }
    }
}

pub(super) fn check_cements(file: &Cements, checker: &mut Checker<'_>) {
    checker.format(file.format, MATERIAL_FORMAT);
    not_empty("cements", file.cements.len(), checker);
    checker.unique(entries("cements", file.cements.iter().map(|cement| &cement.id)));
    for (index, cement) in file.cements.iter().enumerate() {
        check_cement(&format!("cements[{index}]"), cement, checker);
    }
    for usual in USUAL_CEMENTS {
        if !file.cements.is_empty() && !file.cements.iter().any(|cement| cement.id == usual) {
            let message = format!("there is no cement \"{usual}\"");
            checker.warning("cements", message, "add it if shipped levels are to be used");
        }
    }
}

fn check_cement(path: &str, cement: &Cement, checker: &mut Checker<'_>) {
    let at = |field: &str| format!("{path}.{field}");
    checker.id(&at("id"), &cement.id);
    checker.not_blank(&at("name"), &cement.name);
    checker.within(&at("refractive_index"), cement.refractive_index, REFRACTIVE_INDEX, "");
    checker.within(&at("anisotropy"), cement.anisotropy, ANISOTROPY, "");
    let exponent = cement.scattering_exponent;
    checker.within(&at("scattering_exponent"), exponent, SCATTERING_EXPONENT, "");
    let absorption = cement.absorption;
    for (field, value) in [
        ("scattering_550", cement.scattering_550),
        ("absorption.at_450", absorption.at_450),
        ("absorption.at_550", absorption.at_550),
        ("absorption.at_650", absorption.at_650),
    ] {
        checker.within(&at(field), value, COEFFICIENT_PER_MM, " /mm");
    }
    checker.not_blank(&at("basis"), &cement.basis);
}

pub(super) fn check_tissues(file: &Tissues, checker: &mut Checker<'_>) {
    checker.format(file.format, MATERIAL_FORMAT);
    let enamel = &file.enamel;
    checker.within("enamel.refractive_index", enamel.refractive_index, REFRACTIVE_INDEX, "");
    checker.within("enamel.anisotropy", enamel.anisotropy, ANISOTROPY, "");
    checker.within("dentin_anisotropy", file.dentin_anisotropy, ANISOTROPY, "");
    let exponent = enamel.scattering_exponent;
    checker.within("enamel.scattering_exponent", exponent, SCATTERING_EXPONENT, "");
    check_piece("enamel", enamel.colour, enamel.tp, enamel.at_mm, &enamel.basis, checker);

    not_empty("dentins", file.dentins.len(), checker);
    checker.unique(entries("dentins", file.dentins.iter().map(|dentin| &dentin.id)));
    for (index, dentin) in file.dentins.iter().enumerate() {
        let path = format!("dentins[{index}]");
        checker.id(&format!("{path}.id"), &dentin.id);
        checker.not_blank(&format!("{path}.name"), &dentin.name);
        let refractive_index = dentin.refractive_index;
        checker.within(&format!("{path}.refractive_index"), refractive_index, REFRACTIVE_INDEX, "");
        check_piece(&path, dentin.colour, dentin.tp, dentin.at_mm, &dentin.basis, checker);
    }

    not_empty("prepared_teeth", file.prepared_teeth.len(), checker);
    checker.unique(entries("prepared_teeth", file.prepared_teeth.iter().map(|tooth| &tooth.id)));
    for (index, tooth) in file.prepared_teeth.iter().enumerate() {
        let path = format!("prepared_teeth[{index}]");
        checker.id(&format!("{path}.id"), &tooth.id);
        checker.not_blank(&format!("{path}.name"), &tooth.name);
        check_piece(&path, tooth.colour, tooth.tp, tooth.at_mm, &tooth.basis, checker);
        let before = index.checked_sub(1).map(|before| &file.prepared_teeth[before]);
        if let Some(before) = before.filter(|before| before.colour.l < tooth.colour.l)
            && checker.usable(&format!("prepared_teeth[{}].colour.L", index - 1))
        {
            checker.error(
                &format!("{path}.colour.L"),
                format!("\"{}\" is lighter than \"{}\" before it", tooth.id, before.id),
                "list prepared teeth from light to dark",
            );
        }
    }

    not_empty("gingivae", file.gingivae.len(), checker);
    checker.unique(entries("gingivae", file.gingivae.iter().map(|gingiva| &gingiva.id)));
    for (index, gingiva) in file.gingivae.iter().enumerate() {
        let path = format!("gingivae[{index}]");
        checker.id(&format!("{path}.id"), &gingiva.id);
        check_colour(&format!("{path}.colour"), gingiva.colour, checker);
        checker.not_blank(&format!("{path}.basis"), &gingiva.basis);
    }
    checker.within("mouth.reflectance", file.mouth.reflectance, 0.0..=1.0, "");
    checker.not_blank("mouth.basis", &file.mouth.basis);
}

fn check_piece(
    path: &str,
    colour: Lch,
    tp: f64,
    at_mm: f64,
    basis: &str,
    checker: &mut Checker<'_>,
) {
    check_colour(&format!("{path}.colour"), colour, checker);
    checker.within(&format!("{path}.tp"), tp, TRANSLUCENCY_PARAMETER, "");
    checker.within(&format!("{path}.at_mm"), at_mm, SAMPLE_MM, " mm");
    checker.not_blank(&format!("{path}.basis"), basis);
}

/// Any colour that a surface can have.
fn check_colour(path: &str, colour: Lch, checker: &mut Checker<'_>) {
    checker.within(&format!("{path}.L"), colour.l, 0.0..=100.0, "");
    checker.within(&format!("{path}.C"), colour.c, 0.0..=100.0, "");
    checker.within(&format!("{path}.h"), colour.h, 0.0..=360.0, "°");
}

fn contrast_ratio(path: &str, value: f64, checker: &mut Checker<'_>) {
    if !(value > 0.0 && value < 1.0) {
        checker.error(
            path,
            format!("contrast ratio is {value}, but must lie between 0 and 1"),
            "0 would hide nothing and 1 everything; glass-ceramics lie near 0.5 to 0.7 at 1 mm",
        );
    }
}

fn not_empty(path: &str, count: usize, checker: &mut Checker<'_>) {
    if count == 0 {
        checker.error(path, format!("{path} is empty"), "add at least one entry");
    }
}

/// The path of every entry's id, and the id.
fn entries<'a>(
    list: &str,
    ids: impl Iterator<Item = &'a String>,
) -> impl Iterator<Item = (String, &'a str)> {
    let list = list.to_owned();
    ids.enumerate().map(move |(index, id)| (format!("{list}[{index}].id"), id.as_str()))
}
