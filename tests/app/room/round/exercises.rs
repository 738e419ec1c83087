//! Rounds of questions by keyboard, from the level list to stored rows, without a window.

use crate::stage::{CanDraw, QUESTIONS, Walk};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::shell::state::Screen;
use second_glance::exercise::blend::Standing;
use second_glance::exercise::{
    Answer, BenchAnswer, BlendAnswer, BracketAnswer, EffectDirection, MarginAnswer, MatchChoice,
    Prediction, Question, RecipePart, Stage, Task, TryInAnswer, TwoLightsAnswer,
};
use second_glance::play::answer::{Draft, LightStep};
use second_glance::play::intents::Intent;
use second_glance::play::view::{DebriefView, Side};
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
    walk.press_digit(option + 1);
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
        for (place, wanted) in wanted.iter().enumerate() {
            let Some(Draft::Ladder(draft)) = walk.exercising().draft() else { panic!("a draft") };
            let from = draft.order.iter().position(|patch| patch == wanted).unwrap();
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
        let mut nearest: Vec<usize> = (0..task.tabs.len()).collect();
        nearest.sort_by(|a, b| far(a).total_cmp(&far(b)));
        // Nothing is chosen yet.
        enter(walk);
        assert!(walk.exercising().missing().is_some());
        // Without an exact tab the target lies between two.
        let chosen = if task.exact.is_some() { 1 } else { 2 };
        for tab in &nearest[..chosen] {
            digit(walk, *tab);
            space(walk);
        }
        enter(walk);
        let choice = match nearest[..chosen] {
            [one] => MatchChoice::Tab(one),
            _ => MatchChoice::Between(nearest[0].min(nearest[1]), nearest[0].max(nearest[1])),
        };
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
        walk.letter(if accept { 'a' } else { 'r' });
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
        walk.letter('g');
        assert!(walk.exercising().shows_sheet());
        walk.letter('g');
        enter(walk);
        assert!(walk.exercising().missing().is_some(), "nothing was picked");
        let answer = if task.none_acceptable() {
            walk.letter('n');
            BlendAnswer::none()
        } else {
            let mut acceptable = Vec::new();
            for (option, truth) in task.options.iter().enumerate() {
                digit(walk, option);
                if option == task.best {
                    walk.letter('b');
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
        walk.letter('v');
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
        walk.letter('b');
        enter(walk);
        assert_eq!(walk.exercising().sights(), first, "not before the prediction");
        walk.letter('c');
        enter(walk);
        let Some(Draft::TwoLights(draft)) = walk.exercising().draft() else { panic!("a draft") };
        assert_eq!((draft.step, draft.current), (LightStep::Second, 1));
        assert_eq!(walk.exercising().sights(), task.second_sights);
        digit(walk, 2);
        walk.letter('b');
        enter(walk);
        assert_eq!(walk.exercising().sights().len(), 2 * task.options.len());
        Answer::TwoLights(TwoLightsAnswer { choice: 1, keep: false, second_choice: 2 })
    });
}

/// Presses a key of the bench until a part of the recipe is the one that keys change.
fn go_to_part(walk: &mut Walk, part: RecipePart) {
    for _ in 0..RecipePart::ALL.len() {
        let Some(Draft::Bench(draft)) = walk.exercising().draft() else { panic!("a recipe") };
        if draft.part == part {
            return;
        }
        arrow(walk, KeyCode::ArrowDown, 1);
    }
    panic!("there is no such part");
}

#[test]
fn bench_by_keyboard_composes_compares_and_tries() {
    play("bench-light-tooth", "bench", |walk| {
        let Task::Bench(task) = question(walk).task else { panic!("a bench") };
        let recipe = |walk: &Walk| match walk.exercising().draft() {
            Some(Draft::Bench(draft)) => draft.recipe().clone(),
            _ => panic!("a recipe"),
        };
        walk.letter('A');
        go_to_part(walk, RecipePart::Lightness);
        let direction = if recipe(walk).ceramic.shade.l > 75.0 {
            KeyCode::ArrowLeft
        } else {
            KeyCode::ArrowRight
        };
        arrow(walk, direction, 2);
        let changed = recipe(walk);
        assert!((changed.ceramic.shade.l - task.start.ceramic.shade.l).abs() > 1.5);
        walk.letter('u');
        walk.letter('u');
        assert_eq!(recipe(walk), task.start);
        walk.letter('r');
        walk.letter('r');
        assert_eq!(recipe(walk), changed);
        walk.letter('a');
        assert_eq!(recipe(walk), task.start, "the kept recipe is in view");
        walk.letter('a');
        // The smile follows, and an attempt waits for it.
        let mut attempts = Vec::new();
        while walk.exercising().sitting().stage() == Stage::Asked {
            let current = recipe(walk);
            let made = attempts.len();
            enter(walk);
            walk.until("the attempt", |walk| match walk.exercising().draft() {
                Some(Draft::Bench(draft)) => draft.attempts.len() > made,
                _ => false,
            });
            let Some(Draft::Bench(draft)) = walk.exercising().draft() else { panic!("a recipe") };
            assert_eq!(draft.attempts[made].recipe, current);
            // Twice computed by different ways: the answer's truth is that of the whole bake.
            let scene =
                second_glance::bake::bake(&task.case_with(&current), crate::stage::library());
            let truth = scene.unwrap().truth.unwrap().difference;
            assert_eq!(draft.attempts[made].difference, truth);
            attempts = draft.attempts.clone();
            arrow(walk, KeyCode::ArrowRight, 1);
        }
        Answer::Bench(BenchAnswer { attempts, change_plan: false })
    });
}

#[test]
fn try_in_by_keyboard_predicts_before_it_sees() {
    play("try-in-first", "try_in", |walk| {
        let Task::TryIn(task) = question(walk).task else { panic!("a try-in") };
        let mut predictions = Vec::new();
        for number in 1..task.cements.len() {
            assert_eq!(walk.exercising().sights().len(), 1, "only the first cement is seen");
            let direction =
                if number % 2 == 1 { EffectDirection::Darker } else { EffectDirection::Warmer };
            walk.letter(if number % 2 == 1 { '1' } else { '4' });
            arrow(walk, KeyCode::ArrowRight, if number % 2 == 1 { 0 } else { 3 });
            let size_de00 = if number % 2 == 1 { 1.0 } else { 1.3 };
            predictions.push(Prediction { direction, size_de00 });
            enter(walk);
        }
        walk.until("all cements", |walk| walk.exercising().is_up_to_date(walk.preparation()));
        assert_eq!(walk.exercising().sights().len(), task.cements.len());
        digit(walk, task.best);
        walk.letter('b');
        enter(walk);
        assert_eq!(walk.exercising().sights().len(), 2 * task.cements.len());
        Answer::TryIn(TryInAnswer { predictions, seated: task.best })
    });
}

#[test]
fn bracket_by_keyboard_picks_two_and_places_the_tooth() {
    let rows = play("bracket-two-veneers", "bracket", |walk| {
        let Task::Bracket(task) = question(walk).task else { panic!("a bracket") };
        let best = task.pairs[0].options;
        for option in best {
            digit(walk, option);
            walk.letter('b');
        }
        enter(walk);
        arrow(walk, KeyCode::ArrowRight, 4);
        enter(walk);
        Answer::Bracket(BracketAnswer { options: best, placed: Some(0.7) })
    });
    assert!(rows.iter().all(|row| row.regret_de00.is_none_or(|regret| regret < 1e-9)), "{rows:?}");
}

#[test]
fn margin_by_keyboard() {
    let rows = play("margin-premolars", "margin", |walk| {
        let Task::Margin(task) = question(walk).task else { panic!("a margin") };
        let choice = if task.acceptable.is_empty() {
            walk.letter('n');
            None
        } else {
            digit(walk, task.best);
            walk.letter('b');
            Some(task.best)
        };
        enter(walk);
        Answer::Margin(MarginAnswer { choice })
    });
    assert!(rows.iter().all(|row| row.score.is_none_or(|score| score > 99.9)), "{rows:?}");
}
