//! What the command `check` says of files is what comes of them in use.

use crate::stage::library;
use second_glance::colorimetry::Lch;
use second_glance::level::Severity;
use second_glance::level::clinic::{
    CaseExercise, CaseForm, CeramicChoice, ClinicCase, case_text, level_text,
};
use second_glance::level::format::ron_options;
use second_glance::material::format::{
    MATERIAL_FORMAT, MeasuredCeramics, MeasuredClass, MeasuredPiece,
};
use second_glance::play::content::shipped::{check, library as library_of};
use second_glance::scene::Translucency;
use second_glance::spectrum::{FIRST_NM, RegularSamples, STEP_NM, Spectrum};
use std::path::Path;

const OWN: &str = "own-disc";
/// The file of the level or case below: its name is its id.
const ASKED: &str = "discoloured-central.ron";

/// The text of a file with one measured ceramic in one shade.
pub(crate) fn own_disc() -> String {
    let shade = Lch { l: 74.0, c: 15.0, h: 90.0 };
    let medium = library().ceramic("lithium-disilicate", Translucency::Medium, shade).unwrap();
    let samples = |spectrum: &Spectrum| RegularSamples {
        first_nm: FIRST_NM,
        step_nm: STEP_NM,
        values: spectrum.bands().to_vec(),
    };
    let piece = MeasuredPiece {
        translucency: Translucency::Medium,
        shade,
        absorption: samples(&medium.absorption),
        reduced_scattering: samples(&medium.reduced_scattering),
    };
    let class = MeasuredClass {
        id: OWN.to_owned(),
        name: "own disc".to_owned(),
        refractive_index: 1.53,
        anisotropy: 0.7,
        pieces: vec![piece],
        basis: "as designed".to_owned(),
    };
    let file = MeasuredCeramics { format: MATERIAL_FORMAT, classes: vec![class] };
    format!("MeasuredCeramics{}\n", ron_options().to_string(&file).unwrap())
}

/// A case that offers one shade of one ceramic alone, of which no question about options can be
/// asked.
fn case_of_one_shade() -> ClinicCase {
    let mut case = CaseForm::example().check(library()).case.unwrap();
    case.ceramics =
        vec![CeramicChoice { class: OWN.to_owned(), translucency: Translucency::Medium }];
    case.exercise = CaseExercise::Blend;
    case
}

/// Errors in files of these names and texts, checked together.
fn errors(files: &[(&str, &str)]) -> Vec<String> {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in files {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    let report = check(&[folder.path().to_owned()], None, None).unwrap();
    let errors = report.diagnostics.into_iter().filter(|d| d.severity == Severity::Error);
    errors.map(|d| format!("{}: {}", d.file.display(), d.message)).collect()
}

fn write(folder: &Path, name: &str, text: &str) {
    std::fs::write(folder.join(name), text).unwrap();
}

#[test]
fn a_level_or_case_that_cannot_be_laid_out_is_refused_when_it_is_checked() {
    let own = own_disc();
    assert_eq!(errors(&[("own.ron", &own)]), Vec::<String>::new());
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "own.ron", &own);
    let with_own = library_of(Some(folder.path()), None).unwrap();
    let mut case = case_of_one_shade();
    let level = |case: &ClinicCase| level_text(&case.level(&with_own).unwrap(), "").unwrap();
    for text in [case_text(&case).unwrap(), level(&case)] {
        let said = errors(&[("own.ron", &own), (ASKED, &text)]);
        let [fault] = &said[..] else { panic!("{said:#?}") };
        assert!(fault.contains(ASKED) && fault.contains("as it is stated"), "{fault}");
    }
    // On the bench the same case is a question.
    case.exercise = CaseExercise::Bench;
    for text in [case_text(&case).unwrap(), level(&case)] {
        assert_eq!(errors(&[("own.ron", &own), (ASKED, &text)]), Vec::<String>::new());
    }
}

#[test]
fn a_material_that_cannot_be_used_is_refused_when_it_is_checked_and_when_it_is_named() {
    let tissues = include_str!("../../../assets/materials/tissues.ron");
    let old = "tp: 14, at_mm: 1.0";
    assert!(tissues.contains(old));
    let thin = tissues.replacen(old, "tp: 14, at_mm: 0.1", 1);
    let words = "outside 0.3 to 4 mm";
    assert_eq!(errors(&[("tissues.ron", tissues)]), Vec::<String>::new());
    let said = errors(&[("tissues.ron", &thin)]);
    assert!(said.iter().any(|fault| fault.contains(words)), "{said:?}");
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), "tissues.ron", tissues);
    assert!(library_of(Some(folder.path()), None).is_ok());
    write(folder.path(), "tissues.ron", &thin);
    let error = library_of(Some(folder.path()), None).err().map(|error| error.to_string());
    assert!(error.as_ref().is_some_and(|error| error.contains(words)), "{error:?}");
}

#[test]
fn a_course_that_its_forms_cannot_decide_is_refused_when_it_is_checked() {
    let course = include_str!("../../../assets/courses/student-practical.ron");
    assert!(course.contains("fine_de00: 1.2"));
    assert_eq!(errors(&[("student-practical.ron", course)]), Vec::<String>::new());
    let said = errors(&[(
        "student-practical.ron",
        &course.replacen("fine_de00: 1.2", "fine_de00: 0.4", 1),
    )]);
    assert!(said.iter().any(|fault| fault.contains("nobody can reach a class")), "{said:?}");
}
