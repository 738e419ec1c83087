//! Mistakes, each said once and at its place.

use super::{VALID, after, fixtures, known, parse};
use second_glance::level::format::DriftTime;
use second_glance::level::load::{CheckReport, check, load_level, parse_level};
use second_glance::level::{KnownMaterials, Severity};
use second_glance::scene::Cure;
use std::fs;
use std::path::Path;

/// The only error after a replacement, pointing at the first difference or at `place`.
fn only_error(old: &str, new: &str, place: &str) -> String {
    let found = after(old, new);
    assert_eq!(found.len(), 1, "`{new}`: {found:?}");
    assert_eq!(found[0].severity, Severity::Error);
    let text = VALID.replacen(old, new, 1);
    let offset = text.find(place).unwrap();
    let line_start = text[..offset].rfind('\n').map_or(0, |newline| newline + 1);
    let expected =
        (text[..offset].matches('\n').count() + 1, text[line_start..offset].chars().count() + 1);
    let position = found[0].position.unwrap();
    assert_eq!((position.line, position.column), expected, "{}", found[0]);
    found[0].message.clone()
}

/// Compares with a text file beside the fixtures, or writes it when blessing.
fn assert_golden(name: &str, report: &CheckReport) {
    let root = format!("{}/", fixtures().display());
    let found = format!("{report}\n").replace(&root, "");
    let path = fixtures().join(name);
    if std::env::var_os("SECOND_GLANCE_BLESS").is_some() {
        fs::write(&path, &found).unwrap();
    }
    let expected = fs::read_to_string(&path).unwrap_or_default().replace("\r\n", "\n");
    assert_eq!(found, expected, "{} differs", path.display());
}

#[test]
fn broken_levels_say_everything() {
    let report = check(&[fixtures().join("broken")], &known());
    assert!(report.levels.is_empty());
    assert_golden("broken.txt", &report);
}

#[test]
fn broken_materials_say_everything() {
    let report = check(&[fixtures().join("broken-materials")], &KnownMaterials::default());
    assert_golden("broken-materials.txt", &report);
}

#[test]
fn one_mistake_gives_one_error_at_its_place() {
    for (old, new, place) in [
        // Shape.
        ("seed: 18446744073709551615", "seed: 18446744073709551616", "18446744073709551616"),
        ("difficulty: 3", "difficulty: 3.5", "3.5"),
        ("graded: true", "graded: 1", "1,\n            thick"),
        ("arch: 10", "arch: ten", "ten"),
        ("0.75,", "\"most\",", "\"most\""),
        ("translucency: high", "translucency: hihg", "hihg"),
        ("[11, 21]", "11", "11,"),
        ("[11, 21]", "[11, x]", "x]"),
        ("margin_mm: 0.05, ", "", "(neck_mm"),
        ("margin_mm: 0.05, ", "margin_mm: 0.05, rim_mm: 0.2, ", "rim_mm"),
        ("(0.85, 1.1)", "(0.85)", "(0.85)"),
        ("(0.85, 1.1)", "[0.85, 1.1]", "[0.85, 1.1]"),
        ("Glance(trials", "Glimpse(trials", "Glimpse"),
        ("difference: (de00", "difference: Gap(de00", "Gap"),
        // Notation.
        ("difficulty: 3,", "difficulty: 3", "\n    seed"),
        ("difficulty: 3,", "difficulty: ,", ",\n    seed"),
        // Content.
        ("0.75", "0.5", "0.5,\n            teeth"),
        ("share: 0.25", "share: 0", "0,\n            /*"),
        ("trials: 20", "trials: 0", "0, exposure"),
        ("trials: 20", "trials: 404", "404"),
        ("exposure_s: 2.5", "exposure_s: 0.2", "0.2, arch"),
        ("(72.0, 78)", "(72.0, 78.0e5)", "78.0e5"),
        ("(72.0, 78)", "(78.0, 72)", "(78.0, 72)"),
        ("h: (84.0", "h: (69.9", "69.9"),
        ("(0.85, 1.1)", "(0.85, NaN)", "NaN"),
        ("sd_de00: 0.7", "sd_de00: -0.1", "-0.1"),
        ("[11, 21]", "[]", "[],"),
        ("arch: 10", "arch: 12", "12)"),
        ("[11, 21]", "[11, 16]", "16]"),
        ("lithium-disilicate", "lithium-silicate", "\"lithium-silicate\""),
        ("cement: \"clear\"", "cement: \"cleer\"", "\"cleer\""),
        ("neck_mm: 0.8", "neck_mm: 0.08", "0.08"),
        ("cement_film_mm: 5e-2", "cement_film_mm: 5e-3", "5e-3"),
        ("(3.0, 6.0)", "(0.2, 6.0)", "0.2, 6.0"),
        ("0.67", "1.01", "1.01"),
        ("id: \"fixture-central\"", "id: \"fixture-lateral\"", "\"fixture-lateral\""),
    ] {
        // A value below both the limits and the margin breaks two rules.
        if new == "neck_mm: 0.08" {
            assert_eq!(after(old, new).len(), 2);
            continue;
        }
        let message = only_error(old, new, place);
        assert!(!message.is_empty());
    }
}

