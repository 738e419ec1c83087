//! Text fields: a caret that moves, what is selected, copied and pasted, and no letters from
//! shortcuts.

use crate::stage::Drawn;
use bevy_egui::egui::{Key, Modifiers};
use second_glance::app::shell::state::Screen;
use second_glance::play::course::Seat;
use second_glance::play::course::SeatForm;
use second_glance::play::intents::Intent;
use second_glance::play::intents::{CourseIntent, SeatField};
use second_glance::play::records::Records;
use std::path::Path;

const COURSE: &str = r#"Course(
    format: 1, id: "short", title: "Short", teaches: "Say what you see.", minutes: 10,
    mode: Exam, tooth_names: ISO3950, exposure_s: 2.5, response_s: 6,
    accommodation: (most_response_factor: 2, may_be_untimed: false),
    forms: [(id: "only", seed: 909090, per_cell: 1)],
    steps: [Form(forms: ["only"], phase: Only)],
    pass: (threshold_de00: 1.8, false_alarms: 0.25),
)
"#;

fn text(drawn: &Drawn, field: SeatField) -> String {
    drawn.walk.app.world().resource::<SeatForm>().text(field).to_owned()
}

fn key(drawn: &mut Drawn, key: Key) {
    drawn.key(key, Modifiers::NONE);
}

fn at_seat(folder: &Path) -> Drawn {
    let file = folder.join("short.ron");
    std::fs::write(&file, COURSE).unwrap();
    let mut drawn = Drawn::new(&folder.join("results"), [1280.0, 720.0]);
    drawn.walk.intend(Intent::Course(CourseIntent::Choose(file.display().to_string())));
    drawn.walk.until("the seat form", |walk| walk.screen() == Screen::Seat);
    drawn.walk.frames(3);
    drawn
}

#[test]
fn a_seat_is_taken_with_caret_selection_and_clipboard() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = at_seat(folder.path());
    // The first field has the caret.
    drawn.type_text("00aa11bb");
    assert_eq!(text(&drawn, SeatField::Learner), "00aa11bb");
    key(&mut drawn, Key::ArrowLeft);
    key(&mut drawn, Key::ArrowLeft);
    drawn.type_text("cc");
    assert_eq!(text(&drawn, SeatField::Learner), "00aa11ccbb");
    key(&mut drawn, Key::Home);
    key(&mut drawn, Key::Delete);
    assert_eq!(text(&drawn, SeatField::Learner), "0aa11ccbb");
    // Copied, and pasted twice over what is selected; shortcuts type nothing.
    drawn.with_control('a', Key::A);
    drawn.with_control('c', Key::C);
    assert_eq!(text(&drawn, SeatField::Learner), "0aa11ccbb");
    drawn.with_control('v', Key::V);
    drawn.with_control('v', Key::V);
    assert_eq!(text(&drawn, SeatField::Learner), "0aa11ccbb0aa11ccbb");
    drawn.with_control('a', Key::A);
    drawn.with_control('x', Key::X);
    assert_eq!(text(&drawn, SeatField::Learner), "");
    // Letters that cannot be part of it are not taken.
    drawn.type_text("00AA11BB22CC-xyz ");
    assert_eq!(text(&drawn, SeatField::Learner), "00aa11bb22cc");
    key(&mut drawn, Key::Tab);
    drawn.walk.frames(1);
    drawn.type_text("7");
    assert_eq!(text(&drawn, SeatField::Seat), "7");
    assert_eq!(text(&drawn, SeatField::Learner), "00aa11bb22cc");
    // By keyboard and by pointer: the time to answer, then the seat.
    drawn.click("\u{25cb}");
    assert_eq!(drawn.walk.app.world().resource::<SeatForm>().response_factor(), 2.0);
    drawn.click("7");
    key(&mut drawn, Key::Enter);
    drawn.walk.until("the course", |walk| walk.screen() == Screen::Course);
    assert_eq!(drawn.walk.app.world().resource::<Seat>().number(), 7);
}

#[test]
fn the_folder_of_a_hand_in_is_edited_like_any_text() {
    let folder = tempfile::tempdir().unwrap();
    let mut drawn = at_seat(folder.path());
    drawn.type_text("00aa11bb22cc");
    key(&mut drawn, Key::Tab);
    drawn.walk.frames(1);
    drawn.type_text("1");
    key(&mut drawn, Key::Enter);
    drawn.walk.until("the course", |walk| walk.screen() == Screen::Course);
    drawn
        .walk
        .app
        .world_mut()
        .resource_mut::<bevy::prelude::NextState<Screen>>()
        .set(Screen::HandIn);
    drawn.walk.frames(3);
    let typed = |drawn: &Drawn| drawn.walk.app.world().resource::<Seat>().hand_in().folder.clone();
    let before = typed(&drawn);
    assert!(before.ends_with("hand-ins"), "{before}");
    key(&mut drawn, Key::Home);
    drawn.type_text("v");
    assert_eq!(typed(&drawn), format!("v{before}"));
    drawn.with_control('a', Key::A);
    drawn.with_control('x', Key::X);
    assert_eq!(typed(&drawn), "");
    drawn.with_control('v', Key::V);
    assert_eq!(typed(&drawn), format!("v{before}"));
    drawn.with_control('a', Key::A);
    // Where nothing can be written Enter says so once, and the field keeps what was typed.
    let file = folder.path().join("short.ron").display().to_string();
    drawn.type_text(&file);
    key(&mut drawn, Key::Enter);
    assert_eq!(typed(&drawn), file);
    let seat = drawn.walk.app.world().resource::<Seat>();
    assert!(seat.hand_in().fault.is_some());
    assert!(drawn.walk.app.world().resource::<Records>().unsaved().is_none());
}
