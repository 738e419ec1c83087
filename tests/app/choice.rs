//! Choosing, measured, by keyboard: no feedback, grey between options, rows of mode "measure".

use crate::harness::Walk;
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::Screen;
use second_glance::app::debrief::DebriefView;
use second_glance::app::exercising::OPTION_GAP_S;
use second_glance::app::input::Intent;
use second_glance::exercise::{CHOICE_ID, Stage, Task};

#[test]
fn choosing_is_measured_without_a_word_and_with_grey_between_options() {
    let mut walk = Walk::new();
    walk.start_round(CHOICE_ID);
    for number in 0..2 {
        walk.until_asked();
        let question = walk.exercising().sitting().question().unwrap().clone();
        assert_eq!(question.number, number);
        let Task::Blend(task) = &question.task else { panic!("a question of Blend") };
        // Grey comes between options, for as long as it should.
        assert!(walk.exercising().may_look());
        walk.letter("2");
        let mut grey_s = 0.0;
        walk.frames(1);
        while !walk.exercising().may_look() {
            grey_s += crate::harness::FRAME_S;
            walk.frames(1);
        }
        assert!((grey_s - OPTION_GAP_S).abs() < 0.06, "{grey_s}");
        // Value alone would change what is measured.
        walk.letter("v");
        assert!(!walk.app.world().resource::<DebriefView>().value_only);
        if task.none_acceptable() {
            walk.letter("n");
        } else {
            walk.letter(&(task.best + 1).to_string());
            walk.letter("b");
        }
        walk.press(KeyCode::Enter, Key::Enter);
        walk.frames(2);
        // It is stored at once, and nothing is said.
        let rows = walk.answers();
        assert_eq!(rows.len(), number as usize + 1);
        assert_eq!((rows[0].mode.as_str(), rows[0].level.as_str()), ("measure", CHOICE_ID));
        assert_eq!(rows[number as usize].correct, Some(true));
        assert_eq!(walk.exercising().sitting().stage(), Stage::Preparing);
    }
    walk.intend(Intent::StopSession);
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    let stored = walk.stored();
    assert_eq!((stored.len(), stored[0].stored_trials), (1, 2));
    assert_eq!((stored[0].finished_at.as_ref(), stored[0].info.planned_trials), (None, 40));
    assert_eq!(walk.problem(), None);
}
