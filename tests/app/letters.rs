//! Keys do what the labels on the screen say, and letters and digits do nothing else: every state of every
//! screen against all of them. A label names its key in brackets at its end.

use crate::lecture::{answer, join};
use crate::stage::pointer_play;
use crate::stage::{Hands, Target};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::room::lecture::LecturePort;
use second_glance::app::shell::canvas::FocusHeld;
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::exercise::{CHOICE_ID, Stage};
use second_glance::measure::FIND_ID;
use second_glance::play::answer::Draft;
use second_glance::play::course::Seat;
use second_glance::play::intents::Intent;
use second_glance::play::intents::RoomIntent;
use second_glance::play::intents::SetupIntent;
use second_glance::play::intents::{Act, ExerciseIntent, Page};
use second_glance::play::intents::{CourseIntent, SeatField};
use second_glance::play::lecture::{Lecture, RoomStage};
use second_glance::play::problem::Problem;
use second_glance::play::view::DebriefView;
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

/// Presses every letter, digit and named key and compares it with what its label's control does. Returns
/// the keys that labels named.
fn check(hands: &mut Hands, place: &str) -> Vec<String> {
    hands.frame();
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

/// Compares what a key asked for with what a click on its control asks for. Where a click goes to a thing
/// and does something with it, the key goes to it.
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

#[test]
fn in_exercises() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands_in(folder.path());
    type Script = &'static [(&'static [Act], &'static [&'static str])];
    let scripts: &[(&str, Script)] = &[
        ("value-ladder", &[(&[], &["1", "2", "3", "4", "5", "Enter", "Space"])]),
        ("nearest-tab", &[(&[], &["Enter", "O", "Space", "V"]), (&[Act::Tick], &[])]),
        (
            "blend-value-first",
            &[(&[], &["B", "Enter", "G", "N", "O", "Space", "V"]), (&[Act::Pick], &[])],
        ),
        (
            "office-light",
            &[
                (&[], &["B", "Enter", "G", "O", "V"]),
                (&[Act::Pick, Act::Confirm], &["C", "Enter", "G", "K", "O", "V"]),
                (&[Act::Yes, Act::Confirm], &["B", "Enter", "G", "O", "V"]),
                (&[Act::Pick], &[]),
            ],
        ),
        (
            "bench-light-tooth",
            &[
                (&[], &["Enter", "F", "L", "N", "O", "R", "Shift A", "Shift B", "U", "V"]),
                (&[Act::Keep(0), Act::Move(1)], &["A", "Shift A"]),
                (&[Act::Compare(0)], &["A", "Shift B"]),
                (&[Act::Compare(0), Act::Confirm], &[]),
            ],
        ),
        ("try-in-first", &[(&[], &["1", "2", "3", "4", "Enter", "Left", "O", "Right", "V"])]),
        (
            "bracket-two-veneers",
            &[
                (&[], &["B", "Enter", "G", "O", "V"]),
                (
                    &[Act::Pick, Act::Move(1), Act::Pick, Act::Confirm],
                    &["Enter", "Left", "N", "Right", "U"],
                ),
            ],
        ),
        ("margin-premolars", &[(&[], &["B", "Enter", "G", "N", "O", "V"]), (&[Act::Pick], &[])]),
        ("at-a-glance", &[(&[], &["A", "R"])]),
    ];
    for (level, script) in scripts {
        hands.walk.intend(Intent::StartLevel((*level).to_owned()));
        hands.walk.until("instructions", |walk| walk.screen() == Screen::Exercise);
        hands.frame();
        check(&mut hands, &format!("{level}, instructions"));
        pointer_play::begin(&mut hands);
        for (number, (acts, wanted)) in script.iter().enumerate() {
            acts.iter().for_each(|one| act(&mut hands, *one));
            if stage(&hands) != Stage::Asked {
                break;
            }
            hands.walk.until("smiles", |walk| walk.exercising().is_up_to_date(walk.preparation()));
            let keys = check(&mut hands, &format!("{level}, {number}"));
            for key in *wanted {
                assert!(
                    keys.iter().any(|known| known == key),
                    "{level}, {number}: no {key}: {keys:?}"
                );
            }
        }
        if *level == "blend-value-first" {
            hands.walk.intend(Intent::Exercise(ExerciseIntent::ToggleSheet));
            hands.walk.frames(2);
            check(&mut hands, "a sheet of small smiles");
        }
        if *level == "at-a-glance" {
            hands.walk.until("the end of the view", |walk| !walk.exercising().may_look());
            check(&mut hands, "a smile that is gone");
        }
        // The rest of the answer, however it stands.
        if *level == "try-in-first" {
            while !matches!(hands.walk.exercising().draft(), Some(Draft::TryIn(d)) if d.may_see()) {
                act(&mut hands, Act::Confirm);
            }
            hands.walk.frames(2);
            assert!(check(&mut hands, "cements to seat with").contains(&"B".to_owned()));
            act(&mut hands, Act::Pick);
        }
        act(&mut hands, if *level == "at-a-glance" { Act::Yes } else { Act::Confirm });
        while stage(&hands) == Stage::Asked {
            // Attempts on the bench.
            hands.walk.until("the attempt", |walk| match walk.exercising().draft() {
                Some(Draft::Bench(draft)) => !draft.awaits,
                _ => true,
            });
            act(&mut hands, Act::Yes);
        }
        check_debrief(&mut hands, level);
        hands.walk.intend(Intent::Pause);
        hands.walk.frames(2);
        assert!(check(&mut hands, "pause over a debrief").is_empty());
        hands.walk.intend(Intent::StopSession);
        hands.walk.until("summary", |walk| walk.screen() == Screen::Summary);
        to(&mut hands, Intent::BackToTitle, Screen::Title);
    }
}

