//! The form for cases from the clinic: typed by keyboard, kept as a level, played and composed.

use crate::free_bench::{draft, task, until_seen};
use crate::harness::{Walk, library};
use bevy::input::keyboard::{Key as BevyKey, KeyCode};
use bevy_egui::egui::{self, Event, Key, Modifiers, Rect, vec2};
use second_glance::app::Screen;
use second_glance::app::clinic_form::{ClinicForm, FormIntent};
use second_glance::app::content::{ActiveContent, Content};
use second_glance::app::input::Intent;
use second_glance::app::persist::Records;
use second_glance::app::screens::clinic_form;
use second_glance::app::shipped::Shipped;
use second_glance::app::start::PendingStart;
use second_glance::exercise::Stage;
use second_glance::level::clinic::{CaseField, CaseForm};
use std::path::Path;
use std::sync::Arc;

fn content(own: &Path) -> Shipped {
    Shipped::for_window(None, Some(own.to_owned()), None, None).unwrap()
}

/// A walk whose levels of one's own are kept in a folder.
fn walk_with_own(own: &Path) -> Walk {
    let mut walk = Walk::new();
    walk.app.insert_resource(ActiveContent(Arc::new(content(own))));
    walk
}

fn form(walk: &Walk) -> ClinicForm {
    walk.app.world().resource::<ClinicForm>().clone()
}

fn key(key: Key) -> Event {
    let modifiers = Modifiers::NONE;
    Event::Key { key, physical_key: None, pressed: true, repeat: false, modifiers }
}

/// The form in a window of its own, fed by keys.
struct Typed {
    ctx: egui::Context,
    form: ClinicForm,
    content: ActiveContent,
    pending: PendingStart,
}

impl Typed {
    fn new(own: &Path) -> Self {
        let mut typed = Self {
            ctx: egui::Context::default(),
            form: ClinicForm::default(),
            content: ActiveContent(Arc::new(content(own))),
            pending: PendingStart::Nothing,
        };
        typed.frame(Vec::new());
        typed
    }

    fn frame(&mut self, events: Vec<Event>) {
        // 1280 × 720 at 200 %.
        let window = Rect::from_min_size(egui::Pos2::ZERO, vec2(640.0, 360.0));
        let input = egui::RawInput { screen_rect: Some(window), events, ..Default::default() };
        let mut asked = Vec::new();
        let mut output = self.ctx.run_ui(input, |ui| {
            asked = clinic_form::draw(ui, &self.form, &self.content, false);
        });
        output.textures_delta.clear();
        for intent in asked {
            if let Intent::Form(intent) = intent {
                self.form.handle(intent, &self.content, &mut self.pending);
            }
        }
    }

    fn focused(&self) -> Option<egui::Id> {
        self.ctx.memory(|memory| memory.focused())
    }

    /// Tab until a field has the focus.
    fn tab_to(&mut self, field: CaseField) {
        let wanted = egui::Id::new(("case field", field));
        for _ in 0..80 {
            if self.focused() == Some(wanted) {
                return;
            }
            self.frame(vec![key(Key::Tab)]);
        }
        panic!("{field:?} is not reached by Tab");
    }

    fn type_in(&mut self, field: CaseField, text: &str) {
        self.tab_to(field);
        for c in text.chars() {
            self.frame(vec![Event::Text(c.to_string())]);
        }
    }
}

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
    typed.frame(vec![key(Key::Backspace)]);
    typed.frame(vec![Event::Text("8".to_owned())]);
    assert_eq!(typed.form.form, wanted);
    // On to the buttons below: the first checks.
    for _ in 0..80 {
        typed.frame(vec![key(Key::Tab)]);
        typed.frame(vec![key(Key::Enter)]);
        if typed.form.checked {
            break;
        }
    }
    assert!(typed.form.checked && typed.form.findings.is_empty(), "{:?}", typed.form.findings);
}

