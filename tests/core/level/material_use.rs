//! Material files as they are used: nothing that passes may fail, and what is refused is named
//! where it stands.

use proptest::prelude::*;
use second_glance::bake::{Estimator, within_reach};
use second_glance::colorimetry::{Illuminant, Lch};
use second_glance::level::format::ron_options;
use second_glance::level::load::{parse_cements, parse_ceramics, parse_tissues};
use second_glance::level::{Diagnostic, Severity, faults_of_text};
use second_glance::material::format::{
    Cements, Ceramics, MATERIAL_FORMAT, MeasuredCeramics, MeasuredClass, MeasuredPiece, Tissues,
};
use second_glance::material::{Library, OwnMaterials, SHIPPED_FILES};
use second_glance::scene::{
    Ceramic, NaturalTooth, Preparation, Restoration, Thickness, Tooth, Translucency,
};
use second_glance::spectrum::{FIRST_NM, RegularSamples, STEP_NM};
use std::sync::OnceLock;

fn library() -> &'static Library {
    static LIBRARY: OnceLock<Library> = OnceLock::new();
    LIBRARY.get_or_init(|| Library::shipped().unwrap())
}

fn text(name: &str) -> &'static str {
    SHIPPED_FILES.iter().find(|(file, _)| *file == name).unwrap().1
}

/// What `check` says of a text: its values and, where those are right, its use.
fn checked(name: &str, text: &str) -> Vec<Diagnostic> {
    let values = match name {
        "tissues.ron" => parse_tissues(name, text).map(|loaded| loaded.warnings),
        _ => parse_cements(name, text).map(|loaded| loaded.warnings),
    };
    let mut said = values.unwrap_or_else(|error| error.diagnostics);
    said.extend(faults_of_text(name, text, library()));
    said
}

fn refused(said: &[Diagnostic]) -> bool {
    said.iter().any(|d| d.severity == Severity::Error)
}

#[test]
fn what_ships_passes_in_use() {
    for (name, text) in SHIPPED_FILES {
        assert_eq!(faults_of_text(name, text, library()), [], "{name}");
    }
}

#[test]
fn values_that_fail_or_mean_nothing_are_named_where_they_stand() {
    let error = Severity::Error;
    for (file, old, new, place, severity, words) in [
        // No dentin, cement or prepared tooth can be had from these.
        ("tissues.ron", "(L: 75, C: 28", "(L: 3, C: 28", "id: \"adult\"", error, "looks like that"),
        (
            "tissues.ron",
            "C: 21, h: 78), tp: 14",
            "C: 21, h: 78), tp: 0",
            "(id: \"brown\"",
            error,
            "TP",
        ),
        (
            "tissues.ron",
            "C: 21, h: 78)",
            "C: 3, h: 256)",
            "(id: \"brown\"",
            error,
            "looks like that",
        ),
        ("cements.ron", "(at_450: 0.05", "(at_450: -0.0", "-0.0", error, "at least"),
        // These have a medium, but of nothing that there is.
        (
            "tissues.ron",
            "refractive_index: 1.54,\n            tp: 16.4, at_mm: 1.0, colour: (L: 75",
            "refractive_index: 2.5,\n            tp: 16.4, at_mm: 1.0, colour: (L: 75",
            "2.5",
            error,
            "water and hydroxyapatite",
        ),
        (
            "tissues.ron",
            "tp: 14, at_mm: 1.0",
            "tp: 14, at_mm: 0.1",
            "0.1,",
            error,
            "outside 0.3 to 4",
        ),
        (
            "cements.ron",
            "scattering_550: 0.3",
            "scattering_550: 0",
            "0,",
            Severity::Warning,
            "no cement is that clear",
        ),
        (
            "cements.ron",
            "refractive_index: 1.52",
            "refractive_index: 2.5",
            "2.5",
            error,
            "outside 1.4 to 1.7",
        ),
        (
            "tissues.ron",
            "id: \"adult\"",
            "id: \"grown\"",
            "dentins",
            error,
            "natural teeth are made",
        ),
    ] {
        let whole = text(file);
        assert!(whole.contains(old), "{file} has no `{old}`");
        let start = whole.find(old).unwrap();
        let changed = whole.replacen(old, new, 1);
        let said = checked(file, &changed);
        let found = said.iter().find(|d| d.message.contains(words));
        let found = found.unwrap_or_else(|| panic!("`{words}` is not in {said:#?}"));
        assert_eq!(found.severity, severity, "{found}");
        let line = found.position.unwrap().line;
        let lines = |offset: usize| changed[..offset].matches('\n').count() + 1;
        // An entry begins at most two lines above its values; a list wherever it stands.
        let at = lines(start) as i64 + new.matches('\n').count() as i64;
        let off = at - line as i64;
        assert!((0..=2).contains(&off) || place == "dentins", "{found} is {off} lines above");
    }
}

