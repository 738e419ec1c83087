//! The form for cases from the clinic: typed by keyboard, kept as a level, played and composed.

use crate::checking::own_disc;
use crate::free_bench::{draft, task, until_seen};
use crate::harness::{Walk, library};
use bevy::input::keyboard::{Key as BevyKey, KeyCode};
use bevy_egui::egui::{self, Event, Key, Modifiers, Rect, vec2};
use second_glance::app::room::clinic as clinic_form;
use second_glance::app::shell::state::Screen;
use second_glance::exercise::Stage;
use second_glance::level::clinic::{CaseField, CaseForm, CeramicChoice};
use second_glance::play::clinic::{ClinicForm, FormQuestion};
use second_glance::play::content::shipped::Shipped;
use second_glance::play::content::{ActiveContent, Content};
use second_glance::play::intents::FormIntent;
use second_glance::play::intents::Intent;
use second_glance::play::records::Records;
use second_glance::play::start::PendingStart;
use second_glance::scene::Translucency;
use std::collections::HashSet;
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
            pending: PendingStart::default(),
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

    /// What gets the focus by Tab, until something has it for the second time.
    fn reached(&mut self) -> HashSet<egui::Id> {
        let mut reached = HashSet::new();
        for _ in 0..500 {
            self.frame(vec![key(Key::Tab)]);
            if self.focused().is_some_and(|focused| !reached.insert(focused)) {
                return reached;
            }
        }
        panic!("Tab does not come round");
    }

    /// Everything that can be clicked or typed into.
    fn controls(&self) -> HashSet<egui::Id> {
        self.ctx.viewport(|viewport| {
            let widgets = viewport.prev_pass.widgets.layers().flat_map(|(_, widgets)| widgets);
            widgets.filter(|widget| widget.sense.is_focusable()).map(|widget| widget.id).collect()
        })
    }

    /// Tab and Enter through what can be pressed until something has come of it. Fields are passed
    /// over, as Enter does nothing in them.
    fn press_button(&mut self, done: impl Fn(&ClinicForm) -> bool) {
        let form = self.form.form.clone();
        for _ in 0..120 {
            self.frame(vec![key(Key::Tab)]);
            let pressed = self.form.clone();
            self.frame(vec![key(Key::Enter)]);
            if done(&self.form) {
                return;
            }
            // Another control: as if it had not been pressed.
            if self.form.form != form || self.form.listed != pressed.listed {
                self.form = pressed;
            }
        }
        panic!("no such control is reached by Tab");
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
    typed.frame(vec![key(Key::Enter)]);
    typed.frame(vec![Event::Text("A".to_owned())]);
    assert_eq!(typed.form.form.text(CaseField::Title), "A");
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
    // Once more under the same title: it is asked first, and the files are as they were.
    let case = folder.join("cases/discoloured-central.ron");
    let kept = std::fs::read_to_string(&case).unwrap();
    walk.intend(Intent::Form(FormIntent::Type(CaseField::CementGap, "0.05".to_owned())));
    walk.intend(Intent::Form(FormIntent::Save));
    let Some(FormQuestion::Over { files, changed, other }) = form(&walk).question else {
        panic!("{:?}", form(&walk).findings)
    };
    assert_eq!((files.len(), changed, other.as_str()), (2, false, "discoloured-central-2"));
    walk.intend(Intent::Form(FormIntent::No));
    assert_eq!((form(&walk).saved, form(&walk).question), (None, None));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), written);
    assert_eq!(std::fs::read_to_string(&case).unwrap(), kept);
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
    typed.frame(vec![key(Key::Enter)]);
    assert_eq!(typed.form.form, CaseForm::example());
    assert!(typed.form.listed.is_none() && !typed.form.is_unsaved());

    // One value more, and saved: what would be lost is asked about, and "Leave it" has the focus.
    typed.type_in(CaseField::Prepared(0), "5");
    assert_eq!(typed.form.form.text(CaseField::Prepared(0)), "60.05");
    typed.press_button(|form| form.question.is_some());
    typed.frame(Vec::new());
    typed.frame(vec![key(Key::Enter)]);
    assert_eq!(typed.form.question, None);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), before);
    // Asked again, the third answer saves over both files.
    typed.press_button(|form| form.question.is_some());
    typed.frame(Vec::new());
    typed.frame(vec![key(Key::Tab)]);
    typed.frame(vec![key(Key::Tab)]);
    typed.frame(vec![key(Key::Enter)]);
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

