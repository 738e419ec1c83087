//! Forms for cases from the clinic: a case that was written is opened again without losing
//! anything.

use second_glance::level::clinic::{
    CaseField, CaseForm, ClinicCase, case_files, case_text, has_comments, open_case, parse_case,
};
use second_glance::material::Library;
use second_glance::scene::Tooth;
use std::fs;

const BY_HAND: &str = include_str!("../../fixtures/cases/dark-central.ron");

/// The case of a form that has nothing wrong.
fn case_of(form: &CaseForm, library: &Library) -> ClinicCase {
    let checked = form.check(library);
    checked.case.unwrap_or_else(|| panic!("{:#?}", checked.findings))
}

/// From form to file and back.
fn reopened(form: &CaseForm, library: &Library) -> CaseForm {
    let text = case_text(&case_of(form, library)).unwrap();
    let loaded = parse_case("case.ron", &text, library).unwrap_or_else(|e| panic!("{e}\n{text}"));
    CaseForm::of(&loaded.value).unwrap()
}

#[test]
fn a_form_comes_back_from_its_file_as_it_was() {
    let library = Library::shipped().unwrap();
    let form = CaseForm::example();
    assert_eq!(reopened(&form, &library), form);
    // Everything that can be set, at other values.
    let mut other = CaseForm::example();
    other.set_tooth(Tooth::new(12).unwrap());
    for (field, text) in [
        (CaseField::Title, "Zweiter Versuch: „Kante“ \"oben\""),
        (CaseField::Name, "second-visit"),
        (CaseField::Target(0), "71.25"),
        (CaseField::Target(1), "-0.5"),
        (CaseField::Target(2), "18.0"),
        (CaseField::Prepared(0), "58.125"),
        (CaseField::Reduction(0), "0.35"),
        (CaseField::CementGap, "0.055"),
    ] {
        other.set_text(field, text);
        assert_eq!(other.text(field), text);
    }
    other.ceramics.reverse();
    other.ceramics.pop();
    other.cement = library.cements().cements.last().unwrap().id.clone();
    other.preparation = second_glance::scene::Preparation::Crown;
    other.arch = 8;
    other.light = second_glance::colorimetry::Illuminant::A;
    other.framing = second_glance::scene::Framing::Conversation;
    other.exercise = second_glance::level::clinic::CaseExercise::Blend;
    other.gingiva = Some(library.tissues().gingivae.last().unwrap().id.clone());
    other.seed = Some(u64::MAX);
    assert_eq!(reopened(&other, &library), other);
    assert_eq!(case_of(&other, &library).id, "second-visit");
}

#[test]
fn a_case_comes_back_from_its_form_as_it_was() {
    let library = Library::shipped().unwrap();
    let more = BY_HAND
        .replace("arch: 8,", "arch: 8, framing: close_up, gingiva: \"pink\", seed: 12,")
        .replace("L: 60.0", "L: 60.01234567890123")
        .replace("\"pink\"", &format!("\"{}\"", library.tissues().gingivae[0].id));
    let case = parse_case("c.ron", &more, &library).unwrap_or_else(|e| panic!("{e}")).value;
    let form = CaseForm::of(&case).unwrap();
    // The id is not what the title would give, so it is kept as a name.
    assert_eq!((form.name.as_str(), form.id().as_str()), ("dark-central", "dark-central"));
    assert_eq!(case_of(&form, &library), case);
    // A framing that was left out is written as the one that is then used, and nothing else
    // changes.
    let mut plain = parse_case("c.ron", BY_HAND, &library).unwrap().value;
    let form = CaseForm::of(&plain).unwrap();
    plain.framing = Some(second_glance::scene::Framing::Retracted);
    assert_eq!(case_of(&form, &library), plain);
}

#[test]
fn comments_are_seen_and_what_only_looks_like_one_is_not() {
    assert!(has_comments(BY_HAND));
    let library = Library::shipped().unwrap();
    let mut form = CaseForm::example();
    form.set_text(CaseField::Title, "a // b /* c */");
    let written = case_text(&case_of(&form, &library)).unwrap();
    assert!(written.contains("a // b /* c */") && !has_comments(&written), "{written}");
    for commented in [
        written.replacen("format", "/* one /* within */ */ format", 1),
        format!("{written}// after it"),
        format!("\u{feff}// before it\n{written}"),
        written.replacen("arch", "// 10 in view\n    arch", 1),
    ] {
        assert!(parse_case("c.ron", &commented, &library).is_ok(), "{commented}");
        assert!(has_comments(&commented), "{commented}");
    }
    // What cannot be read to its end might hold some.
    assert!(has_comments("ClinicCase(title: \"x"));
}

#[test]
fn cases_of_a_folder_are_listed_and_faulty_ones_say_where() {
    let library = Library::shipped().unwrap();
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(case_files(&folder.path().join("none"), "cases"), Ok(Vec::new()));
    assert_eq!(case_files(folder.path(), "cases"), Ok(Vec::new()));
    let cases = folder.path().join("cases");
    fs::create_dir(&cases).unwrap();
    let write = |name: &str, text: &str| fs::write(folder.path().join(name), text).unwrap();
    let level = include_str!("../../../../levels/value-ladder.ron");
    write("value-ladder.ron", level);
    write("by-hand.ron", BY_HAND);
    write("cases/level.ron", level);
    write("cases/broken.ron", &BY_HAND.replace("cement: \"clear\",", "cement \"clear\","));
    write("cases/notes.txt", "no case");
    let listed = case_files(folder.path(), "cases").unwrap();
    let shown: Vec<_> = listed
        .iter()
        .map(|f| (f.path.file_name().unwrap().to_str().unwrap(), f.title.as_deref()))
        .collect();
    let title = Some("Discoloured central");
    assert_eq!(shown, [("by-hand.ron", title), ("broken.ron", title), ("level.ron", None)]);
    // The line of the fault, as every file of the program says it.
    let line = BY_HAND.lines().position(|line| line.contains("cement:")).unwrap() + 1;
    let said = open_case(&cases.join("broken.ron"), &library).unwrap_err().to_string();
    assert!(said.contains(&format!("broken.ron:{line}:")), "{said}");
    // What may be left out is not asked for beside it.
    assert!(!said.contains("exercise"), "{said}");
    let said = open_case(&cases.join("level.ron"), &library).unwrap_err().to_string();
    let starts = level.lines().position(|line| line.starts_with("Level")).unwrap() + 1;
    assert!(said.contains(&format!("level.ron:{starts}:1")), "{said}");
    assert!(said.contains("holds `Level`, not `ClinicCase`"), "{said}");
    let opened = open_case(&folder.path().join("by-hand.ron"), &library).unwrap();
    assert_eq!(opened.text, BY_HAND);
}
