//! Any text at all: none panics, none is answered late.

use super::{VALID, fixtures, parse};
use proptest::prelude::*;
use second_glance::level::load::{parse_cements, parse_ceramics, parse_level, parse_tissues};
use second_glance::level::{KnownMaterials, Severity};
use std::fs;

/// All parsers on one text; what they answer does not matter here, that they answer does.
fn feed_all(text: &str) {
    let known = KnownMaterials::default();
    for error in [
        parse_level("x.ron", text, &known).err(),
        parse_ceramics("x.ron", text).err(),
        parse_cements("x.ron", text).err(),
        parse_tissues("x.ron", text).err(),
    ] {
        let Some(error) = error else { continue };
        let errors = error.diagnostics.iter().filter(|d| d.severity == Severity::Error);
        assert!(errors.count() > 0, "a refused file must say why: {text}");
        assert!(!error.to_string().is_empty());
    }
}

#[test]
fn warnings_never_crowd_out_an_error() {
    let (start, rest) = VALID.split_once("    restorations: [").unwrap();
    let (kinds, end) = rest.split_once("\n    ],").unwrap();
    let thick = kinds.replace("body_mm: 0.5", "body_mm: 1.3").repeat(300);
    let text = format!("{start}    restorations: [{thick}\n    ],{end}");
    let diagnostics = parse(&text).unwrap_err().diagnostics;
    // The shares sum to 300.
    assert_eq!(diagnostics.iter().filter(|d| d.severity == Severity::Error).count(), 1);
    assert_eq!(diagnostics.iter().filter(|d| d.severity == Severity::Warning).count(), 200);
}

#[test]
fn a_large_file_full_of_mistakes_is_answered_soon() {
    // No stopwatch: this test hangs when problems are not capped or work grows faster than size.
    for text in [
        ",".repeat(100_000),
        "a: 1, ".repeat(30_000),
        "1,".repeat(100_000),
        "(share: 2), ".repeat(15_000),
        "/**/ a ".repeat(28_000),
    ] {
        feed_all(&format!("Level({text})"));
        feed_all(&format!("Level(restorations: [{text}])"));
        feed_all(&format!("Ceramics(classes: [{text}], shades: (lattice: [{text}]))"));
    }
}

#[test]
fn deep_nesting_is_refused_not_survived_by_luck() {
    for open in ["(", "[", "{", "a(", "(a:", "Some(", "/*"] {
        feed_all(&open.repeat(100_000));
        feed_all(&format!("Level({}", open.repeat(100_000)));
    }
}

#[test]
fn every_truncation_is_refused_with_a_reason() {
    let end = VALID.trim_end().len();
    for (length, _) in VALID.char_indices().filter(|(length, _)| *length < end) {
        let error = parse(&VALID[..length]).unwrap_err();
        assert!(!error.diagnostics.is_empty(), "cut at {length}");
    }
}

fn valid_files() -> Vec<String> {
    let read = |name: &str| fs::read_to_string(fixtures().join(name)).unwrap();
    vec![
        VALID.to_owned(),
        read("materials/ceramics.ron"),
        read("materials/cements.ron"),
        read("materials/tissues.ron"),
    ]
}

/// Fragments that matter to the notation.
fn fragment() -> impl Strategy<Value = String> {
    prop_oneof![
        "[()\\[\\]{},:=\"'\\\\#/*+.r_\\-b0-9 \n]{1,3}",
        "\\PC{1,2}",
        Just("r#\"".to_owned()),
        Just("/*".to_owned()),
        Just("None".to_owned()),
        Just("Some(".to_owned()),
        Just("1e999".to_owned()),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn arbitrary_text_never_panics(text in "\\PC{0,200}") {
        feed_all(&text);
        feed_all(&format!("Level({text})"));
    }

    #[test]
    fn notation_soup_never_panics(parts in prop::collection::vec(fragment(), 0..60)) {
        feed_all(&parts.concat());
        feed_all(&format!("Ceramics(classes: [{}", parts.concat()));
    }

    #[test]
    fn mutated_files_never_panic(
        file in 0_usize..4,
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0_usize..30, fragment()), 1..5),
    ) {
        let mut text = valid_files().swap_remove(file);
        for (place, removed, inserted) in edits {
            let start = text.floor_char_boundary(place.index(text.len() + 1));
            let end = text.floor_char_boundary((start + removed).min(text.len())).max(start);
            text.replace_range(start..end, &inserted);
        }
        feed_all(&text);
    }
}
