//! What is accepted: what ships, what may be left out, and what is only warned of.

use super::{VALID, after, fixtures, known, parse};
use second_glance::colorimetry::Illuminant;
use second_glance::level::format::Exercise;
use second_glance::level::load::{check, load_level};
use second_glance::level::{KnownMaterials, Severity};
use second_glance::scene::{Framing, Lamp, Staging};
use std::collections::BTreeSet;
use std::path::Path;

#[test]
fn a_valid_level_arrives_whole() {
    let loaded = load_level(&fixtures().join("levels/fixture-central.ron"), &known()).unwrap();
    assert_eq!(loaded.warnings, []);
    let level = loaded.value;
    assert_eq!(level.seed, u64::MAX);
    assert_eq!(level.exercise, Exercise::Glance { trials: 20, exposure_s: 2.5, arch: 10 });
    assert_eq!(level.light, Illuminant::LedB3);
    assert_eq!(level.teaches, "Value first. A \"darker\" tooth is found at a glance.");
    assert_eq!(level.patient.central.l, (72.0, 78.0).into());
    assert_eq!(level.restorations[0].teeth, Some(vec![11, 21]));
    assert_eq!(level.restorations[1].teeth, None);
    assert_eq!(level.restorations[1].ceramic, "zirconia");
    assert_eq!(level.restorations[1].cement_film_mm, 0.05);
}

#[test]
fn valid_folders_pass() {
    let report = check(
        &[fixtures().join("levels"), fixtures().join("materials")],
        &KnownMaterials::default(),
    );
    assert_eq!(report.to_string(), "4 files: 0 errors, 0 warnings");
    assert_eq!(report.levels.len(), 1);
}

#[test]
fn every_exercise_has_an_easy_and_a_hard_level_that_say_what_they_teach() {
    let levels = crate::shared::levels::shipped_levels();
    let exercises: BTreeSet<&str> = levels.iter().map(|level| level.exercise.name()).collect();
    assert_eq!(exercises.len(), 10, "{exercises:?}");
    for exercise in exercises {
        let of = || levels.iter().filter(|level| level.exercise.name() == exercise);
        let difficulties: Vec<u8> = of().map(|level| level.difficulty).collect();
        // As the app words them: up to 4 fairly easy at most, from 7 on hard at least.
        assert!(difficulties.iter().any(|d| *d <= 4), "{exercise}: {difficulties:?}");
        assert!(difficulties.iter().any(|d| *d >= 7), "{exercise}: {difficulties:?}");
    }
    let teaches: BTreeSet<&str> = levels.iter().map(|level| level.teaches.trim()).collect();
    assert_eq!(teaches.len(), levels.len(), "two levels teach the same");
    assert!(teaches.iter().all(|text| text.len() > 20));
}

#[test]
fn shipped_files_pass() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folders = [root.join("levels"), root.join("assets/materials")];
    let report = check(&folders, &KnownMaterials::default());
    assert_eq!(report.errors(), 0, "{report}");
    assert!(report.levels.len() >= 6, "{} levels", report.levels.len());
}

#[test]
fn odd_but_legal_things_are_warnings() {
    for (old, new) in [("body_mm: 0.5", "body_mm: 1.3"), ("neck_mm: 0.8", "neck_mm: 0.7")] {
        let found = after(old, new);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].severity, Severity::Warning);
    }
    // The fixture puts high translucency over the darkest prepared tooth: that is taught, not odd.
    assert!(parse(VALID).is_ok());
}

#[test]
fn line_ends_and_byte_order_marks_change_nothing() {
    let level = parse(VALID).unwrap();
    assert_eq!(parse(&VALID.replace('\n', "\r\n")).unwrap(), level);
    assert_eq!(parse(&format!("\u{feff}{VALID}")).unwrap(), level);
    let broken = VALID.replace("arch: 10", "arch: 9");
    let positions = |text: &str| parse(text).unwrap_err().diagnostics[0].position;
    assert_eq!(positions(&broken), positions(&broken.replace('\n', "\r\n")));
    assert_eq!(positions(&broken), positions(&format!("\u{feff}{broken}")));
}

#[test]
fn what_ron_writes_is_read_back() {
    let level = parse(VALID).unwrap();
    let pretty = ron::ser::PrettyConfig::new().struct_names(true);
    let text = ron::ser::to_string_pretty(&level, pretty).unwrap();
    // `ron` writes `Some(…)` and enables nothing: both ways of writing options are read.
    assert!(text.contains("Some("));
    assert_eq!(parse(&text).unwrap(), level);
}

#[test]
fn framing_and_lamp_may_be_left_out_and_hidden_teeth_are_refused() {
    let plain = parse(VALID).unwrap();
    assert_eq!(plain.staging(), Staging { framing: Framing::Retracted, lamp: Lamp::SoftBoxes });
    let staged = |framing: &str| {
        let light = VALID.lines().find(|line| line.trim_start().starts_with("light:")).unwrap();
        VALID.replacen(light, &format!("{light}\n    framing: {framing}, lamp: ring,"), 1)
    };
    let close = parse(&staged("close_up").replace("arch: 10", "arch: 6")).unwrap();
    assert_eq!(close.staging(), Staging { framing: Framing::CloseUp, lamp: Lamp::Ring });
    // Ten teeth do not fit among six; the patient's left hides the right.
    for framing in ["close_up", "posterior"] {
        let error = parse(&staged(framing)).unwrap_err();
        assert!(error.diagnostics[0].message.contains("hides teeth"), "{:?}", error.diagnostics);
    }
    assert!(parse(&staged("sideways")).is_err());
}
