//! The window rests where nothing can change but by the learner, and nowhere else.

use crate::stage::{FRAME_S, Hands, Walk};
use bevy::ecs::message::Messages;
use bevy::input::keyboard::{Key, KeyCode};
use bevy::window::RequestRedraw;
use second_glance::app::shell::pace::Pace;
use second_glance::app::shell::state::Screen;
use second_glance::play::frames::FrameTimes;
use second_glance::play::intents::Intent;
use second_glance::play::view::{DebriefView, GAP_S, Side};
use second_glance::trial::Phase;
use std::time::Duration;

fn rests(walk: &Walk) -> Option<Duration> {
    walk.app.world().resource::<Pace>().rests()
}

fn refresh_hz(walk: &Walk) -> Option<f64> {
    walk.app.world().resource::<FrameTimes>().refresh_hz()
}

fn side(walk: &Walk) -> Option<Side> {
    walk.app.world().resource::<DebriefView>().side()
}

/// As [`Walk::until`], and the window does not rest on the way.
fn awake_until(walk: &mut Walk, what: &str, reached: impl Fn(&Walk) -> bool) {
    walk.until(what, |walk| {
        let reached = reached(walk);
        assert!(reached || rests(walk).is_none(), "at rest before {what}");
        reached
    });
}

#[test]
fn the_level_list_rests_once_the_refresh_is_known_and_resting_frames_do_not_count() {
    let mut walk = Walk::new();
    while refresh_hz(&walk).is_none() {
        assert_eq!(rests(&walk), None, "the refresh is being measured");
        walk.frames(1);
    }
    walk.frames((0.6 / FRAME_S) as usize);
    assert!(rests(&walk).is_some());
    let known = refresh_hz(&walk).unwrap();
    walk.frame_lasts(1.0);
    walk.frames(100);
    assert!(rests(&walk).is_some());
    assert_eq!(refresh_hz(&walk), Some(known), "a frame that waits is no refresh");
    // Where the display is to be judged, it is looked at anew.
    walk.frame_lasts(FRAME_S);
    walk.intend(Intent::OpenMeasure);
    walk.until("the setup", |walk| walk.screen() == Screen::MeasureSetup);
    walk.frames(100);
    assert_eq!(rests(&walk), None);
}

#[test]
fn a_trial_never_rests_and_its_debrief_does_until_something_moves() {
    let mut walk = Walk::new();
    walk.frames(120);
    assert!(rests(&walk).is_some());
    walk.intend(Intent::StartLevel(crate::stage::LEVEL.to_owned()));
    assert_eq!(rests(&walk), None, "awake in the frame of the key");
    awake_until(&mut walk, "adaptation", |walk| walk.screen() == Screen::Trial);
    walk.press(KeyCode::Enter, Key::Enter);
    awake_until(&mut walk, "exposure", |walk| walk.phase() == Phase::Exposure);
    awake_until(&mut walk, "response", |walk| matches!(walk.phase(), Phase::Response { .. }));
    let (code, key) = walk.right_key();
    walk.press(code, key);
    assert_eq!(walk.phase(), Phase::Debrief);
    walk.until("the next smile", |walk| walk.preparation().is_at_rest());
    walk.frames((0.6 / FRAME_S) as usize);
    assert!(rests(&walk).is_some());

    // A key ends a long rest: the grey between the two pictures begins only now.
    walk.frame_lasts(1.0);
    walk.intend(Intent::ToggleTwin);
    assert_eq!((side(&walk), rests(&walk)), (None, None));
    walk.frame_lasts(FRAME_S);
    walk.frames((GAP_S / FRAME_S) as usize - 2);
    assert_eq!(side(&walk), None, "the grey stands its time");
    walk.frames(4);
    assert_eq!(side(&walk), Some(Side::Twin));

    walk.intend(Intent::ToggleAutoBlink);
    walk.frames((3.0 / FRAME_S) as usize);
    assert_eq!(rests(&walk), None, "pictures change by themselves");
    walk.intend(Intent::ToggleAutoBlink);
    walk.frames((1.0 / FRAME_S) as usize);
    assert!(rests(&walk).is_some());

    walk.intend(Intent::Continue);
    assert_eq!(rests(&walk), None);
    awake_until(&mut walk, "the next exposure", |walk| walk.phase() == Phase::Exposure);
}

/// The loop of the window draws again whenever it is asked to, whether the window rests or not.
#[test]
fn an_interface_that_nobody_touches_asks_for_no_frame() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = Hands::new(folder.path(), [1280, 720]);
    hands.walk.frames(60);
    assert!(rests(&hands.walk).is_some());
    let mut asked = |frames: usize| -> usize {
        (0..frames)
            .map(|_| {
                hands.frame();
                let world = hands.walk.app.world_mut();
                world.resource_mut::<Messages<RequestRedraw>>().drain().count()
            })
            .sum()
    };
    asked(1);
    assert_eq!(asked(30), 0);
}
