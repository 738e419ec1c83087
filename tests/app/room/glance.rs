//! From the level list through trials and debriefs to stored rows, without a window.

use crate::stage::{CanDraw, FRAME_S, LEVEL, TRIALS, Walk};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::play::intents::Intent;
use second_glance::play::view::{DebriefView, Look, Side};
use second_glance::trial::{InputDevice, Phase, Response, Verdict};

fn escape(walk: &mut Walk) {
    walk.press(KeyCode::Escape, Key::Escape);
}

#[test]
fn a_session_by_keyboard_ends_in_rows_and_a_summary() {
    let mut walk = Walk::new();
    assert_eq!(walk.screen(), Screen::Title);
    walk.start();
    for trial in 0..TRIALS {
        walk.run_to_mask();
        assert_eq!(walk.session().trial(), Some(trial));
        let (code, key) = walk.right_key();
        walk.press(code, key);
        assert_eq!(walk.phase(), Phase::Debrief);
        // An answer is stored before it is explained.
        assert_eq!(walk.rows().len(), trial as usize + 1);
        let outcome = *walk.session().last_outcome().unwrap();
        assert!(outcome.verdict.is_right(), "{outcome:?}");
        assert_eq!(walk.session().cause().is_some(), outcome.restored.is_some());
        walk.press(KeyCode::Enter, Key::Enter);
    }
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    let rows = walk.rows();
    for row in &rows {
        let outcome = &row.outcome;
        assert_eq!(outcome.input_device, Some(InputDevice::Keyboard));
        // 2.5 s at 60 Hz, none missing.
        let exposure = outcome.exposure;
        assert_eq!((exposure.requested_frames, exposure.shown_frames), (150, 150));
        assert_eq!(exposure.dropped_frames, 0);
        assert_eq!(row.difference.is_some(), outcome.restored.is_some());
        assert_eq!(row.mode, "practice");
    }
    // One smile in four has no restoration: a design choice that the adaptation screen tells.
    assert_eq!(rows.iter().filter(|row| row.outcome.restored.is_none()).count(), 1);
    let stored = &walk.stored()[0];
    assert!(stored.finished_at.is_some());
    assert_eq!(stored.info.settings["adaptation_cut_short"], true);
    walk.intend(Intent::BackToTitle);
    walk.until("level list", |walk| walk.screen() == Screen::Title);
}

#[test]
fn the_arrow_keys_answer_and_early_keys_do_not() {
    let mut walk = Walk::new();
    walk.start();
    walk.press(KeyCode::Enter, Key::Enter);
    walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    walk.press(KeyCode::Digit1, Key::Character("1".into()));
    walk.press(KeyCode::Enter, Key::Enter);
    assert_eq!(walk.phase(), Phase::Exposure);
    walk.until("response", |walk| matches!(walk.phase(), Phase::Response { .. }));
    let start = walk.session().cursor();
    walk.press(KeyCode::ArrowLeft, Key::ArrowLeft);
    walk.press(KeyCode::ArrowLeft, Key::ArrowLeft);
    walk.press(KeyCode::ArrowRight, Key::ArrowRight);
    assert_eq!(walk.session().cursor(), start - 1);
    walk.press(KeyCode::Enter, Key::Enter);
    assert_eq!(walk.phase(), Phase::Debrief);
    let expected = Response::Tooth(walk.session().plan().teeth[start - 1]);
    assert_eq!(walk.rows()[0].outcome.response, expected);
}

#[test]
fn a_pointer_answer_is_stored_as_one() {
    let mut walk = Walk::new();
    walk.start();
    walk.run_to_mask();
    let tooth = walk.session().plan().teeth[0];
    walk.intend(Intent::Answer(Some(tooth), InputDevice::Pointer));
    assert_eq!(walk.phase(), Phase::Debrief);
    let outcome = walk.rows()[0].outcome;
    assert_eq!(outcome.input_device, Some(InputDevice::Pointer));
    assert_eq!(outcome.response, Response::Tooth(tooth));
}

#[test]
fn silence_runs_out_of_time() {
    let mut walk = Walk::new();
    walk.start();
    walk.run_to_mask();
    // Six seconds from the mask's onset, give or take a frame.
    walk.frames((5.9 / FRAME_S) as usize);
    assert!(matches!(walk.phase(), Phase::Response { .. }), "{:?}", walk.phase());
    walk.frames((0.2 / FRAME_S) as usize);
    assert_eq!(walk.phase(), Phase::Debrief);
    let outcome = walk.rows()[0].outcome;
    assert_eq!((outcome.response, outcome.verdict), (Response::Timeout, Verdict::TimedOut));
    assert_eq!((outcome.response_time_s, outcome.input_device), (None, None));
}

