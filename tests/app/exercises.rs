//! Rounds of questions by keyboard, from the level list to stored rows, without a window.

use crate::harness::{CanDraw, QUESTIONS, Walk};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::Screen;
use second_glance::app::debrief::{DebriefView, Side};
use second_glance::app::exercising::{Draft, LightStep};
use second_glance::app::input::Intent;
use second_glance::exercise::blend::Standing;
use second_glance::exercise::{
    Answer, BlendAnswer, MatchChoice, Question, Stage, Task, TwoLightsAnswer,
};
use second_glance::results::AnswerRow;
use second_glance::trial::InputDevice;

fn enter(walk: &mut Walk) {
    walk.press(KeyCode::Enter, Key::Enter);
}

fn space(walk: &mut Walk) {
    walk.press(KeyCode::Space, Key::Space);
}

fn arrow(walk: &mut Walk, code: KeyCode, times: usize) {
    let key = match code {
        KeyCode::ArrowLeft => Key::ArrowLeft,
        KeyCode::ArrowRight => Key::ArrowRight,
        KeyCode::ArrowUp => Key::ArrowUp,
        _ => Key::ArrowDown,
    };
    for _ in 0..times {
        walk.press(code, key.clone());
    }
}

fn question(walk: &Walk) -> Question {
    walk.exercising().sitting().question().expect("a question").clone()
}

fn digit(walk: &mut Walk, option: usize) {
    walk.letter(&(option + 1).to_string());
}

/// Plays a round by keyboard and checks every row against the mark of the answer that was meant.
fn play(level: &str, exercise: &str, answer: impl Fn(&mut Walk) -> Answer) -> Vec<AnswerRow> {
    let mut walk = Walk::new();
    walk.start_round(level);
    for number in 0..QUESTIONS {
        walk.until_asked();
        let asked = question(&walk);
        assert_eq!((asked.number, asked.task.name()), (number, exercise));
        let meant = answer(&mut walk);
        assert_eq!(walk.exercising().sitting().stage(), Stage::Marked, "{:?}", walk.problem());
        // It is stored before it is explained.
        let rows = walk.answers();
        assert_eq!(rows.len(), number as usize + 1);
        let (row, mark) = (&rows[number as usize], asked.mark(&meant).unwrap());
        assert_eq!((&row.answer, &row.truth), (&meant.to_json(), &mark.truth));
        assert_eq!((row.score, row.regret_de00), (mark.score, mark.regret_de00));
        assert_eq!((row.correct, row.is_catch), (mark.right, asked.catch));
        assert_eq!((row.task.as_str(), row.level.as_str()), (exercise, level));
        assert_eq!(row.input_device, InputDevice::Keyboard);
        assert!(row.response_time_s > 0.0 && row.answer_s >= row.shown_s, "{row:?}");
        enter(&mut walk);
    }
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    assert!(walk.stored()[0].finished_at.is_some());
    assert_eq!(walk.problem(), None);
    walk.answers()
}

#[test]
fn ladder_by_keyboard() {
    let rows = play("value-ladder", "ladder", |walk| {
        let Task::Ladder(task) = question(walk).task else { panic!("a ladder") };
        let wanted = task.true_order();
        for place in 0..wanted.len() {
            let Some(Draft::Ladder(draft)) = walk.exercising().draft() else { panic!("a draft") };
            let from = draft.order.iter().position(|patch| *patch == wanted[place]).unwrap();
            digit(walk, from);
            space(walk);
            arrow(walk, KeyCode::ArrowLeft, from - place);
            space(walk);
        }
        enter(walk);
        Answer::Ladder(second_glance::exercise::LadderAnswer { order: wanted })
    });
    assert!(rows.iter().all(|row| row.score.is_none_or(|score| score > 99.9)), "{rows:?}");
}

#[test]
fn match_by_keyboard() {
    let rows = play("nearest-tab", "match", |walk| {
        let Task::Match(task) = question(walk).task else { panic!("a match") };
        let far = |tab: &usize| task.tabs[*tab].difference.de00;
        let nearest = (0..task.tabs.len()).min_by(|a, b| far(a).total_cmp(&far(b))).unwrap();
        // Nothing is chosen yet.
        enter(walk);
        assert!(walk.exercising().missing().is_some());
        digit(walk, nearest);
        space(walk);
        enter(walk);
        let choice = MatchChoice::Tab(nearest);
        Answer::Match(second_glance::exercise::MatchAnswer { choice })
    });
    assert!(rows.iter().all(|row| row.regret_de00.is_none_or(|r| r < 0.5)), "{rows:?}");
}

#[test]
fn verdict_by_keyboard_after_the_smile_is_gone() {
    play("at-a-glance", "verdict", |walk| {
        let Task::Verdict(task) = question(walk).task else { panic!("a verdict") };
        assert!(walk.exercising().may_look());
        walk.until("the end of the view", |walk| !walk.exercising().may_look());
        let seen_s = walk.exercising().sitting().asked_s();
        assert!((task.exposure_s..task.exposure_s + 0.1).contains(&seen_s), "{seen_s}");
        let accept = task.is_acceptable();
        walk.letter(if accept { "a" } else { "r" });
        Answer::Verdict(second_glance::exercise::VerdictAnswer { accept })
    });
}

