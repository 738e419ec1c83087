//! Nothing on a screen is cut off in any window: all words are seen whole, at once or after
//! scrolling, by pointer and by keyboard.

use crate::stage::Drawn;
use crate::stage::keys::key_down;
use bevy_egui::egui::{Event, Key, Modifiers, MouseWheelUnit, TouchPhase, pos2, vec2};
use second_glance::app::picture::prepare::PictureSize;
use second_glance::app::shell::state::Screen;
use second_glance::exercise::Stage;
use second_glance::play::intents::Intent;
use second_glance::play::intents::{Act, ExerciseIntent, Page};
use second_glance::play::smiles::Preparation;
use second_glance::trial::{InputDevice, Phase};
use std::collections::BTreeSet;

/// The smallest window that texts must fit, small ones, and those that most screens have. Common
/// practice, no source.
const SIZES: [[f32; 2]; 5] =
    [[640.0, 480.0], [832.0, 600.0], [1280.0, 720.0], [1280.0, 800.0], [1920.0, 1080.0]];
/// All of a screen fits into this without scrolling.
const ROOMY: [f32; 2] = [1920.0, 1600.0];
/// Turns of the wheel, and presses of a page key, that reach the end of anything.
const TURNS: usize = 12;

fn whole(drawn: &Drawn) -> BTreeSet<String> {
    let window = drawn.window();
    drawn.words().into_iter().filter(|words| words.are_whole(window)).map(|w| w.text).collect()
}

fn all(drawn: &Drawn) -> BTreeSet<String> {
    drawn.words().into_iter().map(|words| words.text).collect()
}

/// Numbers on axes come and go with the room for them, and the chart's hint goes once something is
/// read; other words don't.
fn is_said(text: &str) -> bool {
    text.chars().filter(|letter| letter.is_alphabetic()).count() >= 4
        && !text.starts_with("Point at the chart")
}

/// Scrolls by the wheel at a place of the window, or by keys, until everything was seen whole.
fn look_for(drawn: &mut Drawn, wanted: &BTreeSet<String>, by_keys: bool) -> BTreeSet<String> {
    let (mut seen, mut met) = (whole(drawn), all(drawn));
    let missing = |seen: &BTreeSet<String>, met: &BTreeSet<String>| -> BTreeSet<String> {
        wanted.union(met).filter(|text| !seen.contains(*text)).cloned().collect()
    };
    let mut look = |drawn: &mut Drawn, event: Event| {
        drawn.frame(vec![event]);
        // Scrolling is smooth.
        for _ in 0..10 {
            drawn.walk.frames(1);
            seen.extend(whole(drawn));
            met.extend(all(drawn));
        }
        missing(&seen, &met)
    };
    let mut left = look(drawn, Event::PointerGone);
    if by_keys {
        for key in [Key::PageDown, Key::PageUp, Key::Tab] {
            // The list of controls is gone through by Tab.
            let times = if key == Key::Tab { 2 * TURNS } else { TURNS };
            for _ in 0..times {
                if left.is_empty() {
                    return left;
                }
                left = look(drawn, key_down(key));
            }
        }
        return left;
    }
    let window = drawn.window();
    for (x, y) in [(0.25, 0.9), (0.9, 0.9), (0.25, 0.4), (0.9, 0.4)] {
        let at = pos2(x * window.width(), y * window.height());
        drawn.frame(vec![Event::PointerMoved(at)]);
        for turn in 0..2 * TURNS {
            if left.is_empty() {
                break;
            }
            let by = if turn < TURNS { -120.0 } else { 400.0 };
            left = look(
                drawn,
                Event::MouseWheel {
                    unit: MouseWheelUnit::Point,
                    delta: vec2(0.0, by),
                    phase: TouchPhase::Move,
                    modifiers: Modifiers::NONE,
                },
            );
        }
    }
    drawn.frame(vec![Event::PointerGone]);
    left
}

/// What of the screen is not seen whole in every window.
fn cut_off(drawn: &mut Drawn, what: &str) -> Vec<String> {
    drawn.resize(ROOMY);
    drawn.walk.frames(3);
    let wanted: BTreeSet<String> = whole(drawn).into_iter().filter(|text| is_said(text)).collect();
    let cut: Vec<_> = all(drawn).difference(&whole(drawn)).cloned().collect();
    assert!(!wanted.is_empty(), "{what}");
    let mut faults = Vec::new();
    if !cut.is_empty() {
        faults.push(format!("{what} in {ROOMY:?}: {cut:#?}"));
    }
    for size in SIZES {
        for by_keys in [false, true] {
            drawn.resize(size);
            drawn.walk.frames(3);
            let cut = look_for(drawn, &wanted, by_keys);
            if !cut.is_empty() {
                faults.push(format!("{what} in {size:?}, by keys {by_keys}: {cut:#?}"));
            }
        }
    }
    faults
}

