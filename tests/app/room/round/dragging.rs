//! Patches and tabs dragged with a pointer.

use crate::stage::Hands;
use crate::stage::pointer_play::{begin, order, question};
use bevy_egui::egui::{Pos2, pos2, vec2};
use second_glance::exercise::{Answer, LadderAnswer, MatchChoice, Stage, Task};
use second_glance::play::answer::Draft;
use second_glance::play::intents::Intent;
use second_glance::trial::InputDevice;

fn asked(folder: &tempfile::TempDir, level: &str) -> Hands {
    let mut hands = Hands::new(folder.path(), [1280, 720]);
    hands.walk.intend(Intent::StartLevel(level.to_owned()));
    begin(&mut hands);
    hands
}

fn patch(hands: &mut Hands, place: usize) -> Pos2 {
    hands.reach(&format!("patch in place {} ", place + 1)).rect.center()
}

/// The patches after one of them was carried; those between close up.
fn carried(mut order: Vec<usize>, from: usize, to: usize) -> Vec<usize> {
    let patch = order.remove(from);
    order.insert(to, patch);
    order
}

/// The button goes down at a place, a frame after the pointer came there.
fn take_hold(hands: &mut Hands, from: Pos2) {
    hands.point(from);
    hands.frame();
    hands.button(true);
    hands.frame();
}

/// The button goes up.
fn let_go(hands: &mut Hands) {
    hands.button(false);
    hands.frame();
    hands.frame();
}

#[test]
fn a_patch_goes_where_it_is_dragged() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = asked(&folder, "value-ladder");
    let before = order(&hands);
    let last = before.len() - 1;
    // Down, several moves over several frames, up.
    let (from, to) = (patch(&mut hands, 0), patch(&mut hands, 2));
    let way: Vec<Pos2> = (1..6).map(|k| from + k as f32 / 6.0 * (to - from)).collect();
    hands.drag(from, &way, to);
    let now = carried(before, 0, 2);
    assert_eq!(order(&hands), now);

    // All of it within one frame, as on a machine that draws few.
    let (from, to) = (patch(&mut hands, 1), patch(&mut hands, 3));
    hands.point(from);
    hands.button(true);
    hands.point(from + 0.5 * (to - from));
    hands.point(to);
    let_go(&mut hands);
    let now = carried(now, 1, 3);
    assert_eq!(order(&hands), now);

    // The last move and the release in one frame.
    let (from, to) = (patch(&mut hands, 3), patch(&mut hands, 0));
    take_hold(&mut hands, from);
    hands.point(to);
    let_go(&mut hands);
    let now = carried(now, 3, 0);
    assert_eq!(order(&hands), now);

    // Out of the window and let go there: to the end on that side.
    let from = patch(&mut hands, 1);
    let outside = pos2(2000.0, from.y + 30.0);
    take_hold(&mut hands, from);
    hands.point(pos2(1100.0, from.y));
    hands.frame();
    hands.leave();
    hands.point(outside);
    hands.frame();
    let_go(&mut hands);
    let now = carried(now, 1, last);
    assert_eq!(order(&hands), now);

    // Out of the window and back in again.
    let (from, to) = (patch(&mut hands, last), patch(&mut hands, 2));
    hands.drag(from, &[pos2(-60.0, from.y), pos2(700.0, -40.0)], to);
    let now = carried(now, last, 2);
    assert_eq!(order(&hands), now);

    // Less than half way it stays; a click goes to it and moves nothing.
    let from = patch(&mut hands, 2);
    hands.drag(from, &[from + vec2(20.0, 4.0)], from + vec2(30.0, 8.0));
    let at = patch(&mut hands, 4);
    hands.click_at(at);
    assert_eq!(order(&hands), now);
    let Some(Draft::Ladder(draft)) = hands.walk.exercising().draft() else { panic!("patches") };
    assert_eq!((draft.cursor, draft.held), (4, false));

    // Press and release in one frame are a click, too.
    let at = patch(&mut hands, 0);
    hands.point(at);
    hands.button(true);
    let_go(&mut hands);
    let Some(Draft::Ladder(draft)) = hands.walk.exercising().draft() else { panic!("patches") };
    assert_eq!((draft.cursor, &draft.order), (0, &now));

    hands.click("Done");
    let row = &hands.walk.answers()[0];
    assert_eq!(row.answer, Answer::Ladder(LadderAnswer { order: now }).to_json());
    assert_eq!(row.input_device, InputDevice::Pointer);
}

#[test]
fn a_drag_does_not_outlive_its_question() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = asked(&folder, "value-ladder");
    let (from, to) = (patch(&mut hands, 0), patch(&mut hands, 3));
    take_hold(&mut hands, from);
    hands.point(to);
    hands.frame();
    // Answered by key with the button down, which goes up in the debrief.
    hands.walk.enter();
    assert_eq!(hands.walk.exercising().sitting().stage(), Stage::Marked);
    hands.button(false);
    hands.frame();
    hands.walk.enter();
    hands.walk.until_asked();
    hands.frame();
    let fresh = order(&hands);
    hands.point(from);
    hands.frame();
    hands.frame();
    assert_eq!(order(&hands), fresh);
}

#[test]
fn a_tab_is_chosen_by_a_click_or_held_beside_the_tooth() {
    let folder = tempfile::tempdir().unwrap();
    let mut hands = asked(&folder, "nearest-tab");
    let Task::Match(_) = question(&hands).task else { panic!("tabs") };
    let tab =
        |hands: &mut Hands, number: usize| hands.reach(&format!("tab {number} ")).rect.center();
    let chosen = |hands: &Hands| match hands.walk.exercising().draft() {
        Some(Draft::Match(draft)) => draft.chosen.clone(),
        _ => panic!("tabs"),
    };
    let beside = pos2(640.0, 150.0);
    let from = tab(&mut hands, 3);
    hands.drag(from, &[from - vec2(0.0, 120.0), beside + vec2(0.0, 40.0)], beside);
    assert_eq!(chosen(&hands), [2]);
    // Held up once more, it stays chosen; within the strip nothing is chosen by a drag.
    hands.drag(from, &[beside], beside);
    let (one, other) = (tab(&mut hands, 1), tab(&mut hands, 2));
    hands.drag(one, &[one + vec2(10.0, 0.0)], other);
    assert_eq!(chosen(&hands), [2]);
    hands.click_at(one);
    assert_eq!(chosen(&hands), [2, 0]);
    // A hand that shakes clicks all the same, and a second click takes the choice back.
    hands.drag(one, &[one + vec2(9.0, 5.0)], one + vec2(7.0, 0.0));
    assert_eq!(chosen(&hands), [2]);
    hands.click("Done");
    let answer = MatchChoice::Tab(2);
    let row = &hands.walk.answers()[0];
    let wanted = Answer::Match(second_glance::exercise::MatchAnswer { choice: answer });
    assert_eq!((&row.answer, row.input_device), (&wanted.to_json(), InputDevice::Pointer));
}
