//! The guided first hour by pointer alone, every step from the level list through its answers and
//! debriefs to the summary and back, in three sizes of window: the smallest that all must fit, 1280
//! × 720 and 1920 × 1080. Every target lies in the window, or the wheel brings it there.

use crate::stage::pointer_play::{play_round, play_session};
use crate::stage::{Hands, Target};
use second_glance::app::shell::state::Screen;
use second_glance::play::content::FIRST_HOUR;
use second_glance::results::Store;
use second_glance::trial::InputDevice;

/// Plays every step of the first hour in a window of this size.
fn walk_through(size: [u32; 2]) {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = Hands::new(folder.path(), size);
    for (step, (level, _)) in FIRST_HOUR.iter().enumerate() {
        assert_eq!(hands.walk.screen(), Screen::Title, "{level}");
        // The steps come first in the list, each with one button as long as none was left half-way.
        let is_start = |target: &Target| target.label == "Start";
        let start = hands.reach_one("Start", step, is_start);
        hands.click_at(start.rect.center());
        hands
            .walk
            .until("the step", |walk| matches!(walk.screen(), Screen::Trial | Screen::Exercise));
        if hands.walk.screen() == Screen::Trial {
            play_session(&mut hands);
        } else {
            play_round(&mut hands);
        }
        assert_eq!(hands.walk.problem(), None, "{level}");
        let stored = hands.walk.stored();
        let last = stored.last().expect("the step is stored");
        assert_eq!(last.info.level.as_str(), *level);
        assert!(last.finished_at.is_some(), "{level} is played to its end");
        assert_by_pointer(&Store::open(folder.path()).unwrap(), last.session, level);
        hands.click("Back to the levels");
        hands.walk.until("the list", |walk| walk.screen() == Screen::Title);
        hands.frame();
        let done = hands.texts().iter().filter(|text| text.ends_with("(done)")).count();
        assert!(done > step, "{level} is not called done");
    }
}

/// Whether all that was answered in a session is stored as answered by pointer.
fn assert_by_pointer(store: &Store, session: i64, level: &str) {
    let glances = store.trials(session).unwrap();
    let answers = store.answers(session).unwrap();
    assert!(!glances.is_empty() || !answers.is_empty(), "{level}: nothing is stored");
    for row in glances {
        assert_eq!(row.outcome.input_device, Some(InputDevice::Pointer), "{level}");
    }
    for row in answers {
        assert_eq!(row.input_device, InputDevice::Pointer, "{level}");
    }
}

#[test]
fn the_first_hour_by_pointer_at_1280_by_720() {
    walk_through([1280, 720]);
}

#[test]
fn the_first_hour_by_pointer_at_832_by_600() {
    walk_through([832, 600]);
}

#[test]
fn the_first_hour_by_pointer_at_1920_by_1080() {
    walk_through([1920, 1080]);
}
