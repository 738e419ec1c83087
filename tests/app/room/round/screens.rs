//! Pictures of the screens of exercises, for people to look at.

use crate::stage::rendered::{self, app_with, screen, update_until};
use bevy::prelude::*;
use second_glance::app::picture::source::ViewportSource;
use second_glance::app::shell::state::Screen;
use second_glance::exercise::{CHOICE_ID, SetupPart, Stage, Task};
use second_glance::level::clinic::CaseField;
use second_glance::play::content::ActiveContent;
use second_glance::play::content::shipped::Shipped;
use second_glance::play::intents::FormIntent;
use second_glance::play::intents::Intent;
use second_glance::play::intents::SetupIntent;
use second_glance::play::intents::{Act, ExerciseIntent, Page};
use second_glance::play::problem::Problem;
use second_glance::play::records::Records;
use second_glance::play::round::Exercising;
use second_glance::trial::InputDevice;
use std::path::Path;
use std::sync::Arc;

fn save(app: &mut App, path: &Path, size: [u32; 2]) {
    rendered::save(app, path, size, 6);
}

fn at(stage: Stage) -> impl Fn(&App) -> bool {
    move |app| {
        let exercising = app.world().get_resource::<Exercising>();
        exercising.is_some_and(|e| e.sitting().stage() == stage)
    }
}

fn act(app: &mut App, act: Act) {
    let intent = ExerciseIntent::Act(act, InputDevice::Keyboard);
    app.world_mut().write_message(Intent::Exercise(intent));
    app.update();
}

/// What is pressed before each picture, and what the picture is called.
type Script = &'static [(&'static [Act], &'static str)];

const SCRIPTS: &[(&str, Script)] = &[
    (
        "value-ladder",
        &[(&[Act::Choose(2), Act::Tick], "asked"), (&[Act::Tick, Act::Confirm], "debrief")],
    ),
    ("nearest-tab", &[(&[Act::Choose(2), Act::Tick], "asked"), (&[Act::Confirm], "debrief")]),
    (
        "blend-value-first",
        &[
            (&[Act::Choose(1), Act::Pick, Act::Choose(2), Act::Tick], "asked"),
            (&[], "sheet"),
            (&[Act::Confirm], "debrief"),
            (&[], "chart"),
            (&[], "layers"),
        ],
    ),
    ("bench-dark-central", &[(&[Act::Step(2), Act::Move(2)], "asked"), (&[Act::Confirm], "tried")]),
    ("try-in-first", &[(&[Act::Choose(0), Act::Move(-4)], "predict")]),
    (
        "bracket-two-veneers",
        &[
            (&[Act::Pick, Act::Move(1), Act::Pick], "asked"),
            (&[Act::Confirm], "placing"),
            (&[Act::Confirm], "debrief"),
        ],
    ),
    ("margin-premolars", &[(&[Act::Pick], "asked"), (&[Act::Confirm], "debrief")]),
    (
        "office-light",
        &[
            (&[Act::Choose(0), Act::Pick], "asked"),
            (&[Act::Confirm], "predict"),
            (&[Act::No, Act::Confirm], "second"),
            (&[Act::Choose(1), Act::Pick, Act::Confirm], "debrief"),
        ],
    ),
    ("at-a-glance", &[(&[], "asked"), (&[Act::Yes], "debrief")]),
];

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_exercises() {
    let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
    let only = std::env::var("SECOND_GLANCE_LEVEL").ok();
    for size in sizes() {
        let results = tempfile::tempdir().unwrap();
        let mut app = app_drawing(results.path(), size);
        let path = |name: &str| Path::new(&folder).join(format!("{name}-{}.png", size[0]));
        update_until(&mut app, "title", |app| screen(app) == Screen::Title);
        save(&mut app, &path("title"), size);
        for (level, script) in SCRIPTS {
            if only.as_ref().is_some_and(|only| only != level) {
                continue;
            }
            app.world_mut().write_message(Intent::StartLevel((*level).to_owned()));
            update_until(&mut app, "instructions", |app| screen(app) == Screen::Exercise);
            save(&mut app, &path(&format!("{level}-instructions")), size);
            app.world_mut().write_message(Intent::Exercise(ExerciseIntent::Begin));
            update_until(&mut app, "question", at(Stage::Asked));
            for (acts, name) in *script {
                for one in *acts {
                    act(&mut app, *one);
                }
                if *name == "sheet" {
                    app.world_mut().write_message(Intent::Exercise(ExerciseIntent::ToggleSheet));
                }
                let page = match *name {
                    "chart" => Some(Page::Chart),
                    "layers" => Some(Page::Layers),
                    _ => None,
                };
                if let Some(page) = page {
                    let toggle = ExerciseIntent::TogglePage(page);
                    app.world_mut().write_message(Intent::Exercise(toggle));
                    app.update();
                    update_until(&mut app, "the page", |app| {
                        app.world().resource::<Exercising>().study().is_done(page)
                    });
                }
                if *name == "debrief" {
                    update_until(&mut app, "debrief", at(Stage::Marked));
                }
                update_until(&mut app, "smiles", |app| {
                    let preparation = app.world().resource();
                    app.world().resource::<Exercising>().is_up_to_date(preparation)
                });
                save(&mut app, &path(&format!("{level}-{name}")), size);
                if *name == "sheet" {
                    app.world_mut().write_message(Intent::Exercise(ExerciseIntent::ToggleSheet));
                }
            }
            app.world_mut().write_message(Intent::StopSession);
            update_until(&mut app, "summary", |app| screen(app) == Screen::Summary);
            save(&mut app, &path(&format!("{level}-summary")), size);
            app.world_mut().write_message(Intent::BackToTitle);
            update_until(&mut app, "title", |app| screen(app) == Screen::Title);
        }
    }
}