fn none_is(cut_off: &[String]) {
    assert!(cut_off.is_empty(), "cut off:\n{}", cut_off.join("\n"));
}

fn act(drawn: &mut Drawn, act: Act) {
    let intent = ExerciseIntent::Act(act, InputDevice::Pointer);
    drawn.walk.intend(Intent::Exercise(intent));
    drawn.walk.frames(1);
}

fn is_marked(drawn: &Drawn) -> bool {
    drawn.walk.exercising().sitting().stage() == Stage::Marked
}

/// To the debrief of the first question of a level, answered by these acts.
fn debrief_of(level: &str, acts: &[Act]) -> (Drawn, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(folder.path(), [1280.0, 720.0]);
    drawn.walk.intend(Intent::StartLevel(level.to_owned()));
    drawn.walk.until("the round", |walk| walk.screen() == Screen::Exercise);
    drawn.walk.intend(Intent::Exercise(ExerciseIntent::Begin));
    drawn.walk.until_asked();
    for one in acts {
        act(&mut drawn, *one);
        drawn.walk.until("the smile", |walk| walk.exercising().is_up_to_date(walk.preparation()));
    }
    drawn.walk.until("the debrief", |walk| walk.exercising().sitting().stage() == Stage::Marked);
    assert!(is_marked(&drawn), "{level}");
    drawn.walk.until("the smile", |walk| walk.exercising().is_up_to_date(walk.preparation()));
    (drawn, folder)
}

const DEBRIEFS: &[(&str, &[Act])] = &[
    ("value-ladder", &[Act::Confirm]),
    ("nearest-tab", &[Act::Choose(2), Act::Tick, Act::Confirm]),
    ("blend-value-first", &[Act::Choose(1), Act::Pick, Act::Confirm]),
    ("bench-dark-central", &[Act::Confirm, Act::Yes]),
    (
        "try-in-first",
        &[
            Act::Confirm,
            Act::Confirm,
            Act::Confirm,
            Act::Confirm,
            Act::Confirm,
            Act::Pick,
            Act::Confirm,
        ],
    ),
    ("bracket-two-veneers", &[Act::Pick, Act::Move(1), Act::Pick, Act::Confirm, Act::Confirm]),
    ("margin-premolars", &[Act::Pick, Act::Confirm]),
    (
        "office-light",
        &[
            Act::Choose(0),
            Act::Pick,
            Act::Confirm,
            Act::No,
            Act::Confirm,
            Act::Choose(1),
            Act::Pick,
            Act::Confirm,
        ],
    ),
    ("at-a-glance", &[Act::Yes]),
];

#[test]
fn debriefs_of_questions_are_seen_whole_in_every_window() {
    let mut faults = Vec::new();
    for (level, acts) in DEBRIEFS {
        let (mut drawn, _folder) = debrief_of(level, acts);
        faults.extend(cut_off(&mut drawn, level));
        if *level == "bracket-two-veneers" {
            for look in [Intent::ToggleMap, Intent::ToggleSideBySide] {
                drawn.walk.intend(look.clone());
                faults.extend(cut_off(&mut drawn, &format!("{level} after {look:?}")));
            }
        }
    }
    none_is(&faults);
}

#[test]
fn charts_and_layers_are_seen_whole_in_every_window() {
    let (mut drawn, _folder) =
        debrief_of("blend-value-first", &[Act::Choose(1), Act::Pick, Act::Confirm]);
    let mut faults = Vec::new();
    for page in [Page::Chart, Page::Layers] {
        drawn.walk.intend(Intent::Exercise(ExerciseIntent::TogglePage(page)));
        drawn.walk.until("the page", |walk| walk.exercising().study().is_done(page));
        faults.extend(cut_off(&mut drawn, &format!("{page:?}")));
    }
    none_is(&faults);
}