#[test]
fn a_case_written_by_hand_keeps_its_comments_and_a_faulty_one_says_where() {
    let own = tempfile::tempdir().unwrap();
    let cases = own.path().join("cases");
    std::fs::create_dir(&cases).unwrap();
    let by_hand = include_str!("../core/fixtures/cases/dark-central.ron");
    let (mine, broken) = (cases.join("dark-central.ron"), cases.join("broken.ron"));
    std::fs::write(&mine, by_hand).unwrap();
    std::fs::write(&broken, by_hand.replace("tooth: 21,", "tooth: twenty,")).unwrap();
    let mut typed = Typed::new(own.path());
    let act = |typed: &mut Typed, intent| {
        let content = typed.content.clone();
        typed.form.handle(intent, &content, &mut PendingStart::default());
    };
    // A faulty one leaves the form as it is.
    act(&mut typed, FormIntent::Open(broken));
    let faults = typed.form.listed.clone().unwrap().faults.join("\n");
    let line = by_hand.lines().position(|line| line.contains("tooth: 21,")).unwrap() + 1;
    assert!(faults.contains(&format!("broken.ron:{line}:12")), "{faults}");
    assert!(!faults.contains("is missing"), "{faults}");
    assert_eq!(typed.form.form, CaseForm::default());
    // A sound one: saving it writes another file, and says why.
    act(&mut typed, FormIntent::Open(mine.clone()));
    assert_eq!(typed.form.form.text(CaseField::Name), "dark-central");
    act(&mut typed, FormIntent::Type(CaseField::CementGap, "0.06".to_owned()));
    act(&mut typed, FormIntent::Save);
    assert!(typed.form.renamed.clone().unwrap().contains("comments"), "{:?}", typed.form);
    assert_eq!(std::fs::read_to_string(&mine).unwrap(), by_hand);
    let written = std::fs::read_to_string(cases.join("dark-central-2.ron")).unwrap();
    assert!(written.contains("cement_gap_mm: 0.06"), "{written}");
    // What was typed is not thrown away unasked.
    act(&mut typed, FormIntent::Type(CaseField::CementGap, "0.07".to_owned()));
    act(&mut typed, FormIntent::Open(mine.clone()));
    assert_eq!(typed.form.question, Some(FormQuestion::Discard(mine)));
    assert_eq!(typed.form.form.text(CaseField::CementGap), "0.07");
    act(&mut typed, FormIntent::Yes);
    assert_eq!(typed.form.form.text(CaseField::CementGap), "0.08");
    // Somebody changed the file since: the question says so.
    let other = cases.join("dark-central-2.ron");
    act(&mut typed, FormIntent::Open(other.clone()));
    std::fs::write(&other, written.replace("0.06", "0.055")).unwrap();
    act(&mut typed, FormIntent::Save);
    let asked = typed.form.question.clone();
    assert!(matches!(asked, Some(FormQuestion::Over { changed: true, .. })), "{asked:?}");
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
    // The best that is looked for there is of its ceramics, on its gap, and fills the rest.
    let case = CaseForm::example().check(library()).case.unwrap();
    walk.letter("f");
    walk.until("the best", |walk| !walk.exercising().mode().free().unwrap().is_searching());
    let best = draft(&walk).recipe().clone();
    let offered = |class: &str| case.ceramics.iter().any(|choice| choice.class == class);
    assert!(offered(&best.ceramic.class), "{best:?}");
    assert!((best.cement_film_mm - 0.08).abs() < 1e-9, "{best:?}");
    let left = case.space.reduction.body_mm - 0.08;
    assert!((best.thickness.body_mm - left).abs() < 1e-9, "{best:?}");
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
