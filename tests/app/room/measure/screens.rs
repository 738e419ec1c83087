//! Pictures of the measuring screens, for people to look at.

use crate::picture::window_colour::app;
use crate::stage::rendered::{self, WINDOW, phase, update_until};
use bevy::prelude::*;
use bevy::time::TimeUpdateStrategy;
use second_glance::app::room::measure::MeasuredSession;
use second_glance::app::shell::state::Screen;
use second_glance::play::intents::Intent;
use second_glance::play::intents::MeasureChoice;
use second_glance::play::records::Records;
use second_glance::play::start::SessionOptions;
use second_glance::trial::{InputDevice, Phase};
use std::path::Path;
use std::time::Duration;

fn save(app: &mut App, folder: &Path, name: &str) {
    save_sized(app, folder, name, WINDOW);
}

fn save_sized(app: &mut App, folder: &Path, name: &str, size: [u32; 2]) {
    rendered::save(app, &folder.join(name), size, 5);
}

fn on_screen(screen: Screen) -> impl Fn(&App) -> bool {
    move |app| rendered::screen(app) == screen
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_a_measurement() {
    let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
    let folder = Path::new(&folder);
    let results = tempfile::tempdir().unwrap();
    let mut app = app(results.path(), WINDOW);
    app.insert_resource(SessionOptions { adaptation_s: Some(60.0) });
    save(&mut app, folder, "title.png");
    app.world_mut().write_message(Intent::OpenMeasure);
    update_until(&mut app, "setup", on_screen(Screen::MeasureSetup));
    for _ in 0..130 {
        app.update();
    }
    save(&mut app, folder, "setup.png");
    app.world_mut().write_message(Intent::StartMeasure(MeasureChoice::Value));
    update_until(&mut app, "adaptation", on_screen(Screen::Trial));
    save(&mut app, folder, "instructions.png");
    app.world_mut().write_message(Intent::StartNow);
    app.insert_resource(TimeUpdateStrategy::ManualDuration(Duration::from_secs_f64(1.0 / 30.0)));
    for _ in 0..22 {
        update_until(&mut app, "mask", |app| {
            matches!(phase(app), Some(Phase::Mask | Phase::Debrief))
        });
        if phase(&app) == Some(Phase::Debrief) {
            break;
        }
        app.world_mut().write_message(Intent::Answer(None, InputDevice::Keyboard));
        update_until(&mut app, "the next", |app| phase(app) != Some(Phase::Mask));
    }
    save(&mut app, folder, "rest.png");
    app.world_mut().write_message(Intent::StopSession);
    update_until(&mut app, "result", on_screen(Screen::Measured));
    assert!(app.world().contains_resource::<MeasuredSession>());
    save(&mut app, folder, "result-always-none.png");
    app.world_mut().write_message(Intent::BackToTitle);
    update_until(&mut app, "title", on_screen(Screen::Title));
    app.world_mut().write_message(Intent::OpenMeasure);
    update_until(&mut app, "setup", on_screen(Screen::MeasureSetup));
    save(&mut app, folder, "setup-after.png");
}

#[test]
#[ignore = "draws screens of the newest measurement of choosing in SECOND_GLANCE_RESULTS"]
fn screens_of_measured_choosing() {
    let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
    let results = std::env::var_os("SECOND_GLANCE_RESULTS").expect("a folder with results");
    let folder = Path::new(&folder);
    for (name, size) in [("choosing", [1280, 800]), ("choosing-small", [832, 600])] {
        let mut app = app(Path::new(&results), size);
        let newest = app.world().resource::<Records>().latest_choice().unwrap();
        let (kept, open) = newest.expect("a measurement of choosing");
        app.world_mut().write_message(Intent::ShowChoice(kept.session));
        update_until(&mut app, "result", on_screen(Screen::Summary));
        save_sized(&mut app, folder, &format!("{name}-result.png"), size);
        app.world_mut().write_message(Intent::OpenMeasure);
        update_until(&mut app, "setup", on_screen(Screen::MeasureSetup));
        for _ in 0..60 {
            app.update();
        }
        save_sized(&mut app, folder, &format!("{name}-setup.png"), size);
        if open {
            app.world_mut().write_message(Intent::ContinueChoice(kept.session));
            update_until(&mut app, "instructions", on_screen(Screen::Exercise));
            save_sized(&mut app, folder, &format!("{name}-instructions.png"), size);
        }
    }
}

#[test]
#[ignore = "draws the result of the newest measurement in SECOND_GLANCE_RESULTS"]
fn the_result_screen() {
    let folder = std::env::var_os("SECOND_GLANCE_SCREENS").expect("a folder for the pictures");
    let results = std::env::var_os("SECOND_GLANCE_RESULTS").expect("a folder with results");
    let folder = Path::new(&folder);
    for (name, size) in [("measured", [1280, 800]), ("measured-small", [832, 600])] {
        let mut app = app(Path::new(&results), size);
        let newest = app.world().resource::<Records>().latest_measurement().unwrap();
        let session = newest.expect("a measurement").0;
        app.world_mut().write_message(Intent::ShowMeasured(session));
        update_until(&mut app, "result", on_screen(Screen::Measured));
        save_sized(&mut app, folder, &format!("{name}.png"), size);
        app.world_mut().write_message(Intent::OpenMeasure);
        update_until(&mut app, "setup", on_screen(Screen::MeasureSetup));
        for _ in 0..60 {
            app.update();
        }
        save_sized(&mut app, folder, &format!("{name}-setup.png"), size);
    }
}
