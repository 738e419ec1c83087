//! Keys do what the labels on the screen say, and letters and digits do nothing else: every state
//! of every screen against all of them. A label names its key in brackets at its end.

mod courses;
mod exercises;

use crate::reading::check_tree;
use crate::stage::{Hands, Target, pointer_play};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::shell::canvas::FocusHeld;
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::exercise::Stage;
use second_glance::measure::FIND_ID;
use second_glance::play::intents::{Act, ExerciseIntent, Intent, Page};
use second_glance::play::problem::Problem;
use second_glance::trial::{InputDevice, Phase};
use std::path::Path;

/// Large enough for every control to be in sight.
const LARGE: [u32; 2] = [1600, 1500];

/// The same by another device.
fn by_key(hands: &Hands, intent: Intent) -> Intent {
    match intent {
        Intent::Exercise(ExerciseIntent::Act(act, _)) => {
            Intent::Exercise(ExerciseIntent::Act(act, InputDevice::Keyboard))
        }
        Intent::Answer(tooth, _) => Intent::Answer(tooth, InputDevice::Keyboard),
        Intent::AnswerPlace(place) => {
            let tooth = hands.walk.session().plan().teeth[place];
            Intent::Answer(Some(tooth), InputDevice::Keyboard)
        }
        intent => intent,
    }
}

fn is_named(target: &Target, key: &str) -> bool {
    target.enabled && target.key() == Some(key)
}

/// Presses every letter, digit and named key and compares it with what its label's control does.
/// Returns the keys that labels named.
fn check(hands: &mut Hands, place: &str) -> Vec<String> {
    hands.frame();
    check_tree(hands, place);
    let targets = hands.targets();
    let mut named = Vec::new();
    let mut silent = Vec::new();
    for letter in ('a'..='z').chain('0'..='9').chain('A'..='Z') {
        let small = letter.to_ascii_uppercase().to_string();
        let shifted = format!("Shift {letter}");
        let own = targets.iter().find(|target| letter.is_uppercase() && is_named(target, &shifted));
        match own.or_else(|| targets.iter().find(|target| is_named(target, &small))) {
            Some(target) => {
                let pressed = hands.asked_by(|hands| {
                    hands.write(letter);
                    hands.frame();
                });
                same(hands, place, &format!("{letter:?}"), pressed, target);
                named.push(target.key().unwrap_or_default().to_owned());
            }
            None => silent.push(letter),
        }
    }
    // All at once, and one by one only to tell which.
    let asked = hands.asked_by(|hands| {
        silent.iter().for_each(|letter| hands.write(*letter));
        hands.frame();
    });
    for letter in silent.iter().filter(|_| !asked.is_empty()) {
        let asked = hands.asked_by(|hands| {
            hands.write(*letter);
            hands.frame();
        });
        let labels: Vec<&str> = targets.iter().map(|target| target.label.as_str()).collect();
        assert_eq!(asked, [], "{place}: {letter:?} is on no label of {labels:?}");
    }
    for (name, code, key) in [
        ("Space", KeyCode::Space, Key::Space),
        ("Enter", KeyCode::Enter, Key::Enter),
        ("Left", KeyCode::ArrowLeft, Key::ArrowLeft),
        ("Right", KeyCode::ArrowRight, Key::ArrowRight),
        ("Escape", KeyCode::Escape, Key::Escape),
        ("F11", KeyCode::F11, Key::F11),
    ] {
        let Some(target) = targets.iter().find(|target| is_named(target, name)) else { continue };
        // A focused button takes Enter and arrows to itself; Escape and F11 go past it.
        assert!(
            ["Escape", "F11"].contains(&name) || !hands.walk.app.world().resource::<FocusHeld>().0,
            "{place}: nothing has the focus"
        );
        let pressed = hands.asked_by(|hands| {
            hands.strike(code, key);
            hands.frame();
        });
        same(hands, place, name, pressed, target);
        named.push(name.to_owned());
    }
    named.sort();
    named.dedup();
    println!("{place}: {named:?}");
    named
}

/// Compares what a key asked for with what a click on its control asks for. Where a click goes to a
/// thing and does something with it, the key goes to it.
fn same(hands: &mut Hands, place: &str, key: &str, pressed: Vec<Intent>, target: &Target) {
    let at = target.seen.center();
    let clicked = hands.asked_by(|hands| hands.click_at(at));
    let first = clicked.into_iter().next().map(|intent| by_key(hands, intent));
    let pressed: Vec<Intent> = pressed.into_iter().map(|intent| by_key(hands, intent)).collect();
    let wanted: Vec<Intent> = first.into_iter().collect();
    assert!(!wanted.is_empty(), "{place}: {:?} does nothing", target.label);
    assert_eq!(pressed, wanted, "{place}: {key} and {:?}", target.label);
}

