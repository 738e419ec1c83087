//! Cases from the clinic: what is said about faulty ones, and the level that a sound one makes.

use second_glance::colorimetry::{Lab, Lch, ciede2000};
use second_glance::level::clinic::{CaseExercise, ClinicCase, level_text, parse_case};
use second_glance::level::load::parse_level;
use second_glance::level::{Diagnostic, KnownMaterials, Severity, lower};
use second_glance::material::Library;
use second_glance::scene::Tooth;

const CASE: &str = include_str!("../../fixtures/cases/dark-central.ron");

fn case(library: &Library) -> ClinicCase {
    let loaded = parse_case("dark-central.ron", CASE, library).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(loaded.warnings, []);
    loaded.value
}

/// What is said after a replacement in the sound case.
fn after(library: &Library, old: &str, new: &str) -> Vec<Diagnostic> {
    assert!(CASE.contains(old), "the case has no `{old}`");
    match parse_case("dark-central.ron", &CASE.replacen(old, new, 1), library) {
        Ok(loaded) => loaded.warnings,
        Err(error) => error.diagnostics,
    }
}

#[test]
fn a_case_becomes_its_patient_and_its_room() {
    let library = Library::shipped().unwrap();
    let case = case(&library);
    let prepared = case.prepare(&library).unwrap();
    let body = |number: u8| {
        let tooth = prepared.patient.teeth.iter().find(|t| t.tooth.number() == number).unwrap();
        Lab::from(tooth.body)
    };
    // Measured teeth are as measured, and the restored one shall be as its fellow.
    for (number, l, a, b) in [(11, 74.2, 0.8, 16.9), (22, 72.6, 1.1, 18.2), (21, 74.2, 0.8, 16.9)] {
        let off = ciede2000(Lab { l, a, b }, body(number)).de00;
        assert!(off < 0.2, "{number}: {:?}, {off}", body(number));
    }
    // Canines are darker than centrals (common practice, no source).
    assert!(body(13).l < body(11).l - 2.0);
    // 0.55 and 0.80 mm less a gap of 0.08 mm.
    let ceramic = prepared.space.ceramic();
    assert!((ceramic.neck_mm - 0.47).abs() < 1e-12 && (ceramic.body_mm - 0.72).abs() < 1e-12);
    let entry = library.prepared_tooth_entry(&prepared.prepared_tooth).unwrap();
    let wanted = Lab { l: 60.0, a: 4.0, b: 17.0 };
    assert!(ciede2000(wanted, Lab::from(entry.colour)).de00 < 0.2, "{}", entry.name);
}

#[test]
fn a_case_writes_a_level_that_plays() {
    let library = Library::shipped().unwrap();
    let mut case = case(&library);
    let known = KnownMaterials::of(&library);
    for (exercise, name) in [(CaseExercise::Bench, "bench"), (CaseExercise::Blend, "blend")] {
        case.exercise = exercise;
        let level = case.level(&library).unwrap();
        let text = level_text(&level, "").unwrap();
        let loaded = parse_level("dark-central.ron", &text, &known)
            .unwrap_or_else(|e| panic!("{e}\n{text}"));
        assert_eq!((loaded.warnings.len(), loaded.value.exercise.name()), (0, name), "{text}");
        assert!(loaded.value.restorations.iter().all(|kind| kind.teeth == Some(vec![21])));
    }
    case.exercise = CaseExercise::Glance;
    let level = case.level(&library).unwrap();
    let text = level_text(&level, "from dark-central.ron").unwrap();
    let loaded =
        parse_level("dark-central.ron", &text, &known).unwrap_or_else(|e| panic!("{e}\n{text}"));
    assert_eq!(loaded.warnings, [], "{text}");
    assert_eq!(loaded.value, level);
    let plan = lower(&level, &library, level.seed, None).unwrap();
    let restored: Vec<_> =
        plan.trials.iter().filter_map(|t| t.case.restoration().cloned()).collect();
    assert_eq!(restored.len(), 6);
    let both = [Tooth::new(11).unwrap(), Tooth::new(21).unwrap()];
    assert!(restored.iter().all(|r| both.contains(&r.tooth)));
    assert!(restored.iter().all(|r| r.prepared_tooth.starts_with("L60.0")), "{restored:?}");
    for trial in &plan.trials {
        let tooth = trial.case.patient.teeth.iter().find(|t| t.tooth.number() == 11).unwrap();
        let off = ciede2000(Lab { l: 74.2, a: 0.8, b: 16.9 }, Lab::from(tooth.body)).de00;
        assert!(off < 0.2, "{:?}", tooth.body);
    }
}

