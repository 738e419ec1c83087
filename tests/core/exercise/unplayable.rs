//! Levels that no round can be laid out from are refused with the reason.

use super::playing::levels_of;
use second_glance::level::KnownMaterials;
use second_glance::level::load::parse_level;
use second_glance::material::Library;

/// What `check` says of a shipped level after one change.
fn complaints(id: &str, old: &str, new: &str) -> Vec<String> {
    let library = Library::shipped().unwrap();
    let mut known = KnownMaterials::default();
    known.add_ceramics(library.ceramics());
    known.add_cements(library.cements());
    known.add_tissues(library.tissues());
    let path = format!("{}/levels/{id}.ron", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(path).unwrap();
    assert!(old.is_empty() || text.contains(old), "{id} has no {old:?}");
    match parse_level(format!("levels/{id}.ron"), &text.replacen(old, new, 1), &known) {
        Ok(_) => Vec::new(),
        Err(error) => error.diagnostics.into_iter().map(|found| found.message).collect(),
    }
}

#[test]
fn levels_that_cannot_be_played_are_refused() {
    for level in ["ladder", "match", "verdict", "two_lights"].map(levels_of).into_iter().flatten() {
        assert_eq!(complaints(&level.id, "", ""), [""; 0], "{}", level.id);
    }
    for (id, old, new, wanted) in [
        (
            "value-ladder",
            "step: (2.5, 4.5)",
            "step: (2.5, 8.0)",
            "patches reach from L 54.0 to L 93.0",
        ),
        ("value-ladder", "patches: 5", "patches: 6", "patches is 6, but must be 5 or 7"),
        ("value-ladder", "light: D65", "light: FL11", "patches are screen colours under D65"),
        ("value-ladder", "light: D65,", "light: D65, restorations: [],\n", ""),
        ("nearest-tab", "spacing_de00: 3.0", "spacing_de00: 0.2", "outside 0.5 to 6"),
        ("under-the-bulb", "second_light: A", "second_light: D65", "both lights are D65"),
        (
            "under-the-bulb",
            "lithium-disilicate-orange-absorber",
            "lithium-disilicate-orange",
            "no ceramic has the id",
        ),
        ("at-a-glance", "exposure_s: 1.0", "exposure_s: 0.1", "outside 0.25 to 8"),
    ] {
        let found = complaints(id, old, new);
        if wanted.is_empty() {
            assert_eq!(found, [""; 0], "{id} {new}");
        } else {
            assert!(found.iter().any(|m| m.contains(wanted)), "{id} {new}: {found:?}");
        }
    }
    // Patches and tabs stand on no tooth; options need something to stand on.
    let kind = "restorations: [( share: 1.0, preparation: veneer, ceramic: \"zirconia\", \
                translucency: low, graded: false, thickness_mm: (margin_mm: 0.1, neck_mm: 0.4, \
                body_mm: 0.6, incisal_mm: 0.8), cement: \"clear\", cement_film_mm: 0.05, \
                prepared_tooth: \"light\" )],\n)";
    let found = complaints("seven-fine-steps", "light: D65,\n)", &format!("light: D65,\n{kind}"));
    assert_eq!(found, ["restorations is given, but `ladder` has none"]);
    let without = complaints("at-a-glance", "restorations: [", "teeth: [");
    assert!(without.iter().any(|m| m.contains("restorations")), "{without:?}");
}
