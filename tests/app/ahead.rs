//! The next smile is ready when the learner is: it is prepared while an answer is awaited, and
//! never while a smile is looked at. All by state and by counting frames, none by the clock.

use crate::harness::{FRAME_S, Walk};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::shell::state::Screen;
use second_glance::play::intents::Intent;
use second_glance::play::intents::MeasureChoice;
use second_glance::play::smiles::MOST_SMILES;
use second_glance::trial::Phase;
use std::time::Duration;

fn run_to_answer(walk: &mut Walk) {
    walk.run_to_mask();
    walk.until("answer", |walk| matches!(walk.phase(), Phase::Response { .. }));
}

fn next_is_ready(walk: &Walk) -> bool {
    let next = walk.session().next_case();
    next.is_some_and(|case| walk.preparation().ready(case).is_some())
}

/// Lets work go on until `reached` while hardly any time passes for the learner, who takes as long
/// as it takes.
fn ponder(walk: &mut Walk, what: &str, reached: impl Fn(&Walk) -> bool) {
    walk.frame_lasts(1e-6);
    for _ in 0..20_000 {
        if reached(walk) {
            walk.frame_lasts(FRAME_S);
            return;
        }
        walk.frames(1);
        std::thread::sleep(Duration::from_millis(20));
    }
    panic!("never reached: {what}; problem: {:?}", walk.problem());
}

/// Frames that the grey lasts from now on.
fn frames_of_grey(walk: &mut Walk) -> usize {
    for frames in 0.. {
        if walk.phase() != Phase::Preparing {
            return frames;
        }
        walk.frames(1);
    }
    unreachable!()
}

/// Frames of the planned grey. A change of phase shows in the frame after.
fn planned_grey(walk: &Walk) -> usize {
    (walk.session().plan().timing.gap_s / FRAME_S).round() as usize + 2
}

fn begin_measuring(walk: &mut Walk) {
    walk.frames(130);
    walk.intend(Intent::StartMeasure(MeasureChoice::Value));
    walk.until("adaptation", |walk| walk.screen() == Screen::Trial);
}

#[test]
fn in_practice_the_next_smile_is_ready_at_the_answer() {
    let mut walk = Walk::new();
    walk.start();
    run_to_answer(&mut walk);
    ponder(&mut walk, "the next smile", next_is_ready);
    assert!(matches!(walk.phase(), Phase::Response { .. }), "{:?}", walk.phase());
    let asked = walk.asked();
    let (code, key) = walk.right_key();
    walk.press(code, key);
    assert!(walk.phase() == Phase::Debrief && next_is_ready(&walk));
    walk.press(KeyCode::Enter, Key::Enter);
    let most = planned_grey(&walk);
    assert!(frames_of_grey(&mut walk) <= most);
    assert_eq!(walk.phase(), Phase::Fixation);
    assert_eq!(walk.asked(), asked, "nothing was left to draw");
    let waits = walk.session().waits_s();
    assert!(waits.len() == 1 && waits[0] <= 1.01 * FRAME_S, "{waits:?}");
}

#[test]
fn a_measured_smile_is_ready_at_the_answer_whatever_it_is() {
    let mut walk = Walk::new();
    begin_measuring(&mut walk);
    let mut seen_several = false;
    for answer in 0..3 {
        run_to_answer(&mut walk);
        let foreseen = |walk: &Walk| {
            let all = walk.session().mode().measuring().is_some_and(|m| m.foresees_all());
            let preparation = walk.preparation();
            all && preparation.count() > 0 && preparation.count_ready() == preparation.count()
        };
        ponder(&mut walk, "all that may follow", foreseen);
        assert!(walk.preparation().count() <= MOST_SMILES);
        seen_several |= walk.preparation().count() > 1;
        // Right, none and wrong: each leads to a smile that is there.
        let (code, key) = match answer {
            0 => walk.right_key(),
            1 => (KeyCode::KeyN, Key::Character("n".into())),
            _ => match walk.right_key().0 {
                KeyCode::Digit1 => (KeyCode::Digit2, Key::Character("2".into())),
                _ => (KeyCode::Digit1, Key::Character("1".into())),
            },
        };
        let asked = walk.asked();
        walk.press(code, key);
        assert_eq!(walk.phase(), Phase::Preparing, "{:?}", walk.problem());
        assert!(next_is_ready(&walk), "answer {answer}");
        assert_eq!(walk.preparation().count(), 1, "the others are dropped");
        let most = planned_grey(&walk);
        assert!(frames_of_grey(&mut walk) <= most);
        assert_eq!((walk.phase(), walk.asked()), (Phase::Fixation, asked));
    }
    assert!(seen_several, "some answer must matter for what comes next");
    let waits = walk.session().waits_s();
    assert!(waits.len() == 3 && waits.iter().all(|s| *s <= 1.01 * FRAME_S), "{waits:?}");
}

#[test]
fn nothing_is_begun_while_a_smile_is_looked_at() {
    let mut walk = Walk::new();
    begin_measuring(&mut walk);
    for _ in 0..2 {
        // Answered in a hurry, while guesses about what follows are being worked out.
        run_to_answer(&mut walk);
        walk.frames(3);
        walk.press(KeyCode::KeyN, Key::Character("n".into()));
        walk.until("fixation", |walk| walk.phase() == Phase::Fixation);
        let asked = walk.asked();
        assert!(walk.preparation().is_settled());
        while walk.phase() != Phase::Mask {
            walk.frames(1);
            assert!(walk.preparation().is_settled());
        }
        assert_eq!(walk.asked(), asked);
    }
}

/// On software rendering frames take a tenth of a second and drawing takes several of them.
#[test]
fn with_slow_frames_a_ready_smile_is_shown_in_the_next_one_and_for_its_time() {
    let mut walk = Walk::new();
    walk.start();
    let slow_s = 0.1;
    walk.frame_lasts(slow_s);
    walk.press(KeyCode::Enter, Key::Enter);
    let mut waited = 0;
    while walk.phase() != Phase::Fixation {
        waited += u32::from(walk.phase() == Phase::Preparing && next_is_ready(&walk));
        walk.frames(1);
        std::thread::sleep(Duration::from_millis(20));
    }
    assert!(waited <= 1, "{waited} frames although the smile was ready");
    walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    let mut frames = 0;
    while walk.phase() == Phase::Exposure {
        walk.frames(1);
        frames += 1;
    }
    // The walk sees a phase at the end of its frame.
    assert!((25..=26).contains(&frames), "2.5 s are 25 frames, not {frames}");
    walk.until("answer", |walk| matches!(walk.phase(), Phase::Response { .. }));
    let asked = walk.asked();
    // Drawing holds up frames here, so it waits for the answer; baking does not.
    for _ in 0..20 {
        walk.frames(1);
        std::thread::sleep(Duration::from_millis(20));
    }
    assert_eq!(walk.asked(), asked);
    let (code, key) = walk.right_key();
    walk.press(code, key);
    walk.until("the next smile", next_is_ready);
    assert_eq!(walk.phase(), Phase::Debrief);
}