/// To the debrief of the first smile, which holds a restoration or not, answered by the first
/// tooth.
fn debrief_of_smile(wants_restoration: bool) -> (Drawn, tempfile::TempDir) {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(folder.path(), [1280.0, 720.0]);
    drawn.walk.start();
    loop {
        drawn.walk.run_to_mask();
        let is_restored = {
            let session = drawn.walk.session();
            session.current().unwrap().case.odd_tooth().is_some()
        };
        let tooth = drawn.walk.session().plan().teeth[0];
        drawn.walk.intend(Intent::Answer(Some(tooth), InputDevice::Pointer));
        assert_eq!(drawn.walk.phase(), Phase::Debrief);
        if is_restored == wants_restoration {
            drawn.walk.frames(2);
            return (drawn, folder);
        }
        drawn.walk.intend(Intent::Continue);
    }
}

#[test]
fn debriefs_of_smiles_are_seen_whole_in_every_window() {
    let mut faults = Vec::new();
    for wants_restoration in [true, false] {
        let (mut drawn, _folder) = debrief_of_smile(wants_restoration);
        let what = format!("debrief of a smile, restored {wants_restoration}");
        faults.extend(cut_off(&mut drawn, &what));
        if wants_restoration {
            // Differences are said with the names of their parts.
            let has_units = |text: &String| text.starts_with("ΔL00 (ΔE00) by thirds:");
            assert!(all(&drawn).iter().any(has_units), "{:?}", all(&drawn));
            for look in [Intent::ToggleMap, Intent::ToggleSideBySide] {
                drawn.walk.intend(look.clone());
                faults.extend(cut_off(&mut drawn, &format!("debrief of a smile, {look:?}")));
            }
        }
    }
    none_is(&faults);
}

fn wanted_size(drawn: &Drawn) -> [u32; 2] {
    drawn.walk.app.world().resource::<PictureSize>().0
}

#[test]
fn a_smile_follows_the_size_of_the_window_but_not_while_it_is_judged() {
    let (mut drawn, _folder) = debrief_of_smile(true);
    let size = |drawn: &Drawn| drawn.walk.session().shown().unwrap().size();
    let before = size(&drawn);
    drawn.resize([832.0, 600.0]);
    assert_ne!(wanted_size(&drawn), before);
    drawn.walk.until("the smile at its new size", |walk| {
        walk.session().shown().unwrap().size() == [832, 450]
    });
    // The next is drawn for the window that it is shown in, and stays as it is until it is
    // answered.
    drawn.walk.intend(Intent::Continue);
    drawn.walk.until("a smile", |walk| walk.phase() == Phase::Exposure);
    assert_eq!(size(&drawn), [832, 450]);
    drawn.resize([1280.0, 720.0]);
    drawn.walk.until("the answer", |walk| matches!(walk.phase(), Phase::Response { .. }));
    assert_eq!(size(&drawn), [832, 450]);

    let (mut drawn, _folder) = debrief_of("bracket-two-veneers", DEBRIEFS[5].1);
    drawn.resize([832.0, 600.0]);
    let shown = |drawn: &Drawn| {
        let preparation = drawn.walk.app.world().resource::<Preparation>();
        drawn.walk.exercising().shown(preparation).map(|shown| shown.size())
    };
    // Until it is there, the old one stays.
    assert!(shown(&drawn).is_some());
    drawn.walk.until("the smile at its new size", |walk| {
        let shown = walk.exercising().shown(walk.preparation());
        shown.is_some_and(|shown| shown.size() == [832, 450])
    });
}

#[test]
fn a_page_opens_at_its_top_wherever_another_was_scrolled_to() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(folder.path(), [640.0, 480.0]);
    drawn.walk.intend(Intent::OpenAbout);
    drawn.walk.frames(3);
    let fresh = drawn.words();
    for _ in 0..2 {
        for _ in 0..6 {
            drawn.key(Key::PageDown, Modifiers::NONE);
            drawn.walk.frames(10);
        }
        assert_ne!(drawn.words(), fresh, "nothing was scrolled");
        drawn.walk.intend(Intent::BackToTitle);
        drawn.walk.frames(3);
        drawn.walk.intend(Intent::OpenAbout);
        drawn.walk.frames(3);
        assert_eq!(drawn.words(), fresh);
    }
}

#[test]
fn glyphs_are_on_their_way_in_the_frame_that_shows_them() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = Drawn::new(folder.path(), [1280.0, 720.0]);
    assert!(drawn.all_announced(), "at the first frame");
    for intent in [Intent::OpenAbout, Intent::BackToTitle, Intent::OpenMeasure] {
        drawn.walk.intend(intent.clone());
        for _ in 0..3 {
            drawn.walk.frames(1);
            assert!(drawn.all_announced(), "after {intent:?}");
        }
    }
}
