//! The form for cases from the clinic: every fault is said by field, and a sound form is a case.

use second_glance::level::Severity;
use second_glance::level::clinic::{CaseField, CaseForm, CheckedForm};
use second_glance::material::Library;
use second_glance::scene::{Framing, Tooth};

fn with(field: CaseField, text: &str) -> CaseForm {
    let mut form = CaseForm::example();
    form.set_text(field, text);
    form
}

fn row_of(form: &CaseForm, tooth: u8) -> usize {
    form.neighbours.iter().position(|row| row.tooth.number() == tooth).unwrap()
}

#[track_caller]
fn says(checked: &CheckedForm, severity: Severity, path: &str, words: &str) {
    let found = checked.findings.iter().find(|f| f.path == path && f.message.contains(words));
    assert!(found.is_some_and(|f| f.severity == severity && !f.help.is_empty()), "{checked:?}");
}

#[test]
fn the_example_is_sound_and_a_blank_form_is_asked_for_what_it_lacks() {
    let library = Library::shipped().unwrap();
    let sound = CaseForm::example().check(&library);
    assert_eq!(sound.findings, []);
    let case = sound.case.unwrap();
    assert_eq!((case.id.as_str(), case.tooth, case.teeth.len()), ("discoloured-central", 21, 2));
    let blank = CaseForm::default().check(&library);
    assert!(blank.case.is_none());
    for path in ["title", "prepared_tooth.L", "space.reduction.neck_mm"] {
        assert!(blank.findings.iter().any(|f| f.path == path), "{path}: {blank:?}");
    }
}

#[test]
fn faults_are_said_at_their_field() {
    let library = Library::shipped().unwrap();
    let example = CaseForm::example();
    let fellow = row_of(&example, 11);
    let error = Severity::Error;
    for (field, text, path, words) in [
        (CaseField::Title, " ", "title", "no title"),
        (CaseField::Prepared(0), "dark", "prepared_tooth.L", "not a number"),
        (CaseField::Prepared(0), "", "prepared_tooth.L", "nothing is written"),
        (CaseField::Prepared(0), "130", "prepared_tooth.L", "outside 0 to 100"),
        // A green tooth: a surface can have it, dentin cannot.
        (CaseField::Prepared(1), "-22", "prepared_tooth", "cannot have this colour"),
        (CaseField::Neighbour(fellow, 0), "20", "teeth[0].colour.L", "natural teeth lie"),
        (CaseField::Reduction(1), "0.1", "space.reduction.neck_mm", "leaves 0.02 mm"),
        (CaseField::Reduction(2), "9", "space.reduction.body_mm", "outside 0.05 to 3.5"),
        (CaseField::CementGap, "1", "space.cement_gap_mm", "outside 0.01 to 0.2"),
        (CaseField::CementGap, "inf", "space.cement_gap_mm", "not a number"),
    ] {
        let checked = with(field, text).check(&library);
        assert!(checked.case.is_none(), "{field:?} {text}");
        says(&checked, error, path, words);
    }
    let mut hidden = CaseForm::example();
    hidden.framing = Framing::Posterior;
    says(&hidden.check(&library), error, "framing", "hides tooth 21");
    let mut nothing = CaseForm::example();
    nothing.ceramics.clear();
    says(&nothing.check(&library), error, "ceramics", "empty");
    let deep = with(CaseField::Reduction(3), "2.1").check(&library);
    says(&deep, Severity::Warning, "space.reduction.incisal_mm", "deep for a veneer");
    assert!(deep.case.is_some(), "unusual, yet it can be used");
}

#[test]
fn a_decimal_comma_and_spaces_are_understood() {
    let library = Library::shipped().unwrap();
    let case = with(CaseField::Prepared(0), " 58,5 ").check(&library).case.unwrap();
    assert_eq!(case.prepared_tooth.l, 58.5);
}

#[test]
fn without_a_measured_fellow_a_wanted_colour_is_asked_for() {
    let library = Library::shipped().unwrap();
    let mut form = CaseForm::example();
    let fellow = row_of(&form, 11);
    for part in 0..3 {
        form.set_text(CaseField::Neighbour(fellow, part), "");
    }
    says(&form.check(&library), Severity::Error, "tooth", "nothing says which colour");
    for (part, text) in ["74.0", "1.0", "17.0"].into_iter().enumerate() {
        form.set_text(CaseField::Target(part), text);
    }
    let case = form.check(&library).case.unwrap();
    assert_eq!(case.target.map(|t| t.l), Some(74.0));
}

#[test]
fn what_was_typed_for_a_tooth_stays_with_it() {
    let mut form = CaseForm::example();
    form.set_tooth(Tooth::new(12).unwrap());
    // Its fellow comes first, and 21 is a neighbour now.
    assert_eq!(form.neighbours[0].tooth.number(), 22);
    assert!(form.neighbours.iter().all(|row| row.tooth.number() != 12));
    let typed = |form: &CaseForm, tooth| form.neighbours[row_of(form, tooth)].colour.l.clone();
    assert_eq!((typed(&form, 11), typed(&form, 22)), ("74.2".to_owned(), "72.6".to_owned()));
    form.set_tooth(Tooth::new(21).unwrap());
    assert_eq!(typed(&form, 11), "74.2");
}

#[test]
fn ids_follow_from_titles() {
    for (title, id) in [
        ("Discoloured central", "discoloured-central"),
        ("  Zahn 21, März ", "zahn-21-m-rz"),
        ("…", "case"),
        ("A--b", "a-b"),
    ] {
        assert_eq!(with(CaseField::Title, title).id(), id);
    }
    assert!(with(CaseField::Title, &"long ".repeat(40)).id().len() <= 64);
}
