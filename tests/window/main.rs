//! The window, from the outside: starts the program on the display at hand, plays two smiles with
//! a real pointer and real keys, and looks at the screen and at the stored rows.
//!
//! Needs an X display of at least 1280×800 without a window manager, `xdotool` and ImageMagick's
//! `import`; `.ci/run` starts it under `xvfb-run`. Every step waits for what it needs to see, so
//! that five frames a second are enough.

mod desk;

use desk::{Desk, Drivers};
use second_glance::results::{Store, TrialRow};
use second_glance::scene::Tooth;
use second_glance::trial::{InputDevice, Response};
use std::path::Path;
use std::time::Duration;
use tempfile::TempDir;

/// Long enough for the slowest step, baking and drawing a smile on a software adapter, on a machine
/// that is busy with other work. Alone it takes a tenth of this.
const PATIENCE: Duration = Duration::from_secs(150);

fn rows(folder: &Path) -> Vec<TrialRow> {
    let store = Store::open(folder).expect("the results can be read while the program runs");
    let sessions = store.sessions().expect("sessions can be read");
    sessions
        .last()
        .map_or_else(Vec::new, |last| store.trials(last.session).expect("trials can be read"))
}

/// The shipped levels without the two before the first glance, with which the list then begins.
fn levels_from_the_first_glance() -> TempDir {
    let levels = tempfile::tempdir().expect("a folder for levels");
    let shipped = Path::new(env!("CARGO_MANIFEST_DIR")).join("levels");
    for file in std::fs::read_dir(shipped).expect("the shipped levels").flatten() {
        let name = file.file_name();
        if name != "value-ladder.ron" && name != "strong-is-not-light.ron" {
            std::fs::copy(file.path(), levels.path().join(&name)).expect("a level to list");
        }
    }
    levels
}

fn arguments(levels: &TempDir) -> [&str; 4] {
    let levels = levels.path().to_str().expect("a plain path");
    ["--adaptation-s", "1", "--levels", levels]
}

#[test]
#[ignore = "needs an X display, xdotool and ImageMagick: see .ci/run"]
fn a_click_on_a_tooth_and_a_key_are_answers_that_are_stored() {
    let folder = tempfile::tempdir().expect("a folder for results");
    let levels = levels_from_the_first_glance();
    let mut desk = Desk::start(Drivers::All, &arguments(&levels), folder.path());

    let title = desk.until("the level list", PATIENCE, desk::shows_level_list);
    assert!(title.colours() > 20, "the level list is blank: {} colours", title.colours());
    // The first level's button has the focus.
    desk.key("Return");

    // Six teeth and "None": the first level's answer row, drawn as the program draws it.
    let teeth = Tooth::arch(6);
    let cells = desk::answer_cells(&teeth);
    desk.until("the answer row", PATIENCE, |screen| desk::shows_answer_row(screen, &cells));
    let centre = cells[1].center();
    desk.click(centre.x as i32, centre.y as i32);
    desk.until_true("a stored answer", PATIENCE, || !rows(folder.path()).is_empty());
    let first = rows(folder.path())[0].outcome;
    assert_eq!(first.input_device, Some(InputDevice::Pointer), "{first:?}");
    assert_eq!(first.response, Response::Tooth(teeth[1]));
    assert!(first.response_time_s.is_some_and(|seconds| seconds > 0.0), "{first:?}");
    assert_eq!(first.trial, 0);

    let debrief = desk.until("the debrief", PATIENCE, |screen| {
        screen.colours() > 2000 && !desk::shows_answer_row(screen, &cells)
    });
    // Gum and teeth are coloured; everything else of the program is grey.
    let coloured = debrief.share(|[r, _, b]| r.abs_diff(b) > 20);
    assert!(coloured > 0.05, "no smile in the debrief: {coloured} of it is coloured");

    desk.key("v");
    desk.until("the smile in greys", PATIENCE, |screen| {
        screen.share(|[r, _, b]| r.abs_diff(b) > 20) < 0.01 && screen.colours() > 60
    });

    desk.key("Return");
    desk.until("the next answer row", PATIENCE, |screen| desk::shows_answer_row(screen, &cells));
    desk.key("n");
    desk.until_true("a second stored answer", PATIENCE, || rows(folder.path()).len() == 2);
    let second = rows(folder.path())[1].outcome;
    assert_eq!(second.input_device, Some(InputDevice::Keyboard), "{second:?}");
    assert_eq!(second.response, Response::None);

    // Stopped half-way: every answer stays, and the program ends in good order.
    desk.key("Escape");
    desk.until("the pause menu", PATIENCE, desk::shows_dialog);
    desk.key("Tab");
    desk.key("Return");
    desk.until("the summary", PATIENCE, |screen| {
        desk::shows_cards(screen) && screen.share(|[r, _, b]| r.abs_diff(b) > 20) < 0.01
    });
    desk.key("Escape");
    desk.until("the level list again", PATIENCE, desk::shows_level_list);
    desk.quit();
    assert_eq!(rows(folder.path()).len(), 2);
    let said = std::fs::read_to_string(folder.path().join("said.txt")).expect("what was said");
    assert!(!said.contains("XDG_RUNTIME_DIR"), "{said}");
}

