//! The level list by keyboard alone: every entry is reached, and every screen leads back.

use crate::stage::Walk;
use crate::stage::keys::key_down;
use bevy::input::keyboard::{Key as BevyKey, KeyCode};
use bevy_egui::egui::{self, Event, Key, Rect, vec2};
use second_glance::app::room::title;
use second_glance::app::room::title::TitleRows;
use second_glance::app::shell::state::Screen;
use second_glance::play::content::ActiveContent;
use second_glance::play::content::shipped::Shipped;
use second_glance::play::intents::Intent;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// What Enter asks for at every control that `step` goes through, once round.
fn asked_all_round(rows: &TitleRows, step: Key, steps: usize) -> Vec<Intent> {
    let ctx = egui::Context::default();
    let mut asked = Vec::new();
    let frame = |events: Vec<Event>| {
        // 1280 × 720 at 200 %.
        let window = Rect::from_min_size(egui::Pos2::ZERO, vec2(640.0, 360.0));
        let input = egui::RawInput { screen_rect: Some(window), events, ..Default::default() };
        let mut found = Vec::new();
        let mut output = ctx.run_ui(input, |ui| found = title::draw(ui, rows, None));
        output.textures_delta.clear();
        found
    };
    frame(Vec::new());
    for _ in 0..steps {
        asked.extend(frame(vec![key_down(Key::Enter)]));
        frame(vec![key_down(step)]);
        frame(Vec::new());
    }
    asked
}

#[test]
fn every_entry_of_the_list_is_reached_by_keyboard() {
    let content = ActiveContent(Arc::new(Shipped::load(None).unwrap()));
    let rows = TitleRows::read(&content, &BTreeMap::new(), None);
    let mut wanted: BTreeSet<String> = rows
        .groups
        .iter()
        .flat_map(|group| &group.rows)
        .map(|row| format!("{:?}", Intent::StartLevel(row.level.id.clone())))
        .collect();
    assert!(!wanted.is_empty());
    for screen in [
        Intent::OpenMeasure,
        Intent::OpenCourses,
        Intent::OpenAbout,
        Intent::OpenBenchSetup,
        Intent::OpenClinicForm,
        Intent::Quit,
    ] {
        wanted.insert(format!("{screen:?}"));
    }
    let controls: usize = rows.groups.iter().map(|group| group.rows.len()).sum::<usize>() + 6;
    for step in [Key::Tab, Key::ArrowDown] {
        let asked = asked_all_round(&rows, step, controls + 4);
        // To begin with, Enter starts what comes next.
        let first = &rows.groups[0].rows[0].level.id;
        assert_eq!(asked[0], Intent::StartLevel(first.clone()), "{step:?}");
        let asked: BTreeSet<String> = asked.iter().map(|intent| format!("{intent:?}")).collect();
        let missed: Vec<_> = wanted.difference(&asked).collect();
        // Arrows go by place and need not come by what stands beside; Tab passes everything.
        assert!(step == Key::ArrowDown || missed.is_empty(), "{step:?} misses {missed:?}");
        assert!(asked.len() > 1, "{step:?} stays where it is");
    }
}

#[test]
fn every_screen_of_the_list_leads_back_by_escape() {
    let mut walk = Walk::new();
    for (intent, screen) in [
        (Intent::OpenMeasure, Screen::MeasureSetup),
        (Intent::OpenCourses, Screen::Courses),
        (Intent::OpenAbout, Screen::About),
        (Intent::OpenBenchSetup, Screen::BenchSetup),
        (Intent::OpenClinicForm, Screen::ClinicForm),
    ] {
        walk.intend(intent);
        walk.until("the screen", |walk| walk.screen() == screen);
        walk.press(KeyCode::Escape, BevyKey::Escape);
        walk.until("the list", |walk| walk.screen() == Screen::Title);
        assert_eq!(walk.problem(), None, "{screen:?}");
    }
    // A level that was begun leads back too: paused, stopped, looked back at, left.
    walk.start();
    walk.press(KeyCode::Escape, BevyKey::Escape);
    walk.intend(Intent::StopSession);
    walk.until("the summary", |walk| walk.screen() == Screen::Summary);
    walk.press(KeyCode::Escape, BevyKey::Escape);
    walk.until("the list", |walk| walk.screen() == Screen::Title);
}
