//! Choosing, measured, by keyboard: no feedback, grey between options, rows of mode "measure", and
//! going on after the program ended.

use crate::stage::{CHOICE_QUESTIONS, Walk};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::shell::state::Screen;
use second_glance::exercise::{CHOICE_ID, Question, Stage, Task};
use second_glance::play::intents::Intent;
use second_glance::play::records::Records;
use second_glance::play::round::{OPTION_GAP_S, choice_result};
use second_glance::play::view::DebriefView;
use second_glance::results::{AnswerRow, SessionInfo, Store};
use second_glance::trial::InputDevice;
use serde_json::json;
use std::path::Path;

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
        walk.letter('2');
        let mut grey_s = 0.0;
        walk.frames(1);
        while !walk.exercising().may_look() {
            grey_s += crate::stage::FRAME_S;
            walk.frames(1);
        }
        assert!((grey_s - OPTION_GAP_S).abs() < 0.06, "{grey_s}");
        // Value alone would change what is measured.
        walk.letter('v');
        assert!(!walk.app.world().resource::<DebriefView>().value_only);
        if task.none_acceptable() {
            walk.letter('n');
        } else {
            walk.press_digit(task.best + 1);
            walk.letter('b');
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
    assert_eq!(
        (stored[0].finished_at.as_ref(), stored[0].info.planned_trials),
        (None, CHOICE_QUESTIONS as u32)
    );
    assert_eq!(walk.problem(), None);
}

/// Answers by keys: the option of least difference, or "none" where that is right.
fn answer_by_keys(walk: &mut Walk) -> Question {
    walk.until_asked();
    let question = walk.exercising().sitting().question().unwrap().clone();
    let Task::Blend(task) = &question.task else { panic!("a question of Blend") };
    if task.none_acceptable() {
        walk.letter('n');
    } else {
        walk.press_digit(task.best + 1);
        walk.press(KeyCode::Space, Key::Space);
        walk.letter('b');
    }
    walk.press(KeyCode::Enter, Key::Enter);
    walk.frames(2);
    question
}

/// From the level list to the next question of a measurement of choosing that was begun.
/// Goes on with a measurement. Returns what was said about it, closed: below a message no key
/// answers.
fn go_on(walk: &mut Walk, session: i64) -> Option<String> {
    walk.intend(Intent::OpenMeasure);
    walk.until("setup", |walk| walk.screen() == Screen::MeasureSetup);
    walk.intend(Intent::ContinueChoice(session));
    walk.until("instructions", |walk| walk.screen() == Screen::Exercise);
    let said = walk.problem();
    if said.is_some() {
        walk.press(KeyCode::Enter, Key::Enter);
        assert_eq!(walk.problem(), None);
    }
    walk.press(KeyCode::Enter, Key::Enter);
    walk.until_asked();
    said
}

fn newest(folder: &Path) -> (i64, usize, bool) {
    let records = Records::open(Some(folder)).unwrap();
    let (kept, open) = records.latest_choice().unwrap().unwrap();
    (kept.session, kept.answered, open)
}

#[test]
fn choosing_goes_on_after_the_program_ended_and_ends_with_its_figures() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::in_folder(folder.path());
    walk.start_round(CHOICE_ID);
    for _ in 0..3 {
        answer_by_keys(&mut walk);
    }
    // The program ends in the middle of the fourth question.
    walk.until_asked();
    let fourth = walk.exercising().sitting().question().unwrap().clone();
    walk.letter('2');
    drop(walk);

    let (session, answered, open) = newest(folder.path());
    assert_eq!((answered, open), (3, true));
    let mut walk = Walk::in_folder(folder.path());
    assert_eq!(go_on(&mut walk, session), None);
    assert_eq!(walk.problem(), None);
    let sitting = walk.exercising().sitting();
    assert_eq!(sitting.answered(), 3);
    assert_eq!(sitting.question(), Some(&fourth), "the same question, to the last bit");
    let mut asked = Vec::new();
    for _ in 3..CHOICE_QUESTIONS {
        asked.push(answer_by_keys(&mut walk));
    }
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    let rows = walk.answers();
    let numbers: Vec<u32> = rows.iter().map(|row| row.number).collect();
    assert_eq!(numbers, (0..CHOICE_QUESTIONS as u32).collect::<Vec<_>>());
    assert!(rows.iter().all(|row| row.correct == Some(true)), "{rows:?}");
    // One of eight is asked again, mirrored: another tooth, another order.
    let again: Vec<&AnswerRow> =
        rows.iter().filter(|row| row.truth["measured"]["repeat_of"].is_u64()).collect();
    assert_eq!(again.len(), 1);
    let of = again[0].truth["measured"]["repeat_of"].as_u64().unwrap();
    assert!(u64::from(again[0].number) >= of + 5);
    let tooth = |row: &AnswerRow| row.truth["options"][0]["tooth"].as_u64().unwrap();
    assert_eq!(tooth(again[0]).abs_diff(tooth(&rows[of as usize])), 10);
    let stored = walk.stored();
    assert_eq!((stored.len(), stored[0].stored_trials), (1, CHOICE_QUESTIONS as u32));
    assert!(stored[0].finished_at.is_some());
    drop(walk);

    // All that was answered is in the result, not this run's part alone.
    assert_eq!(newest(folder.path()), (session, CHOICE_QUESTIONS, false));
    let records = Records::open(Some(folder.path())).unwrap();
    let result = choice_result(&records, session).unwrap();
    assert!(result.contains("8 questions answered."), "{result}");
    assert!(result.contains("8 of 8 answers right."), "{result}");
    assert!(result.contains("Only 1 question came again; 4 are needed"), "{result}");
}

