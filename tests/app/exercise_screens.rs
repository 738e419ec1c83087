//! Pictures of the screens of exercises, for people to look at.

use crate::window_colour::{app_with, read_back, update_until};
use bevy::prelude::*;
use second_glance::app::Screen;
use second_glance::app::exercising::{Act, ExerciseIntent, Exercising, Page};
use second_glance::app::input::Intent;
use second_glance::app::picture_source::ViewportSource;
use second_glance::exercise::Stage;
use second_glance::trial::InputDevice;
use std::path::Path;

fn save(app: &mut App, path: &Path, [width, height]: [u32; 2]) {
    for _ in 0..6 {
        app.update();
    }
    let pixels = read_back(app);
    image::save_buffer(path, &pixels, width, height, image::ExtendedColorType::Rgba8).unwrap();
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
    ("at-a-glance", &[(&[], "asked"), (&[Act::Yes], "debrief")]),
];

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_exercises() {
    let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
    let only = std::env::var("SECOND_GLANCE_LEVEL").ok();
    for size in [[1280, 720], [832, 600]] {
        let results = tempfile::tempdir().unwrap();
        let mut app = app_drawing(results.path(), size);
        let path = |name: &str| Path::new(&folder).join(format!("{name}-{}.png", size[0]));
        update_until(&mut app, "title", |app| {
            *app.world().resource::<State<Screen>>().get() == Screen::Title
        });
        save(&mut app, &path("title"), size);
        for (level, script) in SCRIPTS {
            if only.as_ref().is_some_and(|only| only != level) {
                continue;
            }
            app.world_mut().write_message(Intent::StartLevel((*level).to_owned()));
            update_until(&mut app, "instructions", |app| {
                *app.world().resource::<State<Screen>>().get() == Screen::Exercise
            });
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
            update_until(&mut app, "summary", |app| {
                *app.world().resource::<State<Screen>>().get() == Screen::Summary
            });
            save(&mut app, &path(&format!("{level}-summary")), size);
            app.world_mut().write_message(Intent::BackToTitle);
            update_until(&mut app, "title", |app| {
                *app.world().resource::<State<Screen>>().get() == Screen::Title
            });
        }
    }
}

/// The whole app with smiles really drawn.
fn app_drawing(results: &Path, size: [u32; 2]) -> App {
    app_with(results, size, |app| {
        app.add_plugins(ViewportSource);
    })
}