/// What is said of a text's use alone; its values must be right.
fn in_use(text: &str) -> Vec<(Severity, String)> {
    let said = faults_of_text("own.ron", text, library()).into_iter();
    said.map(|fault| (fault.severity, fault.message)).collect()
}

#[test]
fn ceramics_that_cannot_be_made_are_refused() {
    // One class in as few shades as there may be, the light ones: each takes a search.
    let mut file = Ceramics::shipped().unwrap();
    file.classes.truncate(1);
    file.pigmented = None;
    file.shades.lattice = file.shades.lattice.split_off(file.shades.lattice.len() - 16);
    let written = |file: &Ceramics| format!("Ceramics{}", ron_options().to_string(file).unwrap());
    assert_eq!(in_use(&written(&file)), []);
    // So clear a piece of 1 mm is of few of these colours, or of none.
    for (contrast_ratio, wanted, words) in [
        (0.05, Severity::Warning, "of 16 shades cannot be had"),
        (0.01, Severity::Error, "16 of 16 shades cannot be had"),
    ] {
        let grades = &mut file.classes[0].translucencies;
        let high = grades.iter_mut().find(|grade| grade.level == Translucency::High).unwrap();
        high.contrast_ratio = contrast_ratio;
        let clear = written(&file);
        assert!(parse_ceramics("own.ron", &clear).is_ok());
        let said = in_use(&clear);
        let [(severity, fault)] = &said[..] else { panic!("{said:#?}") };
        assert_eq!(*severity, wanted, "{fault}");
        assert!(fault.contains("in high translucency") && fault.contains(words), "{fault}");
    }
}

#[test]
fn a_measured_piece_that_scatters_nothing_is_refused() {
    let shade = Lch { l: 78.0, c: 15.0, h: 90.0 };
    let medium = library().ceramic("lithium-disilicate", Translucency::Medium, shade).unwrap();
    let written = |factor: f64| {
        let samples =
            |values: Vec<f64>| RegularSamples { first_nm: FIRST_NM, step_nm: STEP_NM, values };
        let scattering = medium.reduced_scattering.bands().iter().map(|s| factor * s).collect();
        let piece = MeasuredPiece {
            translucency: Translucency::Medium,
            shade,
            absorption: samples(medium.absorption.bands().to_vec()),
            reduced_scattering: samples(scattering),
        };
        let class = MeasuredClass {
            id: "own-disc".to_owned(),
            name: "own disc".to_owned(),
            refractive_index: 1.53,
            anisotropy: 0.7,
            pieces: vec![piece],
            basis: "as designed".to_owned(),
        };
        let file = MeasuredCeramics { format: MATERIAL_FORMAT, classes: vec![class] };
        format!("MeasuredCeramics{}", ron_options().to_string(&file).unwrap())
    };
    assert_eq!(in_use(&written(1.0)), []);
    let said = in_use(&written(0.0));
    let [(severity, fault)] = &said[..] else { panic!("{said:#?}") };
    assert_eq!(*severity, Severity::Error, "{fault}");
    assert!(fault.contains("no ceramic is as clear as glass"), "{fault}");
}

/// Natural teeth and a restoration of every prepared tooth on every cement.
fn use_of(library: &Library) -> Result<(), String> {
    let body = Lch { l: 76.0, c: 16.0, h: 88.0 };
    let tooth = Tooth::new(11).unwrap();
    let natural = NaturalTooth { tooth, body, enamel_factor: 1.0, residual_de00: 0.0 };
    let said = |error: &dyn std::fmt::Display| error.to_string();
    // As every smile is laid out: a body colour is moved to one that the tissues can have.
    let natural = within_reach(&natural, 1, library).map_err(|error| said(&error))?;
    let estimator =
        Estimator::new(&natural, 1, Illuminant::D65, library).map_err(|error| said(&error))?;
    for dentin in &library.tissues().dentins {
        library.dentin(&dentin.id).map_err(|error| said(&error))?;
    }
    for prepared in &library.tissues().prepared_teeth {
        for cement in &library.cements().cements {
            let ceramic = Ceramic {
                class: "feldspathic".to_owned(),
                translucency: Translucency::High,
                shade: body,
                graded: false,
                block_shift: 0.0,
            };
            let restoration = Restoration {
                tooth,
                preparation: Preparation::Veneer,
                ceramic,
                thickness: Thickness {
                    margin_mm: 0.1,
                    neck_mm: 0.4,
                    body_mm: 0.6,
                    incisal_mm: 0.8,
                },
                cement: cement.id.clone(),
                cement_film_mm: 0.05,
                prepared_tooth: prepared.id.clone(),
                drift: None,
            };
            let seen = estimator.difference(&restoration).map_err(|error| said(&error))?;
            if !seen.de00.is_finite() {
                return Err(format!("{} on {} is no number", prepared.id, cement.id));
            }
        }
    }
    Ok(())
}

