//! The form typed and gone through by keyboard, at twice the size.

use super::{Typed, content, walk_with_own};
use crate::cli::checking::own_disc;
use crate::stage::bench::task;
use crate::stage::keys::key_down;
use crate::stage::library;
use bevy_egui::egui::{Event, Key};
use second_glance::level::clinic::{CaseField, CaseForm, CeramicChoice};
use second_glance::play::content::ActiveContent;
use second_glance::play::content::Content;
use second_glance::play::content::shipped::Shipped;
use second_glance::play::intents::FormIntent;
use second_glance::play::start::PendingStart;
use second_glance::scene::Translucency;
use std::sync::Arc;

#[test]
fn every_field_is_reached_and_filled_in_by_keyboard_at_twice_the_size() {
    let own = tempfile::tempdir().unwrap();
    let mut typed = Typed::new(own.path());
    let wanted = CaseForm::example();
    for field in wanted.fields() {
        // The gap for the cement has a value to begin with.
        let before = typed.form.form.text(field).to_owned();
        let text = wanted.text(field).strip_prefix(&*before).unwrap_or("");
        typed.type_in(field, text);
    }
    typed.tab_to(CaseField::CementGap);
    typed.frame(vec![key_down(Key::Backspace)]);
    typed.frame(vec![Event::Text("8".to_owned())]);
    assert_eq!(typed.form.form, wanted);
    // On to the buttons below: the first checks.
    for _ in 0..80 {
        typed.frame(vec![key_down(Key::Tab)]);
        typed.frame(vec![key_down(Key::Enter)]);
        if typed.form.checked {
            break;
        }
    }
    assert!(typed.form.checked && typed.form.findings.is_empty(), "{:?}", typed.form.findings);
}

#[test]
fn every_control_is_reached_by_tab_and_a_ceramic_of_ones_own_is_ticked() {
    let own = tempfile::tempdir().unwrap();
    std::fs::write(own.path().join("own.ron"), own_disc()).unwrap();
    let mut typed = Typed::new(own.path());
    let content = Shipped::for_window(None, None, Some(own.path()), None).unwrap();
    typed.content = ActiveContent(Arc::new(content));
    typed.frame(Vec::new());
    let reached = typed.reached();
    let controls = typed.controls();
    assert!(controls.len() > typed.form.form.fields().len(), "{}", controls.len());
    assert!(controls.is_subset(&reached), "{} of {}", reached.len(), controls.len());
    // Enter in a field keeps the focus where it is: what follows is reached all the same.
    let disc = CeramicChoice { class: "own-disc".to_owned(), translucency: Translucency::Medium };
    typed.press_button(|form| form.form.ceramics.contains(&disc));
    typed.tab_to(CaseField::Title);
    typed.frame(vec![key_down(Key::Enter)]);
    typed.frame(vec![Event::Text("A".to_owned())]);
    assert_eq!(typed.form.form.text(CaseField::Title), "A");
}

#[test]
fn a_case_is_written_opened_changed_saved_and_rehearsed_by_keyboard() {
    let own = tempfile::tempdir().unwrap();
    let folder = own.path().join("levels");
    let mut typed = Typed::new(&folder);
    typed.form.handle(FormIntent::Example, &typed.content.clone(), &mut PendingStart::default());
    typed.press_button(|form| form.saved.is_some());
    let path = folder.join("cases/discoloured-central.ron");
    let before = std::fs::read_to_string(&path).unwrap();

    // The program starts anew: an empty form, and the list with the file's title.
    let mut typed = Typed::new(&folder);
    typed.press_button(|form| form.listed.is_some());
    let listed = typed.form.listed.clone().unwrap();
    assert_eq!((listed.files.len(), &listed.files[0].path), (1, &path));
    assert_eq!(listed.files[0].title.as_deref(), Some("Discoloured central"));
    // The first of the list has the focus: Enter opens it.
    typed.frame(Vec::new());
    typed.frame(vec![key_down(Key::Enter)]);
    assert_eq!(typed.form.form, CaseForm::example());
    assert!(typed.form.listed.is_none() && !typed.form.is_unsaved());

    // One value more, and saved: what would be lost is asked about, and "Leave it" has the focus.
    typed.type_in(CaseField::Prepared(0), "5");
    assert_eq!(typed.form.form.text(CaseField::Prepared(0)), "60.05");
    typed.press_button(|form| form.question.is_some());
    typed.frame(Vec::new());
    typed.frame(vec![key_down(Key::Enter)]);
    assert_eq!(typed.form.question, None);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), before);
    // Asked again, the third answer saves over both files.
    typed.press_button(|form| form.question.is_some());
    typed.frame(Vec::new());
    typed.frame(vec![key_down(Key::Tab)]);
    typed.frame(vec![key_down(Key::Tab)]);
    typed.frame(vec![key_down(Key::Enter)]);
    assert!(typed.form.saved.is_some(), "{:?}", typed.form.findings);
    let after = std::fs::read_to_string(&path).unwrap();
    assert_eq!(after, before.replace("L: 60.0", "L: 60.05"));

    // Under another name beside it.
    typed.type_in(CaseField::Name, "second-visit");
    typed.press_button(|form| form.saved.is_some());
    assert_eq!(std::fs::read_to_string(&path).unwrap(), after);
    assert!(folder.join("cases/second-visit.ron").exists());
    assert_eq!(content(&folder).own_levels(), ["discoloured-central", "second-visit"]);

    // What was saved is rehearsed.
    let mut walk = walk_with_own(&folder);
    walk.start_round("discoloured-central");
    let wanted = second_glance::level::clinic::open_case(&path, library()).unwrap().case;
    assert!((wanted.prepared_tooth.l - 60.05).abs() < 1e-9);
    let prepared = wanted.prepare(library()).unwrap().prepared_tooth;
    assert_eq!(task(&walk).prepared_tooth, prepared);
}
