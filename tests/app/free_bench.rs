//! Free play on the bench by keyboard, from setting it up to leaving it, without a window.

use crate::harness::{Walk, library};
use bevy::input::keyboard::{Key, KeyCode};
use second_glance::app::shell::state::Screen;
use second_glance::bake::{Condition, ZoneDifference, bake};
use second_glance::colorimetry::Illuminant;
use second_glance::exercise::{BenchTask, PreparedChoice, RecipePart, SetupPart, Stage, Task};
use second_glance::play::answer::BenchDraft;
use second_glance::play::answer::Draft;
use second_glance::play::bench::BenchBeingSet;
use second_glance::play::intents::Intent;
use second_glance::play::intents::Page;
use second_glance::play::view::{DebriefView, Side};
use second_glance::scene::Framing;

pub fn arrow(walk: &mut Walk, code: KeyCode, times: usize) {
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

pub fn draft(walk: &Walk) -> &BenchDraft {
    match walk.exercising().draft() {
        Some(Draft::Bench(draft)) => draft,
        _ => panic!("a recipe"),
    }
}

pub fn task(walk: &Walk) -> BenchTask {
    match &walk.exercising().sitting().question().expect("a bench").task {
        Task::Bench(task) => task.clone(),
        _ => panic!("a bench"),
    }
}

pub fn until_seen(walk: &mut Walk) {
    walk.until("the smile", |walk| walk.exercising().is_up_to_date(walk.preparation()));
}

/// What the smile in view comes to.
fn read(walk: &Walk) -> ZoneDifference {
    let shown = walk.exercising().shown(walk.preparation()).expect("a smile");
    shown.scene.truth.as_ref().expect("a restoration").difference
}

fn go_to(walk: &mut Walk, part: RecipePart) {
    for _ in 0..RecipePart::ALL.len() {
        if draft(walk).part == part {
            return;
        }
        arrow(walk, KeyCode::ArrowDown, 1);
    }
    panic!("there is no such part");
}

#[test]
fn free_play_by_keyboard_from_setting_up_to_leaving() {
    let mut walk = Walk::new();
    walk.intend(Intent::OpenBenchSetup);
    walk.until("the setup", |walk| walk.screen() == Screen::BenchSetup);
    // Down to the prepared tooth, and on to a darker one.
    let set = |walk: &Walk| walk.app.world().resource::<BenchBeingSet>().clone();
    let first = set(&walk).setup;
    while set(&walk).part() != SetupPart::Prepared {
        arrow(&mut walk, KeyCode::ArrowDown, 1);
    }
    arrow(&mut walk, KeyCode::ArrowRight, 1);
    let chosen = set(&walk).setup;
    assert_eq!(chosen.prepared, PreparedChoice::Listed("brown".to_owned()));
    assert_eq!(first.prepared, PreparedChoice::Listed("warm-yellow".to_owned()));
    walk.press(KeyCode::Enter, Key::Enter);
    walk.until("the bench", |walk| walk.screen() == Screen::Exercise);
    walk.until_asked();
    assert!(walk.exercising().mode().free().is_some() && walk.exercising().is_composing());
    let task = task(&walk);
    assert_eq!((task.prepared_tooth.as_str(), task.attempts), ("brown", None));
    until_seen(&mut walk);
    // A smile that is composed may hold a frame up for its next picture; others may not.
    assert!(!walk.preparation().patience().is_zero());
    let start = draft(&walk).recipe().clone();
    let at_first = read(&walk);

    // The smile follows the recipe, the latest stays until then, and the figures are its truth.
    go_to(&mut walk, RecipePart::Lightness);
    arrow(&mut walk, KeyCode::ArrowRight, 3);
    assert!(walk.exercising().shown(walk.preparation()).is_some());
    until_seen(&mut walk);
    let lighter = draft(&walk).recipe().clone();
    assert!((lighter.ceramic.shade.l - start.ceramic.shade.l - 3.0).abs() < 0.51);
    let baked = bake(&task.case_with(&lighter), library()).unwrap().truth.unwrap().difference;
    assert_eq!(read(&walk), baked);
    assert!(baked.dl00 > at_first.dl00, "{baked:?}");

    // Back and forth; two kept; one taken up.
    for _ in 0..3 {
        walk.letter("u");
    }
    assert_eq!(draft(&walk).recipe(), &start);
    walk.letter("A");
    for _ in 0..3 {
        walk.letter("r");
    }
    assert_eq!(draft(&walk).recipe(), &lighter);
    walk.letter("B");
    go_to(&mut walk, RecipePart::Middle);
    arrow(&mut walk, KeyCode::ArrowLeft, 2);
    walk.letter("a");
    assert_eq!(draft(&walk).recipe(), &start);
    walk.letter("b");
    assert_eq!(draft(&walk).recipe(), &lighter);
    walk.press(KeyCode::Enter, Key::Enter);
    assert_eq!((draft(&walk).drafts.current(), draft(&walk).compared), (&lighter, None));
    until_seen(&mut walk);

    // Another light, value alone, the natural twin.
    walk.letter("l");
    assert_eq!(draft(&walk).case(&task).illuminant, Illuminant::LedB3);
    until_seen(&mut walk);
    assert_ne!(read(&walk), baked);
    walk.letter("l");
    let view = |walk: &Walk| *walk.app.world().resource::<DebriefView>();
    walk.letter("v");
    assert!(view(&walk).value_only);
    walk.press(KeyCode::Space, Key::Space);
    walk.frames(20);
    assert_eq!(view(&walk).side(), Some(Side::Twin));
    walk.press(KeyCode::Space, Key::Space);
    walk.frames(20);

    // Chart and layers of the recipe in view, with the kept ones marked; they follow it.
    walk.letter("c");
    assert_eq!(walk.exercising().page(), Page::Chart);
    walk.until("the chart", |walk| walk.exercising().study().chart().is_some());
    let marks: Vec<String> =
        walk.exercising().study().chart().unwrap().tried.iter().map(|t| t.label.clone()).collect();
    assert!(marks.contains(&"A".to_owned()), "{marks:?}");
    walk.letter("c");
    assert_eq!(walk.exercising().page(), Page::Smile);
    walk.letter("x");
    walk.until("the layers", |walk| walk.exercising().study().section().is_some());
    walk.letter("x");

    // The best that can be reached is found and can be taken back.
    let before = draft(&walk).recipe().clone();
    walk.letter("f");
    walk.until("the best", |walk| !walk.exercising().mode().free().unwrap().is_searching());
    until_seen(&mut walk);
    assert!(read(&walk).de00 <= baked.de00.min(at_first.de00) + 1e-9, "{:?}", read(&walk));
    walk.letter("u");
    assert_eq!(draft(&walk).recipe(), &before);

    // It leads back to where it was set up, and leaves no trace in the results.
    walk.letter("e");
    walk.until("the setup", |walk| walk.screen() == Screen::BenchSetup);
    assert!(walk.preparation().patience().is_zero());
    assert_eq!(set(&walk).setup, chosen);
    walk.press(KeyCode::Escape, Key::Escape);
    assert_eq!(walk.screen(), Screen::Title);
    assert!(walk.stored().is_empty());
    assert_eq!(walk.problem(), None);
}

#[test]
fn a_recipe_that_cannot_be_drawn_is_taken_back() {
    let mut walk = Walk::new();
    walk.intend(Intent::OpenBenchSetup);
    walk.press(KeyCode::Enter, Key::Enter);
    walk.until("the bench", |walk| walk.screen() == Screen::Exercise);
    walk.until_asked();
    until_seen(&mut walk);
    let start = draft(&walk).recipe().clone();
    go_to(&mut walk, RecipePart::Lightness);
    walk.app.insert_resource(crate::harness::CanDraw(false));
    arrow(&mut walk, KeyCode::ArrowRight, 1);
    walk.until("the reason", |walk| walk.problem().is_some());
    // What is got ready in the other light may have failed before the recipe did.
    walk.until("the recipe before", |walk| draft(walk).recipe() == &start);
    assert!(walk.problem().unwrap().contains("the adapter went away"));
    assert_eq!(walk.exercising().sitting().stage(), Stage::Asked);
    assert_eq!(draft(&walk).recipe(), &start);
}

#[test]
fn an_onlay_is_set_up_and_composed_by_keyboard() {
    let mut walk = Walk::new();
    walk.intend(Intent::OpenBenchSetup);
    walk.until("the setup", |walk| walk.screen() == Screen::BenchSetup);
    let set = |walk: &Walk| walk.app.world().resource::<BenchBeingSet>().clone();
    let go = |walk: &mut Walk, part: SetupPart| {
        while set(walk).part() != part {
            arrow(walk, KeyCode::ArrowDown, 1);
        }
    };
    go(&mut walk, SetupPart::Preparation);
    arrow(&mut walk, KeyCode::ArrowRight, 2);
    go(&mut walk, SetupPart::MarginHeight);
    arrow(&mut walk, KeyCode::ArrowLeft, 1);
    let margin_height = set(&walk).setup.margin_height().unwrap();
    assert!((margin_height - 0.4).abs() < 1e-9, "{margin_height}");
    walk.press(KeyCode::Enter, Key::Enter);
    walk.until("the bench", |walk| walk.screen() == Screen::Exercise);
    walk.until_asked();
    until_seen(&mut walk);
    let task = task(&walk);
    assert_eq!((task.tooth.number(), task.natural.staging.framing), (24, Framing::Posterior));
    let margin = |walk: &Walk| {
        let shown = walk.exercising().shown(walk.preparation()).expect("a smile");
        shown.scene.margin(task.tooth, Condition::Restored, margin_height).unwrap().mean
    };
    let before = (read(&walk), margin(&walk));
    go_to(&mut walk, RecipePart::Lightness);
    arrow(&mut walk, KeyCode::ArrowLeft, 8);
    until_seen(&mut walk);
    let after = (read(&walk), margin(&walk));
    assert!(after.0.dl00 < before.0.dl00 - 0.5 && after.1.dl00 < before.1.dl00 - 0.5, "{after:?}");
    walk.letter("x");
    walk.until("the layers", |walk| walk.exercising().study().section().is_some());
    assert_eq!(walk.exercising().study().section().unwrap().cuts.len(), 2);
    assert_eq!(walk.problem(), None);
}