#[test]
fn a_round_stopped_half_way_goes_on_where_it_stopped() {
    let folder = tempfile::tempdir().unwrap();
    let mut walk = Walk::in_folder(folder.path());
    walk.start_round("value-ladder");
    enter(&mut walk);
    enter(&mut walk);
    walk.until_asked();
    let second = question(&walk);
    // A pause does not age the question.
    walk.press(KeyCode::Escape, Key::Escape);
    let before = walk.exercising().sitting().asked_s();
    walk.frames(60);
    assert!(walk.exercising().sitting().asked_s() - before < 0.05);
    walk.intend(Intent::StopSession);
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    assert_eq!((walk.answers().len(), walk.stored()[0].finished_at.as_ref()), (1, None));
    drop(walk);

    let mut walk = Walk::in_folder(folder.path());
    walk.intend(Intent::ContinueLevel("value-ladder".to_owned()));
    walk.until("instructions", |walk| walk.screen() == Screen::Exercise);
    enter(&mut walk);
    walk.until_asked();
    assert_eq!(question(&walk), second);
    enter(&mut walk);
    enter(&mut walk);
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    let rows = walk.answers();
    assert_eq!(rows.iter().map(|row| row.number).collect::<Vec<_>>(), [0, 1]);
    assert_eq!(walk.stored().len(), 1);
}

#[test]
fn a_smile_that_cannot_be_drawn_ends_the_round_with_the_reason() {
    let mut walk = Walk::new();
    walk.app.insert_resource(CanDraw(false));
    walk.intend(Intent::StartLevel("at-a-glance".to_owned()));
    walk.until("summary", |walk| walk.screen() == Screen::Summary);
    assert!(walk.problem().unwrap().contains("the adapter went away"));
    assert!(walk.stored().is_empty());
}

#[test]
fn blend_by_keyboard_and_its_debrief() {
    let rows = play("blend-value-first", "blend", |walk| {
        let Task::Blend(task) = question(walk).task else { panic!("a blend") };
        // Looking around changes no answer.
        let sights = walk.exercising().sights();
        assert_eq!(sights.len(), task.options.len());
        for option in 0..sights.len() {
            digit(walk, option);
            assert_eq!(walk.exercising().in_view(), option);
            assert!(walk.exercising().is_up_to_date(walk.preparation()));
        }
        walk.letter("g");
        assert!(walk.exercising().shows_sheet());
        walk.letter("g");
        enter(walk);
        assert!(walk.exercising().missing().is_some(), "nothing was picked");
        let answer = if task.none_acceptable() {
            walk.letter("n");
            BlendAnswer::none()
        } else {
            let mut acceptable = Vec::new();
            for (option, truth) in task.options.iter().enumerate() {
                digit(walk, option);
                if option == task.best {
                    walk.letter("b");
                } else if truth.standing == Standing::Acceptable {
                    space(walk);
                } else {
                    continue;
                }
                acceptable.push(option);
            }
            BlendAnswer { best: Some(task.best), acceptable }
        };
        enter(walk);
        let view = |walk: &Walk| *walk.app.world().resource::<DebriefView>();
        assert_eq!(walk.exercising().in_view(), task.best);
        space(walk);
        walk.frames(20);
        assert_eq!(view(walk).side(), Some(Side::Twin));
        walk.letter("v");
        assert!(view(walk).value_only);
        digit(walk, 0);
        assert_eq!(walk.exercising().in_view(), 0);
        arrow(walk, KeyCode::ArrowLeft, 1);
        assert_eq!(walk.exercising().in_view(), task.options.len() - 1);
        Answer::Blend(answer)
    });
    assert!(rows.iter().all(|row| row.score == Some(100.0)), "{rows:?}");
    // Every option's restoration is stored with the question.
    let sights = rows[0].sights.as_array().unwrap();
    assert!(sights.iter().all(|sight| sight["restorations"][0]["ceramic"]["class"].is_string()));
}

#[test]
fn two_lights_by_keyboard_predict_before_they_show() {
    play("office-light", "two_lights", |walk| {
        let Task::TwoLights(task) = question(walk).task else { panic!("two lights") };
        let first: Vec<_> = walk.exercising().sights();
        digit(walk, 1);
        walk.letter("b");
        enter(walk);
        assert_eq!(walk.exercising().sights(), first, "not before the prediction");
        walk.letter("c");
        enter(walk);
        let Some(Draft::TwoLights(draft)) = walk.exercising().draft() else { panic!("a draft") };
        assert_eq!((draft.step, draft.current), (LightStep::Second, 1));
        assert_eq!(walk.exercising().sights(), task.second_sights);
        digit(walk, 2);
        space(walk);
        enter(walk);
        assert_eq!(walk.exercising().sights().len(), 2 * task.options.len());
        Answer::TwoLights(TwoLightsAnswer { choice: 1, keep: false, second_choice: 2 })
    });
}