#[test]
fn in_a_measurement_of_choosing() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = hands_in(folder.path());
    hands.walk.intend(Intent::StartLevel(CHOICE_ID.to_owned()));
    hands.walk.until("instructions", |walk| walk.screen() == Screen::Exercise);
    pointer_play::begin(&mut hands);
    hands.walk.until("smiles", |walk| walk.exercising().is_up_to_date(walk.preparation()));
    let keys = check(&mut hands, "a measured question");
    assert!(!keys.contains(&"V".to_owned()), "nothing that changes what is measured: {keys:?}");
}

#[test]
fn on_the_bench_in_free_play() {
    for size in [LARGE, [832, 600]] {
        let folder = tempfile::tempdir().unwrap();
        let mut hands = Hands::new(folder.path(), size);
        to(&mut hands, Intent::OpenBenchSetup, Screen::BenchSetup);
        hands.walk.intend(Intent::Setup(SetupIntent::Start));
        hands.walk.until("the bench", |walk| walk.screen() == Screen::Exercise);
        hands.walk.until_asked();
        hands.walk.until("smiles", |walk| walk.exercising().is_up_to_date(walk.preparation()));
        // In the small window some controls have to be scrolled to: only what is wholly new is checked.
        if size == LARGE {
            let keys = check(&mut hands, "free play");
            for key in ["C", "E", "F", "L", "M", "S", "Space", "X"] {
                assert!(keys.iter().any(|known| known == key), "no {key}: {keys:?}");
            }
            act(&mut hands, Act::Keep(0));
            act(&mut hands, Act::Compare(0));
            assert!(check(&mut hands, "a kept recipe").contains(&"A".to_owned()));
            act(&mut hands, Act::Compare(0));
        }
        for (page, key) in [(Page::Chart, "C"), (Page::Layers, "X")] {
            let toggle = Intent::Exercise(ExerciseIntent::TogglePage(page));
            hands.walk.intend(toggle.clone());
            let keys = check(&mut hands, &format!("free play, {page:?}, {size:?}"));
            assert!(keys.contains(&key.to_owned()) && !keys.contains(&"M".to_owned()), "{keys:?}");
            assert_eq!(keys.len() == 1, size != LARGE, "{keys:?}");
            hands.walk.intend(toggle);
        }
    }
}

const HEAD: &str = r#"    format: 1, teaches: "Look.", minutes: 20, tooth_names: Places, exposure_s: 2.5, response_s: 30,
    accommodation: (most_response_factor: 1, may_be_untimed: false),
"#;

/// A course in a folder of its own, chosen.
fn course(folder: &Path, name: &str, rest: &str) -> Hands {
    let file = folder.join(format!("{name}.ron"));
    std::fs::write(
        &file,
        format!("Course(\n    id: \"{name}\", title: \"{name}\",\n{HEAD}{rest})"),
    )
    .unwrap();
    let mut hands = hands_in(&folder.join("results"));
    hands.walk.app.insert_resource(LecturePort(0));
    hands.walk.intend(Intent::Course(CourseIntent::Choose(file.display().to_string())));
    hands.walk.until("the course", |walk| walk.screen() != Screen::Title);
    hands.walk.frames(2);
    hands
}