fn hands_in(folder: &Path) -> Hands {
    Hands::new(folder, LARGE)
}

fn act(hands: &mut Hands, act: Act) {
    let intent = ExerciseIntent::Act(act, InputDevice::Keyboard);
    hands.walk.intend(Intent::Exercise(intent));
}

fn stage(hands: &Hands) -> Stage {
    hands.walk.exercising().sitting().stage()
}

fn to(hands: &mut Hands, intent: Intent, screen: Screen) {
    hands.walk.intend(intent);
    hands.walk.until("the screen", |walk| walk.screen() == screen);
    hands.walk.frames(2);
}

#[test]
fn on_lists_forms_and_messages() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands_in(folder.path());
    assert!(check(&mut hands, "the list").is_empty());
    for (intent, screen) in [
        (Intent::OpenAbout, Screen::About),
        (Intent::OpenMeasure, Screen::MeasureSetup),
        (Intent::OpenCourses, Screen::Courses),
        (Intent::OpenBenchSetup, Screen::BenchSetup),
        (Intent::OpenClinicForm, Screen::ClinicForm),
    ] {
        to(&mut hands, intent, screen);
        check(&mut hands, &format!("{screen:?}"));
        to(&mut hands, Intent::BackToTitle, Screen::Title);
    }
    // A failure over a question: nothing below it answers.
    hands.walk.intend(Intent::StartLevel("at-a-glance".to_owned()));
    pointer_play::begin(&mut hands);
    hands.walk.app.world_mut().resource_mut::<Problem>().report("a failure");
    hands.walk.frames(2);
    assert!(check(&mut hands, "a message").is_empty());
    hands.press(KeyCode::Escape, Key::Escape);
    assert_eq!((hands.walk.problem(), hands.walk.pause()), (None, Pause::Running));
    hands.walk.intend(Intent::StopSession);
    hands.walk.until("summary", |walk| walk.screen() == Screen::Summary);
    check(&mut hands, "the summary");
}

#[test]
fn in_glances() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands_in(folder.path());
    hands.walk.start();
    check(&mut hands, "adaptation");
    hands.walk.intend(Intent::Pause);
    hands.walk.frames(2);
    check(&mut hands, "pause");
    hands.walk.intend(Intent::Resume);
    hands.walk.intend(Intent::StartNow);
    let (mut with, mut without) = (0, 0);
    for number in 0..hands.walk.session().progress().total {
        if number == 0 {
            hands.walk.until("fixation", |walk| walk.phase() == Phase::Fixation);
            check(&mut hands, "the cross");
            hands.walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
            check(&mut hands, "a smile");
        }
        hands.walk.until("response", |walk| matches!(walk.phase(), Phase::Response { .. }));
        let keys = check(&mut hands, "the answer row");
        assert_eq!(keys.len(), hands.walk.session().plan().teeth.len() + 2, "{keys:?}");
        hands.walk.intend(Intent::Answer(None, InputDevice::Keyboard));
        let has_twin = hands.walk.session().shown().unwrap().scene.truth.is_some();
        let keys = check(&mut hands, "the debrief");
        if has_twin {
            with += 1;
            assert_eq!(keys, ["B", "Enter", "Escape", "M", "O", "S", "Space", "V"]);
        } else {
            without += 1;
            assert_eq!(keys, ["Enter", "Escape", "O", "V"]);
        }
        hands.walk.intend(Intent::Continue);
    }
    assert!(with > 0 && without > 0);
}

#[test]
fn in_a_search() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands_in(folder.path());
    hands.walk.intend(Intent::StartLevel(FIND_ID.to_owned()));
    hands.walk.until("adaptation", |walk| walk.screen() == Screen::Trial);
    check(&mut hands, "adaptation of a search");
    hands.walk.intend(Intent::StartNow);
    hands.walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    assert_eq!(check(&mut hands, "a smile to be searched"), ["Escape", "N", "Space"]);
}

/// Checks the debrief of a question, its chart and its layers.
fn check_debrief(hands: &mut Hands, level: &str) -> Vec<String> {
    hands.walk.until("debrief", |walk| {
        let exercising = walk.exercising();
        exercising.sitting().stage() == Stage::Marked
            && exercising.is_up_to_date(walk.preparation())
    });
    let keys = check(hands, &format!("{level}, debrief"));
    for page in [Page::Chart, Page::Layers] {
        if !keys.iter().any(|key| key == "X") {
            continue;
        }
        let toggle = Intent::Exercise(ExerciseIntent::TogglePage(page));
        hands.walk.intend(toggle.clone());
        check(hands, &format!("{level}, {page:?}"));
        hands.walk.intend(toggle);
    }
    keys
}