#[test]
fn a_session_stopped_half_way_keeps_its_rows_and_can_be_continued() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::in_folder(folder.path());
    walk.start();
    walk.answer_and_go_on();
    walk.answer_and_go_on();
    escape(&mut walk);
    assert_eq!(walk.pause(), Pause::Paused);
    walk.intend(Intent::StopSession);
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    assert_eq!(walk.pause(), Pause::Running);
    assert_eq!(walk.rows().len(), 2);
    assert_eq!(walk.stored()[0].finished_at, None);

    // A new start of the program on the same folder.
    drop(walk);
    let mut walk = Walk::in_folder(folder.path());
    walk.intend(Intent::ContinueLevel(LEVEL.to_owned()));
    walk.until("adaptation", |walk| walk.screen() == Screen::Trial);
    assert_eq!(walk.session().trial(), Some(2));
    walk.answer_and_go_on();
    walk.answer_and_go_on();
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    assert_eq!(walk.stored().len(), 1);
    assert!(walk.stored()[0].finished_at.is_some());
    let trials: Vec<u32> = walk.rows().iter().map(|row| row.outcome.trial).collect();
    assert_eq!(trials, [0, 1, 2, 3]);
}

#[test]
fn leaving_before_the_first_smile_stores_nothing() {
    let mut walk = Walk::new();
    walk.start();
    walk.intend(Intent::StopSession);
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    assert!(walk.stored().is_empty());
}

#[test]
fn slow_frames_in_an_exposure_are_recorded_as_dropped() {
    let mut walk = Walk::new();
    walk.start();
    walk.press(KeyCode::Enter, Key::Enter);
    walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    walk.frames(10);
    // Three refresh periods each: two of them without a new frame.
    walk.frame_lasts(3.0 * FRAME_S);
    walk.frames(5);
    walk.frame_lasts(FRAME_S);
    walk.until("mask", |walk| walk.phase() == Phase::Mask);
    let (code, key) = walk.right_key();
    walk.press(code, key);
    let exposure = walk.rows()[0].outcome.exposure;
    assert_eq!(exposure.dropped_frames, 10, "{exposure:?}");
    assert!((exposure.longest_frame_ms - 50.0).abs() < 1e-3, "{exposure:?}");
    assert_eq!(exposure.requested_frames, 150);
    assert!(exposure.shown_frames < 150, "{exposure:?}");
}

#[test]
fn a_pause_stops_the_adaptation_but_is_no_second_look() {
    let mut walk = Walk::new();
    walk.start();
    escape(&mut walk);
    let before = walk.phase();
    walk.frames(30);
    assert_eq!(walk.phase(), before);
    escape(&mut walk);
    walk.frames(30);
    assert_ne!(walk.phase(), before);

    walk.press(KeyCode::Enter, Key::Enter);
    walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    escape(&mut walk);
    assert_eq!(walk.pause(), Pause::Paused);
    walk.until("debrief", |walk| walk.phase() == Phase::Debrief);
    assert_eq!(walk.rows()[0].outcome.verdict, Verdict::TimedOut);
}

#[test]
fn the_debrief_blinks_by_way_of_grey_and_shows_value_alone() {
    let mut walk = Walk::new();
    walk.start();
    walk.run_to_mask();
    let (code, key) = walk.right_key();
    walk.press(code, key);
    let view = |walk: &Walk| *walk.app.world().resource::<DebriefView>();
    assert_eq!(view(&walk).side(), Some(Side::Restored));
    walk.press(KeyCode::Space, Key::Space);
    assert_eq!(view(&walk).side(), None);
    walk.frames(20);
    assert_eq!(view(&walk).side(), Some(Side::Twin));
    walk.press(KeyCode::KeyV, Key::Character("v".into()));
    assert!(view(&walk).value_only);
    for (key, code, look) in [
        ("m", KeyCode::KeyM, Look::Map),
        ("s", KeyCode::KeyS, Look::SideBySide),
        ("s", KeyCode::KeyS, Look::Smile),
    ] {
        // Without a restoration there is nothing to compare.
        let look =
            if walk.session().shown().unwrap().scene.truth.is_some() { look } else { Look::Smile };
        walk.press(code, Key::Character(key.into()));
        assert_eq!(view(&walk).look, look);
    }
    walk.press(KeyCode::KeyO, Key::Character("o".into()));
    assert!(!view(&walk).outlines);
    walk.press(KeyCode::KeyB, Key::Character("b".into()));
    walk.until("the other picture", |walk| view(walk).side() == Some(Side::Restored));
    // The next debrief starts afresh.
    walk.press(KeyCode::Enter, Key::Enter);
    walk.run_to_mask();
    assert_eq!(view(&walk), DebriefView::default());
}

#[test]
fn what_goes_wrong_is_said_and_does_not_end_the_program() {
    let mut walk = Walk::new();
    walk.intend(Intent::StartLevel("no-such-level".to_owned()));
    walk.until("a problem", |walk| walk.problem().is_some());
    assert!(walk.problem().unwrap().contains(LEVEL), "the known levels are listed");
    assert_eq!(walk.screen(), Screen::Title);
    walk.intend(Intent::DismissProblem);
    assert_eq!(walk.problem(), None);

    walk.app.insert_resource(CanDraw(false));
    walk.start();
    walk.until("a problem", |walk| walk.problem().is_some());
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    assert!(walk.problem().unwrap().contains("the adapter went away"));
    assert!(walk.stored().is_empty());
}