#[test]
fn a_place_in_the_block_is_read_and_its_mistakes_are_explained() {
    let with = |graded: &str| {
        let text = VALID.replacen("graded: true", graded, 1);
        parse_level("levels/fixture-central.ron", &text, &known())
    };
    let read = with("graded: true, block_shift: 0.25").unwrap().value;
    assert_eq!(read.restorations[0].block_shift, Some(0.25));
    assert_eq!(with("graded: true").unwrap().value.restorations[0].block_shift, None);
    for (graded, message) in [
        (
            "graded: true, block_shift: 0.7",
            "block_shift is 0.7 of the tooth's height, outside -0.5 to 0.5 of the tooth's height",
        ),
        (
            "graded: false, block_shift: 0.2",
            "a place in the block matters only when the block is graded",
        ),
    ] {
        let errors = with(graded).unwrap_err().to_string();
        assert!(errors.contains(message), "{errors}");
    }
}

#[test]
fn drift_is_read_and_its_mistakes_are_explained() {
    let with = |drift: &str, share: &str| {
        let text = VALID
            .replacen(
                "\"dark-grey-brown\",",
                &format!("\"dark-grey-brown\",\n            drift: {drift},"),
                1,
            )
            .replacen("darker_share: 0.67", &format!("darker_share: {share}"), 1);
        let place = text.find("drift: ").unwrap();
        let line = text[..place].matches('\n').count() + 1;
        (line, parse_level("levels/fixture-central.ron", &text, &known()))
    };
    let (_, level) = with("(months: 24, cure: light_cured)", "1.0");
    let level = level.unwrap().value;
    assert_eq!(
        level.restorations[0].drift,
        Some(DriftTime { months: 24.0, cure: Cure::LightCured })
    );
    assert_eq!(level.restorations[1].drift, None);
    for (drift, share, message, help) in [
        (
            "(months: 40, cure: light_cured)",
            "1",
            "months is 40 months, outside 1 to 36 months",
            "choose a value from 1 to 36 months",
        ),
        (
            "(months: 24, cure: light)",
            "1",
            "`light` is not a choice of cure",
            "write `light_cured` or `dual_cured`",
        ),
        ("(cure: dual_cured)", "1", "field `months` is missing", "add `months: …`"),
        (
            "(months: 24, cure: dual_cured)",
            "0.67",
            "drift makes restorations darker, but darker_share is 0.67",
            "write `darker_share: 1.0`, or give what drifts a level of its own",
        ),
    ] {
        let (line, level) = with(drift, share);
        let found = level.unwrap_err().diagnostics;
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!((found[0].message.as_str(), found[0].help.as_str()), (message, help));
        assert_eq!(found[0].position.unwrap().line, line);
    }
    // The crown of the fixture is too thick for it.
    let text = VALID
        .replacen(
            "prepared_tooth: \"light\",",
            "prepared_tooth: \"light\", drift: (months: 24, cure: dual_cured),",
            1,
        )
        .replacen("darker_share: 0.67", "darker_share: 1.0", 1);
    let warnings = parse_level("levels/fixture-central.ron", &text, &known()).unwrap().warnings;
    assert_eq!(warnings.len(), 1, "{warnings:?}");
    assert_eq!(warnings[0].message, "drift under 1 mm of ceramic hardly shows");
}