#[test]
#[ignore = "draws a question of measured choosing and its repeat to SECOND_GLANCE_SCREENS"]
fn a_question_and_its_repeat() {
    let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
    let results = tempfile::tempdir().unwrap();
    let size = [1280, 800];
    let mut app = app_drawing(results.path(), size);
    app.world_mut().write_message(Intent::StartLevel(CHOICE_ID.to_owned()));
    update_until(&mut app, "instructions", |app| screen(app) == Screen::Exercise);
    app.world_mut().write_message(Intent::Exercise(ExerciseIntent::Begin));
    for number in 0..8 {
        update_until(&mut app, "question", at(Stage::Asked));
        let question = app.world().resource::<Exercising>().sitting().question().unwrap().clone();
        let Task::Blend(task) = &question.task else { panic!("a question of Blend") };
        let measured = task.measured.as_ref().unwrap();
        println!("{number}: teeth {:?}, {measured:?}", task.teeth);
        act(&mut app, Act::Choose(task.best));
        for _ in 0..40 {
            app.update();
        }
        save(&mut app, &Path::new(&folder).join(format!("choosing-question-{number}.png")), size);
        act(&mut app, Act::Pick);
        act(&mut app, Act::Confirm);
    }
}

/// The sizes of windows: the least that texts must fit, a small one, and 1280 × 720 at 200 %. One
/// of them alone where `SECOND_GLANCE_WIDTH` says so.
fn sizes() -> Vec<[u32; 2]> {
    let only = std::env::var("SECOND_GLANCE_WIDTH").ok().and_then(|text| text.parse().ok());
    let all = [[1280, 720], [832, 600], [640, 360]];
    all.into_iter().filter(|size| only.is_none_or(|only: u32| size[0] == only)).collect()
}

fn on(screen: Screen) -> impl Fn(&App) -> bool {
    move |app| rendered::screen(app) == screen
}