#[test]
#[ignore = "needs an X display, xdotool and ImageMagick: see .ci/run"]
fn a_smile_is_looked_at_and_answered_where_there_is_only_opengl() {
    let folder = tempfile::tempdir().expect("a folder for results");
    let levels = levels_from_the_first_glance();
    let mut desk = Desk::start(Drivers::OpenGl, &arguments(&levels), folder.path());
    let title = desk.until("the level list on OpenGL", PATIENCE, desk::shows_level_list);
    assert!(title.colours() > 20, "the level list is blank: {} colours", title.colours());
    desk.key("Return");
    let teeth = Tooth::arch(6);
    let cells = desk::answer_cells(&teeth);
    // So few frames a second may pass that the row is gone before the click reaches it.
    for smile in 0..4 {
        desk.until("the answer row", PATIENCE, |screen| desk::shows_answer_row(screen, &cells));
        desk.click(cells[1].center().x as i32, cells[1].center().y as i32);
        desk.until_true("a stored answer", PATIENCE, || rows(folder.path()).len() > smile);
        if rows(folder.path())[smile].outcome.response == Response::Tooth(teeth[1]) {
            break;
        }
        desk.key("Return");
    }
    let last = rows(folder.path()).pop().expect("a stored answer");
    assert_eq!(last.outcome.response, Response::Tooth(teeth[1]));
    desk.until("a smile in the debrief", PATIENCE, |screen| {
        let coloured = screen.share(|[r, _, b]| r.abs_diff(b) > 20);
        coloured > 0.05 && !desk::shows_answer_row(screen, &cells)
    });
}

#[test]
#[ignore = "needs an X display: see .ci/run"]
fn without_a_driver_the_packages_are_named_and_nothing_is_left() {
    let folder = tempfile::tempdir().expect("a folder for results");
    let out = folder.path().join("pictures");
    let given = out.to_str().expect("a plain path");
    for (arguments, code) in [(vec![], 3), (vec!["draw", "first-look", "--out", given], 1)] {
        let ended = desk::program(Drivers::None)
            .args(&arguments)
            .arg("--data-dir")
            .arg(folder.path())
            .output()
            .expect("the program starts");
        let said = String::from_utf8_lossy(&ended.stderr);
        assert_eq!(ended.status.code(), Some(code), "{arguments:?}: {said}");
        // Those that README.md names, and what was looked for on this system.
        for part in ["mesa-vulkan-drivers", "libgl1-mesa-dri", "tried Vulkan, OpenGL"] {
            assert!(said.contains(part), "{arguments:?}: {said}");
        }
        assert!(!said.contains("panicked"), "{said}");
    }
    assert!(!out.exists(), "an empty folder for pictures that cannot be drawn");
}