#[test]
fn a_level_that_cannot_be_scheduled_is_refused() {
    let all = "            /* no `teeth`: any in view /* nested */ */\n";
    let one = after(all, "            teeth: [11],\n");
    assert_eq!(one, [], "two teeth are enough");
    let text = VALID.replacen(all, "            teeth: [11],\n", 1).replacen("[11, 21]", "[11]", 1);
    let error = parse(&text).unwrap_err();
    assert_eq!(error.diagnostics.len(), 1, "{error}");
    assert!(error.diagnostics[0].message.contains("at least 2 different teeth"), "{error}");
}

#[test]
fn suggestions_name_what_was_meant() {
    for (old, new, help) in [
        ("exposure_s", "exposure", "did you mean `exposure_s`?"),
        ("lithium-disilicate", "litium-disilicate", "did you mean \"lithium-disilicate\"?"),
        ("LED_B3", "LED-B3", "did you mean `LED_B3`?"),
        ("LED_B3", "LedB3", "did you mean `LED_B3`?"),
        ("dark-grey-brown", "dark-gray-brown", "did you mean \"dark-grey-brown\"?"),
        ("Level(", "level(", "did you mean `Level`?"),
    ] {
        let found = after(old, new);
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].help, help);
    }
}

#[test]
fn files_that_are_no_text_say_so() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::write(at("huge.ron"), " ".repeat((1 << 18) + 1)).unwrap();
    fs::create_dir(at("empty-folder")).unwrap();
    let message = |path: &Path| {
        let error = load_level(path, &known()).unwrap_err();
        assert_eq!(error.diagnostics.len(), 1);
        assert_eq!(error.diagnostics[0].position, None);
        error.diagnostics[0].message.clone()
    };
    assert_eq!(message(&at("missing.ron")), "there is no such file");
    assert_eq!(message(&at("empty-folder")), "this is a folder, not a file");
    assert_eq!(message(&at("huge.ron")), "the file is larger than 262144 bytes");
    #[cfg(unix)]
    assert_eq!(message(Path::new("/dev/zero")), "this is not a regular file");
    let report = check(&[at("empty-folder"), at("missing.ron")], &known());
    assert_eq!(report.errors(), 2);
}

#[test]
fn ids_are_unique_across_files_and_a_file_does_not_clash_with_itself() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    fs::create_dir(at("more")).unwrap();
    fs::write(at("fixture-central.ron"), VALID).unwrap();
    fs::write(at("more/fixture-central.ron"), VALID).unwrap();
    let report = check(&[at("more/fixture-central.ron"), folder.path().into()], &known());
    assert_eq!((report.files, report.errors(), report.levels.len()), (2, 1, 1));
    let clash = &report.diagnostics[0];
    assert_eq!(clash.file, at("fixture-central.ron"));
    assert!(clash.message.starts_with("id \"fixture-central\" is taken by "), "{clash}");
    assert_eq!(clash.position.map(|p| (p.line, p.column)), Some((4, 9)));
}

#[test]
fn ids_of_a_material_file_with_mistakes_still_count() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["ceramics.ron", "cements.ron", "tissues.ron"] {
        let text = fs::read_to_string(fixtures().join("materials").join(name)).unwrap();
        let broken = text.replacen("refractive_index: 1.", "refractive_index: 9.", 1);
        fs::write(folder.path().join(name), broken).unwrap();
    }
    fs::write(folder.path().join("fixture-central.ron"), VALID).unwrap();
    let report = check(&[folder.path().into()], &KnownMaterials::default());
    assert_eq!((report.errors(), report.levels.len()), (3, 1), "{report}");
}