#[test]
fn what_cannot_be_replayed_is_said_kept_and_begun_anew() {
    let folder = tempfile::tempdir().unwrap();
    // As an earlier version stored it: why the question was asked is not known.
    let store = Store::open(folder.path()).unwrap();
    let info = SessionInfo {
        started_at: "2026-01-31T09:30:00Z".to_owned(),
        build: "0.0.9".to_owned(),
        task: "blend".to_owned(),
        mode: "measure".to_owned(),
        level: CHOICE_ID.to_owned(),
        seed: 9001,
        refresh_hz: 60.0,
        planned_trials: 40,
        settings: json!({}),
    };
    let recording = store.begin(&info).unwrap();
    let options: Vec<_> = [0.7, 1.3, 1.3].map(|de00| json!({ "de00": de00, "dl00": 0.5 })).to_vec();
    let row = AnswerRow {
        number: 0,
        task: "blend".to_owned(),
        mode: "measure".to_owned(),
        level: CHOICE_ID.to_owned(),
        seed_key: "blend-value-first/9001/0/0".to_owned(),
        is_catch: false,
        light: Some("D65".to_owned()),
        sights: json!([]),
        truth: json!({ "options": options, "best": 0 }),
        answer: json!({ "best": 0, "acceptable": [0] }),
        score: Some(100.0),
        regret_de00: Some(0.0),
        correct: Some(true),
        shown_s: 1.0,
        answer_s: 2.0,
        response_time_s: 1.0,
        input_device: InputDevice::Keyboard,
    };
    store.append_answer(recording, &row).unwrap();
    drop(store);

    let mut walk = Walk::in_folder(folder.path());
    let problem = go_on(&mut walk, recording.session).unwrap();
    assert!(problem.contains("cannot go on: question 1 is not what"), "{problem}");
    assert!(problem.contains("Its answers are kept. A new one begins."), "{problem}");
    assert_eq!(walk.exercising().sitting().answered(), 0);
    answer_by_keys(&mut walk);
    let stored = walk.stored();
    let kept: Vec<(u64, u32)> = stored.iter().map(|s| (s.info.seed, s.stored_trials)).collect();
    assert_eq!(kept, [(9001, 1), (9002, 1)]);
    let store = Store::open(folder.path()).unwrap();
    assert_eq!(store.answers(recording.session).unwrap(), [row]);
    // What can be read is shown.
    let records = Records::open(Some(folder.path())).unwrap();
    let result = choice_result(&records, recording.session).unwrap();
    assert!(result.contains("No question came again; 4 are needed"), "{result}");
}

/// Forty questions in three runs of the program. `SECOND_GLANCE_RESULTS` names a folder that keeps
/// them, to draw screens of.
#[test]
fn a_whole_measurement_of_choosing_by_keyboard() {
    let passing = tempfile::tempdir().unwrap();
    let kept = std::env::var_os("SECOND_GLANCE_RESULTS");
    let folder = kept.as_deref().map_or(passing.path(), Path::new);
    let mut session = None;
    for (run, until) in [5_u32, 18, 40].into_iter().enumerate() {
        let mut walk = Walk::measuring_choice(folder, 40);
        match session {
            None => walk.start_round(CHOICE_ID),
            Some(session) => assert_eq!(go_on(&mut walk, session), None),
        }
        while walk.screen() == Screen::Exercise
            && walk.exercising().sitting().answered() < until as usize
        {
            walk.until("the next", |walk| {
                walk.screen() != Screen::Exercise
                    || walk.exercising().sitting().stage() == Stage::Asked
            });
            if walk.screen() != Screen::Exercise {
                break;
            }
            // Every third time the next option instead of the best, and then surely some regret.
            let sitting = walk.exercising().sitting();
            let number = sitting.answered();
            let Task::Blend(task) = &sitting.question().unwrap().task else { panic!() };
            let pick = if number % 3 == 2 { (task.best + 1) % 3 } else { task.best };
            walk.press_digit(pick + 1);
            walk.press(KeyCode::Space, Key::Space);
            walk.letter('b');
            walk.press(KeyCode::Enter, Key::Enter);
            walk.frames(2);
        }
        assert_eq!(walk.problem(), None);
        drop(walk);
        let (kept, answered, open) = newest(folder);
        println!("run {run}: {answered} answered, open: {open}");
        session = Some(kept);
    }
    let records = Records::open(Some(folder)).unwrap();
    let result = choice_result(&records, session.unwrap()).unwrap();
    println!("{result}");
    assert!(result.contains("40 questions answered."), "{result}");
    assert!(result.contains("From 35 picks:"), "{result}");
    assert!(result.contains("5 questions came again mirrored: you chose alike in"), "{result}");
    // The kappa that is told, worked from the rows: places of the first of each two.
    let rows = records.answers(session.unwrap()).unwrap();
    let place = |row: &AnswerRow| row.answer["best"].as_u64().unwrap();
    let pairs: Vec<(u64, u64)> = rows
        .iter()
        .filter_map(|row| {
            let of = row.truth["measured"]["repeat_of"].as_u64()?;
            let before = row.truth["measured"]["places"][place(row) as usize].as_u64()?;
            Some((place(&rows[of as usize]), before))
        })
        .collect();
    assert_eq!(pairs.len(), 5);
    let share = |of: &dyn Fn(&(u64, u64)) -> bool| {
        pairs.iter().filter(|pair| of(pair)).count() as f64 / 5.0
    };
    let chance: f64 = (0..3).map(|k| share(&|p| p.0 == k) * share(&|p| p.1 == k)).sum();
    let kappa = (share(&|p| p.0 == p.1) - chance) / (1.0 - chance);
    assert!(result.contains(&format!("Kappa {kappa:.2}, 95 % ")), "{kappa}: {result}");
}