#[test]
fn a_saved_case_is_listed_plays_and_is_never_written_over() {
    let own = tempfile::tempdir().unwrap();
    let folder = own.path().join("levels");
    let mut walk = walk_with_own(&folder);
    walk.intend(Intent::OpenClinicForm);
    walk.until("the form", |walk| walk.screen() == Screen::ClinicForm);
    // Nothing is written while anything is wrong, and the reason stands at its field.
    walk.intend(Intent::Form(FormIntent::Example));
    walk.intend(Intent::Form(FormIntent::Type(CaseField::Prepared(0), "dark".to_owned())));
    walk.intend(Intent::Form(FormIntent::Save));
    assert_eq!(form(&walk).findings_at("prepared_tooth.L").count(), 1);
    assert!(!folder.exists());
    walk.intend(Intent::Form(FormIntent::Example));
    walk.intend(Intent::Form(FormIntent::Save));
    let path = folder.join("discoloured-central.ron");
    assert_eq!(form(&walk).saved.as_deref(), Some(&*path), "{:?}", form(&walk).findings);
    let written = std::fs::read_to_string(&path).unwrap();
    // Once more under the same title: refused, and the file is as it was.
    walk.intend(Intent::Form(FormIntent::Type(CaseField::CementGap, "0.05".to_owned())));
    walk.intend(Intent::Form(FormIntent::Save));
    let found: Vec<_> = form(&walk).findings_at("title").cloned().collect();
    assert!(found.iter().any(|f| f.message.contains("already")), "{found:?}");
    assert_eq!(form(&walk).saved, None);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), written);
    // A new start of the program lists it, and it plays.
    let again = content(&folder);
    assert_eq!(again.own_levels(), ["discoloured-central"]);
    walk.press(KeyCode::Escape, BevyKey::Escape);
    assert_eq!(walk.screen(), Screen::Title);
    walk.start_round("discoloured-central");
    assert_eq!(task(&walk).tooth.number(), 21);
    assert_eq!(walk.exercising().sitting().stage(), Stage::Asked);
}

#[test]
fn a_case_goes_to_the_bench_and_back_to_its_form() {
    let own = tempfile::tempdir().unwrap();
    let mut walk = walk_with_own(own.path());
    walk.intend(Intent::OpenClinicForm);
    walk.intend(Intent::Form(FormIntent::Example));
    walk.intend(Intent::Form(FormIntent::Bench));
    walk.until("the bench", |walk| walk.screen() == Screen::Exercise);
    walk.until_asked();
    until_seen(&mut walk);
    let task = task(&walk);
    assert!(task.prepared_tooth.starts_with("L60.0"), "{}", task.prepared_tooth);
    assert!((draft(&walk).recipe().cement_film_mm - 0.08).abs() < 1e-9);
    walk.press(KeyCode::Escape, BevyKey::Escape);
    walk.intend(Intent::StopSession);
    walk.until("the form", |walk| walk.screen() == Screen::ClinicForm);
    assert_eq!(form(&walk).form, CaseForm::example());
    assert!(walk.stored().is_empty());
}

#[test]
fn a_file_with_faults_is_listed_with_them_and_keeps_nobody_from_the_others() {
    let own = tempfile::tempdir().unwrap();
    let shipped = include_str!("../../levels/value-ladder.ron");
    let write = |name: &str, text: &str| std::fs::write(own.path().join(name), text).unwrap();
    write("mine.ron", &shipped.replace("\"value-ladder\"", "\"mine\""));
    write("value-ladder.ron", shipped);
    write("broken.ron", "Level(\n    format: 1,\n    id: \"broken\",\n    titel: \"x\",\n)");
    let content = content(own.path());
    assert_eq!(content.own_levels(), ["mine"]);
    assert!(content.round("mine", 1, Some(1)).is_ok());
    let faulty = content.faulty();
    let of = |name: &str| faulty.iter().find(|f| f.file.ends_with(name)).unwrap().faults.join("\n");
    assert!(of("broken.ron").contains("broken.ron:4:5"), "{}", of("broken.ron"));
    assert!(of("value-ladder.ron").contains("comes with the program"), "{faulty:?}");
    assert_eq!(faulty.len(), 2);
    // Put right, it is there without a new start.
    write("broken.ron", &shipped.replace("\"value-ladder\"", "\"broken\""));
    content.look_again();
    assert_eq!(content.own_levels(), ["broken", "mine"]);
    // A folder that is not there yet is no fault, an empty one neither.
    let none = Shipped::for_window(None, Some(own.path().join("no")), None, None).unwrap();
    assert!(none.faulty().is_empty() && !none.levels().is_empty());
    // One that was asked for is.
    let asked = Shipped::for_window(Some(&own.path().join("no")), None, None, None).unwrap();
    assert!(!asked.faulty().is_empty() && asked.levels().is_empty());
    assert_eq!(asked.library().ceramics(), library().ceramics());
}

#[test]
fn where_results_cannot_be_written_everything_plays_and_the_reason_is_known() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a-file");
    std::fs::write(&file, "not a folder").unwrap();
    let records = Records::open_or_pass_over(Some(&file)).unwrap();
    assert!(records.unsaved().unwrap().contains("a-file"), "{:?}", records.unsaved());
    assert!(Records::open_or_pass_over(Some(folder.path())).unwrap().unsaved().is_none());
    let mut walk = Walk::new();
    walk.app.insert_resource(records);
    walk.start_round("value-ladder");
    walk.press(KeyCode::Enter, BevyKey::Enter);
    assert_eq!(walk.exercising().sitting().stage(), Stage::Marked);
    assert_eq!(walk.problem(), None);
    // What was there stays as it was.
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "not a folder");
}