#[test]
fn in_a_course() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = course(
        folder.path(),
        "seat",
        "    mode: Exam,
    forms: [(id: \"a\", seed: 7, per_cell: 1)],
    steps: [Talk(title: \"Value\", minutes: 1), Practice(level: \"value-ladder\"),
        Form(forms: [\"a\"], phase: Only)],\n",
    );
    assert_eq!(hands.walk.screen(), Screen::Seat);
    // Letters and digits are typed into the field.
    for letter in ['a', 'z', '7', 'Q'] {
        let asked = hands.asked_by(|hands| {
            hands.write(letter);
            hands.frame();
        });
        let typed = CourseIntent::Write(SeatField::Learner, letter.to_string());
        assert_eq!(asked, [Intent::Course(typed)]);
    }
    for (field, text) in [(SeatField::Learner, "00aa11bb22cc"), (SeatField::Seat, "4")] {
        hands.walk.intend(Intent::Course(CourseIntent::Write(field, text.to_owned())));
    }
    hands.walk.intend(Intent::Course(CourseIntent::Enter));
    hands.walk.until("the steps", |walk| walk.screen() == Screen::Course);
    hands.walk.frames(2);
    let next = |hands: &mut Hands| {
        hands.walk.intend(Intent::Course(CourseIntent::Begin));
        hands.walk.frames(2);
    };
    assert_eq!(check(&mut hands, "a talk"), ["Enter", "Escape"]);
    next(&mut hands);
    assert_eq!(check(&mut hands, "practice in a course"), ["Enter", "Escape", "S"]);
    hands.walk.intend(Intent::Course(CourseIntent::Skip));
    assert_eq!(check(&mut hands, "a form"), ["Enter", "Escape"]);
    next(&mut hands);
    hands.walk.until("the form", |walk| walk.screen() == Screen::Trial);
    hands.walk.intend(Intent::StartNow);
    let total = hands.walk.session().progress().total;
    for number in 0..total {
        hands.walk.until("the row", |walk| {
            walk.screen() != Screen::Trial
                || matches!(walk.phase(), Phase::Mask | Phase::Response { .. })
        });
        if number == 0 {
            check(&mut hands, "an answer in an exam");
        }
        hands.walk.intend(Intent::Answer(None, InputDevice::Keyboard));
        if hands.walk.screen() == Screen::Trial && hands.walk.phase() == Phase::Debrief {
            check(&mut hands, "a rest in an exam");
            hands.walk.intend(Intent::Continue);
        }
    }
    hands.walk.until("the steps", |walk| walk.screen() == Screen::Course);
    assert!(hands.walk.app.world().resource::<Seat>().may_hand_in());
    check(&mut hands, "all forms done");
    next(&mut hands);
    hands.walk.until("handing in", |walk| walk.screen() == Screen::HandIn);
    let asked = hands.asked_by(|hands| {
        hands.write('s');
        hands.frame();
    });
    let [Intent::Course(CourseIntent::Folder(folder))] = &asked[..] else {
        panic!("a letter asked for {asked:?}");
    };
    assert!(folder.contains('s'), "{folder}");
}

fn room(hands: &Hands) -> &Lecture {
    hands.walk.app.world().resource::<Lecture>()
}

#[test]
fn in_a_lecture() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = course(
        folder.path(),
        "room",
        "    mode: Lecture,
    forms: [(id: \"a\", seed: 7, per_cell: 1)],
    steps: [Form(forms: [\"a\"], phase: Only), Practice(level: \"blend-value-first\", trials: 4)],\n",
    );
    assert_eq!(hands.walk.screen(), Screen::Lecture);
    let port = room(&hands).server().unwrap().port();
    let phone = join(room(&hands).server().unwrap());
    assert_eq!(check(&mut hands, "joining"), ["Enter", "Escape", "F11"]);
    hands.walk.intend(Intent::Room(RoomIntent::Begin));
    hands.walk.until("the question", |walk| {
        walk.screen() == Screen::Trial && matches!(walk.phase(), Phase::Response { .. })
    });
    assert_eq!(check(&mut hands, "a room is asked"), ["Enter", "Escape"]);
    assert_eq!(answer(port, &phone, 1, 0).0, 204);
    hands.walk.intend(Intent::Room(RoomIntent::Close));
    assert_eq!(check(&mut hands, "closed"), ["Enter", "Escape"]);
    hands.walk.intend(Intent::Room(RoomIntent::Reveal));
    check(&mut hands, "the solution");
    hands.walk.intend(Intent::Pause);
    hands.walk.frames(2);
    assert!(check(&mut hands, "pause in a lecture").is_empty());
    hands.walk.intend(Intent::StopSession);
    hands.walk.until("the room", |walk| walk.screen() == Screen::Lecture);
    hands.walk.intend(Intent::Room(RoomIntent::Begin));
    hands.walk.until("the options", |walk| {
        walk.screen() == Screen::Exercise && room_stage(walk) == RoomStage::Asked
    });
    hands.walk.frames(2);
    let keys = check(&mut hands, "a room is asked about options");
    assert!(keys.contains(&"G".to_owned()) && keys.contains(&"V".to_owned()), "{keys:?}");
    act(&mut hands, Act::Choose(1));
    check(&mut hands, "one option before a room");
    hands.walk.intend(Intent::Room(RoomIntent::Close));
    check(&mut hands, "options, closed");
    hands.walk.intend(Intent::Room(RoomIntent::Reveal));
    check_debrief(&mut hands, "options before a room");
    hands.walk.intend(Intent::StopSession);
    hands.walk.until("the room", |walk| walk.screen() == Screen::Lecture);
    check(&mut hands, "after the last step");
    hands.walk.intend(Intent::Room(RoomIntent::End));
    hands.walk.frames(2);
    assert!(room(&hands).is_over());
    check(&mut hands, "the end of a lecture");
    let view = *hands.walk.app.world().resource::<DebriefView>();
    assert!(!view.value_only, "nothing was done while keys were compared");
}

fn room_stage(walk: &crate::stage::Walk) -> RoomStage {
    walk.app.world().resource::<Lecture>().stage()
}