fn one_of(values: &'static [f64]) -> impl Strategy<Value = f64> {
    prop::sample::select(values)
}

const L: &[f64] = &[0.0, 3.0, 20.0, 40.0, 60.0, 75.0, 85.0, 97.0, 100.0];
const C: &[f64] = &[0.0, 5e-324, 0.5, 3.0, 12.0, 20.0, 28.0, 45.0, 100.0];
const H: &[f64] = &[0.0, 60.0, 78.0, 85.0, 95.0, 180.0, 256.0, 360.0];
const TP: &[f64] = &[0.0, 5e-324, 0.5, 5.0, 12.0, 16.4, 25.0, 45.0, 99.0, 100.0];
const MM: &[f64] = &[0.1, 0.3, 1.0, 2.0, 4.0, 10.0];
const PER_MM: &[f64] = &[-0.0, 0.0, 5e-324, 1e-6, 0.02, 1.0, 20.0, 100.0];

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn no_tissue_that_passes_fails_in_use(
        which in 0_usize..3,
        (l, c, h) in (one_of(L), one_of(C), one_of(H)),
        (tp, at_mm) in (one_of(TP), one_of(MM)),
        keep in 0_u8..16,
    ) {
        let mut file: Tissues = ron_options().from_str(text("tissues.ron")).unwrap();
        // Some of the values stay as they ship, or hardly anything would pass.
        let change = |bit: u8, own: f64, drawn: f64| if keep & bit == 0 { own } else { drawn };
        let piece = match which {
            0 => (&mut file.enamel.colour, &mut file.enamel.tp, &mut file.enamel.at_mm),
            1 => {
                let dentin = &mut file.dentins[1];
                (&mut dentin.colour, &mut dentin.tp, &mut dentin.at_mm)
            }
            _ => {
                let last = file.prepared_teeth.len() - 1;
                let tooth = &mut file.prepared_teeth[last];
                (&mut tooth.colour, &mut tooth.tp, &mut tooth.at_mm)
            }
        };
        let (colour, of_tp, of_mm) = piece;
        *colour = Lch { l: change(1, colour.l, l), c: change(2, colour.c, c), h: change(2, colour.h, h) };
        *of_tp = change(4, *of_tp, tp);
        *of_mm = change(8, *of_mm, at_mm);
        let written = format!("Tissues{}", ron_options().to_string(&file).unwrap());
        if !refused(&checked("tissues.ron", &written)) {
            let own = OwnMaterials { tissues: Some(file), ..OwnMaterials::default() };
            let used = library().with_replaced(own).map_err(|e| e.to_string());
            let used = used.and_then(|library| use_of(&library));
            prop_assert_eq!(used, Ok(()));
        }
    }

    #[test]
    fn no_cement_that_passes_fails_in_use(
        (s, a, b, c) in (one_of(PER_MM), one_of(PER_MM), one_of(PER_MM), one_of(PER_MM)),
        exponent in one_of(&[0.0, 1.0, 4.0]),
    ) {
        let mut file: Cements = ron_options().from_str(text("cements.ron")).unwrap();
        file.cements.truncate(2);
        let cement = &mut file.cements[0];
        (cement.scattering_550, cement.scattering_exponent) = (s, exponent);
        let absorption = &mut cement.absorption;
        (absorption.at_450, absorption.at_550, absorption.at_650) = (a, b, c);
        let written = format!("Cements{}", ron_options().to_string(&file).unwrap());
        if !refused(&checked("cements.ron", &written)) {
            let own = OwnMaterials { cements: Some(file), ..OwnMaterials::default() };
            let used = library().with_replaced(own).map_err(|e| e.to_string());
            let used = used.and_then(|library| use_of(&library));
            prop_assert_eq!(used, Ok(()));
        }
    }
}