fn up_to_date(app: &App) -> bool {
    app.world().resource::<Exercising>().is_up_to_date(app.world().resource())
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_free_play_and_the_form() {
    let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
    for size in sizes() {
        let results = tempfile::tempdir().unwrap();
        let mut app = app_drawing(results.path(), size);
        let path = |name: &str| Path::new(&folder).join(format!("{name}-{}.png", size[0]));
        update_until(&mut app, "title", on(Screen::Title));
        app.world_mut().write_message(Intent::OpenBenchSetup);
        update_until(&mut app, "setup", on(Screen::BenchSetup));
        save(&mut app, &path("free-setup"), size);
        app.world_mut().write_message(Intent::Setup(SetupIntent::Start));
        update_until(&mut app, "the bench", at(Stage::Asked));
        act(&mut app, Act::Step(2));
        update_until(&mut app, "the smile", up_to_date);
        act(&mut app, Act::Move(1));
        act(&mut app, Act::Keep(0));
        act(&mut app, Act::Move(-2));
        update_until(&mut app, "the smile", up_to_date);
        save(&mut app, &path("free"), size);
        for (page, name) in [(Page::Chart, "free-chart"), (Page::Layers, "free-layers")] {
            save_page(&mut app, page, &path(name), size);
        }
        app.world_mut().write_message(Intent::Pause);
        save(&mut app, &path("free-pause"), size);
        app.world_mut().write_message(Intent::StopSession);
        update_until(&mut app, "the setup", on(Screen::BenchSetup));
        app.world_mut().write_message(Intent::OpenClinicForm);
        update_until(&mut app, "the form", on(Screen::ClinicForm));
        app.world_mut().write_message(Intent::Form(FormIntent::Example));
        save(&mut app, &path("form"), size);
        let dark = FormIntent::Type(CaseField::Prepared(0), "dark".to_owned());
        app.world_mut().write_message(Intent::Form(dark));
        app.world_mut().write_message(Intent::Form(FormIntent::Check));
        save(&mut app, &path("form-faults"), size);
    }
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_the_list_and_of_cases() {
    let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
    for size in sizes() {
        let results = tempfile::tempdir().unwrap();
        let own = results.path().join("levels");
        std::fs::create_dir_all(own.join("cases")).unwrap();
        let path = |name: &str| Path::new(&folder).join(format!("{name}-{}.png", size[0]));
        let mut app = app_with(results.path(), size, |_| ());
        let content = |levels: Option<&Path>| {
            let shipped = Shipped::for_window(levels, Some(own.clone()), None, None).unwrap();
            ActiveContent(Arc::new(shipped))
        };
        let form = |app: &mut App, intent: FormIntent| {
            app.world_mut().write_message(Intent::Form(intent));
            app.update();
        };
        app.insert_resource(content(None));
        app.world_mut().write_message(Intent::OpenClinicForm);
        update_until(&mut app, "the form", on(Screen::ClinicForm));
        form(&mut app, FormIntent::List);
        save(&mut app, &path("cases-none"), size);
        form(&mut app, FormIntent::Example);
        form(&mut app, FormIntent::Save);
        form(&mut app, FormIntent::List);
        let by_hand = include_str!("../../../core/fixtures/cases/dark-central.ron");
        let write = |name: &str, text: &str| std::fs::write(own.join(name), text).unwrap();
        write("cases/by-hand.ron", by_hand);
        write("cases/broken.ron", &by_hand.replace("tooth: 21,", "tooth: twenty,"));
        form(&mut app, FormIntent::Open(own.join("cases/broken.ron")));
        save(&mut app, &path("cases-listed"), size);
        form(&mut app, FormIntent::Type(CaseField::CementGap, "0.07".to_owned()));
        form(&mut app, FormIntent::Save);
        save(&mut app, &path("cases-over"), size);
        form(&mut app, FormIntent::UnderAnotherName);
        form(&mut app, FormIntent::Open(own.join("cases/by-hand.ron")));
        form(&mut app, FormIntent::Save);
        save(&mut app, &path("cases-saved"), size);

        // The list with levels of one's own and faulty files, and where results cannot be kept.
        write("faulty.ron", "Level(\n    format: 1,\n    id: \"faulty\",\n    titel: \"x\",\n)");
        let file = results.path().join("a-file");
        std::fs::write(&file, "not a folder").unwrap();
        app.insert_resource(Records::open_or_pass_over(Some(&file)).unwrap());
        let again = |app: &mut App| {
            app.world_mut().write_message(Intent::OpenAbout);
            update_until(app, "about", on(Screen::About));
            app.world_mut().write_message(Intent::BackToTitle);
            update_until(app, "the list", on(Screen::Title));
        };
        again(&mut app);
        save(&mut app, &path("list-faulty"), size);
        // No level at all.
        let none = results.path().join("none");
        std::fs::create_dir_all(&none).unwrap();
        app.insert_resource(content(Some(&none)));
        again(&mut app);
        save(&mut app, &path("list-empty"), size);
        // A level that cannot be had, and one that is being laid out.
        app.insert_resource(content(None));
        again(&mut app);
        app.world_mut().write_message(Intent::StartLevel("no-such-level".to_owned()));
        update_until(&mut app, "a problem", |app| app.world().resource::<Problem>().0.is_some());
        save(&mut app, &path("list-problem"), size);
        app.world_mut().write_message(Intent::DismissProblem);
        app.update();
        app.world_mut().write_message(Intent::StartLevel("blend-value-first".to_owned()));
        rendered::save(&mut app, &path("list-loading"), size, 3);
    }
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_an_onlay() {
    let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
    for size in sizes() {
        let results = tempfile::tempdir().unwrap();
        let mut app = app_drawing(results.path(), size);
        let path = |name: &str| Path::new(&folder).join(format!("{name}-{}.png", size[0]));
        update_until(&mut app, "title", on(Screen::Title));
        app.world_mut().write_message(Intent::OpenBenchSetup);
        update_until(&mut app, "setup", on(Screen::BenchSetup));
        for (part, steps) in [
            (SetupPart::Preparation, 2),
            (SetupPart::Margin, 11),
            (SetupPart::Neck, 9),
            (SetupPart::Middle, 13),
            (SetupPart::Incisal, 20),
            (SetupPart::MarginHeight, 0),
        ] {
            app.world_mut().write_message(Intent::Setup(SetupIntent::Change(part, steps)));
            app.update();
        }
        save(&mut app, &path("onlay-setup"), size);
        app.world_mut().write_message(Intent::Setup(SetupIntent::Start));
        update_until(&mut app, "the bench", at(Stage::Asked));
        update_until(&mut app, "the smile", up_to_date);
        act(&mut app, Act::Step(2));
        act(&mut app, Act::Move(-4));
        update_until(&mut app, "the smile", up_to_date);
        save(&mut app, &path("onlay"), size);
        for (page, name) in [(Page::Chart, "onlay-chart"), (Page::Layers, "onlay-layers")] {
            save_page(&mut app, page, &path(name), size);
        }
    }
}

/// Opens a page of the bench, saves it and goes back to the smile.
fn save_page(app: &mut App, page: Page, path: &Path, size: [u32; 2]) {
    let toggle = Intent::Exercise(ExerciseIntent::TogglePage(page));
    app.world_mut().write_message(toggle.clone());
    app.update();
    update_until(app, "the page", |app| app.world().resource::<Exercising>().study().is_done(page));
    save(app, path, size);
    app.world_mut().write_message(toggle);
    app.update();
}

/// The whole app with smiles really drawn.
fn app_drawing(results: &Path, size: [u32; 2]) -> App {
    app_with(results, size, |app| {
        app.add_plugins(ViewportSource);
    })
}