#[test]
fn faults_of_a_case_are_said_where_they_stand() {
    let library = Library::shipped().unwrap();
    for (old, new, severity, place, words) in [
        ("L: 60.0", "L: 130.0", Severity::Error, "130.0", "outside 0 to 100"),
        ("b: 17.0", "b: 90.0", Severity::Error, "(L: 60.0", "no surface has"),
        // A green tooth: a surface can have it, dentin cannot.
        ("a: 4.0", "a: -22.0", Severity::Error, "(L: 60.0", "a prepared tooth cannot have"),
        (
            "a: 0.8, b: 16.9",
            "a: -9.0, b: 16.9",
            Severity::Error,
            "(L: 74.2",
            "cannot have this colour; the nearest is L",
        ),
        ("L: 72.6", "L: 40.0", Severity::Error, "40.0", "natural teeth lie within 55 to 90"),
        (
            "neck_mm: 0.55",
            "neck_mm: 0.12",
            Severity::Error,
            "0.12",
            "leaves 0.04 mm of ceramic, thinner than 0.1 mm",
        ),
        (
            "cement_gap_mm: 0.08",
            "cement_gap_mm: 0.8",
            Severity::Error,
            "cement_gap_mm: 0.8",
            "outside 0.01 to 0.2",
        ),
        (
            "tooth: 21,",
            "tooth: 31,",
            Severity::Error,
            "31",
            "tooth 31 is not one of the upper teeth",
        ),
        ("tooth: 22", "tooth: 21", Severity::Error, "21, colour", "is the one to be restored"),
        (
            "tooth: 11",
            "tooth: 12",
            Severity::Error,
            "21,",
            "nothing says which colour tooth 21 shall have",
        ),
        ("\"clear\"", "\"cler\"", Severity::Error, "\"cler\"", "no cement has the id"),
        (
            "\"lithium-disilicate\"",
            "\"glass\"",
            Severity::Error,
            "\"glass\"",
            "no ceramic has the id",
        ),
        ("body_mm: 0.80", "body_mm: 1.80", Severity::Warning, "1.80", "deep for a veneer"),
    ] {
        let found = after(&library, old, new);
        let text = CASE.replacen(old, new, 1);
        let said = found.iter().find(|d| d.message.contains(words));
        let Some(said) = said else { panic!("`{words}` is not in {found:#?}") };
        assert_eq!(said.severity, severity, "{said}");
        let offset = text.find(place).unwrap();
        let line = text[..offset].matches('\n').count() + 1;
        assert_eq!(said.position.unwrap().line, line, "{said}");
    }
    // Several at once are all named.
    let text = CASE.replacen("neck_mm: 0.55", "neck_mm: 0.12", 1).replacen("\"clear\"", "\"x\"", 1);
    let error = parse_case("c.ron", &text, &library).unwrap_err();
    assert_eq!(error.diagnostics.len(), 2, "{error}");
    let error = parse_case("c.ron", "Level()", &library).unwrap_err().to_string();
    assert!(error.contains("holds `Level`, not `ClinicCase`"), "{error}");
    assert!(parse_case("c.ron", "", &library).is_err());
}

#[test]
fn the_nearest_colour_is_used_and_said() {
    let library = Library::shipped().unwrap();
    // Just beyond what the shipped enamel and dentin can be.
    let found = after(&library, "L: 74.2, a: 0.8, b: 16.9", "L: 88.0, a: 0.0, b: 26.0");
    let said = found.iter().find(|d| d.message.contains("the nearest is L")).unwrap();
    assert!(said.message.contains("ΔE00"), "{said}");
}

#[test]
fn a_colour_is_an_id_in_levels_too() {
    let library = Library::shipped().unwrap();
    let colour = Lch { l: 60.0, c: 17.5, h: 77.0 };
    let id = second_glance::material::own_tooth::id(colour);
    let text = include_str!("../../fixtures/levels/fixture-central.ron");
    let known = KnownMaterials::of(&library);
    let mut own = String::new();
    for (index, part) in text.split("prepared_tooth: \"").enumerate() {
        if index > 0 {
            own.push_str("prepared_tooth: \"");
            own.push_str(&id);
            own.push_str(&part[part.find('"').unwrap()..]);
        } else {
            own.push_str(part);
        }
    }
    let found = parse_level("fixture-central.ron", &own, &known);
    let messages = found.err().map_or_else(Vec::new, |e| e.diagnostics);
    assert!(!messages.iter().any(|d| d.message.contains("prepared tooth")), "{messages:?}");
}
