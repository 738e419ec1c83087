//! Measuring, from the first screen to the stored result, without a window.

use crate::harness::{FRAME_S, Walk};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::room::measure::MeasuredSession;
use second_glance::app::shell::state::Screen;
use second_glance::play::intents::Intent;
use second_glance::play::intents::MeasureChoice;
use second_glance::play::measuring::report_of;
use second_glance::play::records::Records;
use second_glance::play::view::DebriefView;
use second_glance::psychophysics::instrument::Answer;
use second_glance::results::{Store, StoredMeasurement};
use second_glance::trial::{Phase, Response};
use std::path::Path;

fn begin(walk: &mut Walk) {
    walk.intend(Intent::OpenMeasure);
    walk.until("setup", |walk| walk.screen() == Screen::MeasureSetup);
    walk.frames(130);
    walk.intend(Intent::StartMeasure(MeasureChoice::Value));
    walk.until("adaptation", |walk| walk.screen() == Screen::Trial);
    assert!(matches!(walk.phase(), Phase::Adaptation { .. }), "{:?}", walk.phase());
}

/// Answers "none" to the next smile.
fn answer_none(walk: &mut Walk) {
    walk.run_to_mask();
    walk.press(KeyCode::KeyN, Key::Character("n".into()));
}

fn stored(folder: &Path) -> StoredMeasurement {
    let store = Store::open(folder).unwrap();
    let session = store.sessions().unwrap().last().unwrap().session;
    store.measurement(session).unwrap().unwrap()
}

#[test]
fn a_measured_block_gives_no_feedback_rests_and_goes_on_where_it_stopped() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::in_folder(folder.path());
    begin(&mut walk);
    for trial in 0..19 {
        answer_none(&mut walk);
        // No feedback: the grey before the next smile follows at once.
        assert_eq!(walk.phase(), Phase::Preparing, "trial {trial}: {:?}", walk.problem());
        assert_eq!(stored(folder.path()).trials.len(), trial + 1);
    }
    answer_none(&mut walk);
    // Twenty smiles, five of them without a restoration, make a block; then comes a rest.
    assert_eq!(walk.phase(), Phase::Debrief);
    let kept = stored(folder.path());
    let catches = kept.saved.records.iter().filter(|r| r.stimulus.signal.is_none()).count();
    assert_eq!((kept.trials.len(), catches), (20, 5));
    let timed = kept.trials.iter().all(|t| (t.refresh_hz_now - 60.0).abs() < 1e-3);
    assert!(timed && kept.trials.iter().all(|t| t.missed.is_none()));
    walk.frames(600);
    assert_eq!(walk.phase(), Phase::Debrief, "a rest lasts until it is ended");
    // There is nothing to compare in a rest, so no key changes how things are looked at.
    "vmsobn1".chars().for_each(|letter| walk.letter(&letter.to_string()));
    walk.press(KeyCode::Space, Key::Space);
    let view = *walk.app.world().resource::<DebriefView>();
    assert_eq!(
        DebriefView { showing: DebriefView::default().showing, ..view },
        DebriefView::default()
    );
    assert_eq!(view.side(), DebriefView::default().side());
    walk.press(KeyCode::Enter, Key::Enter);
    answer_none(&mut walk);
    walk.intend(Intent::StopSession);
    walk.until("the result", |walk| walk.screen() == Screen::Measured);
    let session = walk.app.world().resource::<MeasuredSession>().0;
    let rows = walk.rows();
    assert!(rows.iter().all(|row| row.mode == "measure" && row.level == "measure"));
    // Times of measuring, not of resting: 21 smiles of 2.5 s at least, and at most all simulated
    // time but the 10 s of rest. How long a smile takes to compose depends on the machine.
    let elapsed_s = stored(folder.path()).trials[20].elapsed_s;
    let most = walk.seconds() - 600.0 * FRAME_S;
    assert!((21.0 * 2.5..most).contains(&elapsed_s), "{elapsed_s} of {most}");
    assert!(walk.stored()[0].finished_at.is_none());
    drop(walk);

    // Who always says none is not measured, and is told so.
    let records = Records::open(Some(folder.path())).unwrap();
    let report = report_of(&records, session).unwrap();
    assert!(report.headline.starts_with("Not measured"), "{}", report.headline);
    assert_eq!((report.false_alarms.successes, report.false_alarms.total > 0), (0, true));
    drop(records);

    let mut walk = Walk::in_folder(folder.path());
    walk.frames(130);
    walk.intend(Intent::ContinueMeasure(session));
    walk.until("adaptation", |walk| walk.screen() == Screen::Trial);
    answer_none(&mut walk);
    let kept = stored(folder.path());
    assert_eq!(kept.trials.len(), 22);
    assert_eq!(kept.saved.records[21].stimulus.shown, 21);
    assert_eq!(walk.stored().len(), 1);
}

