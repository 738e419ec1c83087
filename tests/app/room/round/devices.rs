//! How an answer was given is stored as it was: by pointer or by key. The exercises of the first
//! hour are answered by pointer in `first_hour`, all of them by key in `exercises`.

use crate::stage::Hands;
use crate::stage::pointer_play::play_round;
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::measure::FIND_ID;
use second_glance::play::intents::Intent;
use second_glance::trial::{InputDevice, Phase, Response};

fn hands(folder: &tempfile::TempDir) -> Hands {
    Hands::new(folder.path(), [1280, 720])
}

/// To the next smile that stays until it is searched.
fn searching(hands: &mut Hands) {
    hands.walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    hands.frame();
}

fn last_answer(hands: &Hands) -> (Response, InputDevice) {
    let outcome = hands.walk.rows().last().expect("a stored answer").outcome;
    (outcome.response, outcome.input_device.expect("a device"))
}

#[test]
fn find_it_stores_every_way_to_answer_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands(&folder);
    hands.walk.intend(Intent::StartLevel(FIND_ID.to_owned()));
    hands.walk.until("adaptation", |walk| walk.screen() == Screen::Trial);
    hands.frame();
    hands.click("Start now");
    let tooth = Response::Tooth(hands.walk.session().plan().teeth[2]);
    let label = format!("tooth {},", hands.walk.session().plan().teeth[2]);

    searching(&mut hands);
    hands.click("None is restored");
    assert_eq!(last_answer(&hands), (Response::None, InputDevice::Pointer));

    searching(&mut hands);
    hands.write('n');
    hands.frame();
    assert_eq!(last_answer(&hands), (Response::None, InputDevice::Keyboard));

    // A click whose press and release fall into one frame.
    searching(&mut hands);
    let none = hands.reach("None is restored").rect.center();
    hands.point(none);
    hands.button(true);
    hands.button(false);
    hands.frame();
    assert_eq!(last_answer(&hands), (Response::None, InputDevice::Pointer));

    // The button under the keyboard's focus, while the pointer lets go of something else.
    searching(&mut hands);
    hands.point(bevy_egui::egui::pos2(640.0, 200.0));
    hands.frame();
    hands.press(KeyCode::Tab, Key::Tab);
    hands.press(KeyCode::Tab, Key::Tab);
    hands.strike(KeyCode::Enter, Key::Enter);
    hands.frame();
    assert_eq!(last_answer(&hands), (Response::None, InputDevice::Keyboard));

    searching(&mut hands);
    hands.click("Found it");
    hands
        .walk
        .until("the row", |walk| matches!(walk.phase(), Phase::Mask | Phase::Response { .. }));
    hands.frame();
    hands.click(&label);
    assert_eq!(last_answer(&hands), (tooth, InputDevice::Pointer));

    searching(&mut hands);
    hands.write(' ');
    hands
        .walk
        .until("the row", |walk| matches!(walk.phase(), Phase::Mask | Phase::Response { .. }));
    hands.write('3');
    hands.frame();
    assert_eq!(last_answer(&hands), (tooth, InputDevice::Keyboard));

    searching(&mut hands);
    hands.click("Found it");
    hands
        .walk
        .until("the row", |walk| matches!(walk.phase(), Phase::Mask | Phase::Response { .. }));
    hands.frame();
    hands.click("none is restored");
    assert_eq!(last_answer(&hands), (Response::None, InputDevice::Pointer));
    assert_eq!(hands.walk.pause(), Pause::Running);
}

#[test]
fn glances_store_every_way_to_answer_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands(&folder);
    hands.walk.start();
    hands.frame();
    hands.click("Start now");
    let mask = |hands: &mut Hands| {
        hands.walk.until("mask", |walk| walk.phase() == Phase::Mask);
        hands.frame();
    };
    let teeth = hands.walk.session().plan().teeth.clone();
    let tooth = |place: usize| Response::Tooth(teeth[place]);

    mask(&mut hands);
    // The answer is given as the button goes down, not as it comes up.
    let cell = hands.reach(&format!("tooth {},", teeth[1])).rect.center();
    hands.point(cell);
    hands.button(true);
    hands.frame();
    assert_eq!(last_answer(&hands), (tooth(1), InputDevice::Pointer));
    hands.button(false);
    hands.frame();
    hands.click("Continue");

    mask(&mut hands);
    hands.click("none is restored");
    assert_eq!(last_answer(&hands), (Response::None, InputDevice::Pointer));
    hands.click("Continue");

    // A cell under the keyboard's focus, while the pointer lets go of the picture.
    mask(&mut hands);
    hands.point(bevy_egui::egui::pos2(640.0, 200.0));
    hands.button(true);
    hands.frame();
    hands.press(KeyCode::Tab, Key::Tab);
    hands.strike(KeyCode::Enter, Key::Enter);
    hands.button(false);
    hands.frame();
    hands.frame();
    assert_eq!(last_answer(&hands), (tooth(0), InputDevice::Keyboard));
    hands.click("Continue");

    mask(&mut hands);
    hands.press(KeyCode::ArrowLeft, Key::ArrowLeft);
    hands.press(KeyCode::Enter, Key::Enter);
    assert_eq!(last_answer(&hands).1, InputDevice::Keyboard);
}

/// Exercises that the first hour has not.
#[test]
fn every_other_exercise_is_answered_by_pointer_and_stored_so() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands(&folder);
    for level in
        ["nearest-tab", "office-light", "try-in-first", "bracket-two-veneers", "margin-premolars"]
    {
        hands.walk.intend(Intent::StartLevel(level.to_owned()));
        play_round(&mut hands);
        let rows = hands.walk.answers();
        assert!(!rows.is_empty());
        assert!(rows.iter().all(|row| row.input_device == InputDevice::Pointer), "{level}");
        hands.click("Back to the levels");
        hands.walk.until("the list", |walk| walk.screen() == Screen::Title);
    }
}