#[test]
fn a_missed_exposure_is_marked_and_does_not_count() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::in_folder(folder.path());
    begin(&mut walk);
    walk.press(KeyCode::Enter, Key::Enter);
    walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    walk.frame_lasts(5.0 * FRAME_S);
    walk.frames(2);
    walk.frame_lasts(FRAME_S);
    walk.frames(1);
    answer_none(&mut walk);
    let kept = stored(folder.path());
    assert_eq!(kept.saved.records[0].answer, Answer::Void);
    assert!(kept.trials[0].missed.as_ref().unwrap().contains("83 ms"), "{:?}", kept.trials[0]);
    assert_eq!(walk.session().mode().measuring().unwrap().measurement().instrument().trials(), 0);
}

#[test]
fn no_measuring_on_a_display_that_cannot_hold_exposures() {
    let mut walk = Walk::new();
    walk.frames(130);
    // There the window never rests, as the display is judged by its latest frames.
    walk.intend(Intent::OpenMeasure);
    for frame in 0..130 {
        walk.frame_lasts(if frame % 10 == 0 { 4.0 * FRAME_S } else { FRAME_S });
        walk.frames(1);
    }
    walk.intend(Intent::StartMeasure(MeasureChoice::Value));
    walk.until("a problem", |walk| walk.problem().is_some());
    assert!(walk.problem().unwrap().contains("came late"), "{:?}", walk.problem());
    assert_eq!(walk.screen(), Screen::MeasureSetup);
    assert!(walk.stored().is_empty());
}

#[test]
fn a_smile_to_be_searched_stays_until_the_press_and_its_time_is_stored() {
    let mut walk = Walk::new();
    walk.frames(130);
    walk.intend(Intent::StartLevel("find".to_owned()));
    walk.until("adaptation", |walk| walk.screen() == Screen::Trial);
    walk.press(KeyCode::Enter, Key::Enter);
    walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    walk.frames((3.0 / FRAME_S) as usize);
    assert_eq!(walk.phase(), Phase::Exposure, "2.5 s are not the end here");
    walk.press(KeyCode::Space, Key::Space);
    assert_eq!(walk.phase(), Phase::Mask);
    let (code, key) = walk.right_key();
    walk.press(code, key);
    // No feedback.
    assert_eq!(walk.phase(), Phase::Preparing);
    walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    walk.press(KeyCode::KeyN, Key::Character("n".into()));
    walk.until("exposure", |walk| walk.phase() == Phase::Exposure);
    walk.frames((8.1 / FRAME_S) as usize);
    let rows = walk.rows();
    assert_eq!(rows.len(), 3);
    let shown_s = |index: usize| {
        let onsets = rows[index].outcome.onsets;
        onsets.mask_s - onsets.onset_s
    };
    assert!((3.0..3.2).contains(&shown_s(0)), "{}", shown_s(0));
    assert!(shown_s(1) < 0.2 && rows[1].outcome.response == Response::None);
    // Letting it run is "none".
    assert!((shown_s(2) - 8.0).abs() < 0.03, "{}", shown_s(2));
    assert_eq!(rows[2].outcome.response, Response::None);
    assert!(rows.iter().all(|row| row.mode == "measure" && row.level == "find"));
}
