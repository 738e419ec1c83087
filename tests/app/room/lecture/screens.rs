//! Pictures of the screens of a lecture, for people to look at.

use super::LECTURE;
use crate::stage::rendered::{phase, update_until};
use crate::stage::shots::Shots;
use bevy::prelude::*;
use second_glance::app::room::lecture::LecturePort;
use second_glance::app::shell::state::Screen;
use second_glance::exercise::Stage;
use second_glance::lecture::Token;
use second_glance::play::intents::{CourseIntent, ExerciseIntent, Intent, Page, RoomIntent};
use second_glance::play::lecture::{Lecture, RoomStage};
use second_glance::play::round::Exercising;
use second_glance::trial::Phase;

/// A part about smiles: the first is shown in full.
fn smiles(shots: &mut Shots, part: u8) {
    shots.room(RoomIntent::Begin);
    shots.until_screen(Screen::Trial);
    for smile in 0..3_u8 {
        shots.until_stage(RoomStage::Asked);
        if part == 0 && smile == 1 {
            update_until(&mut shots.app, "response", |app| {
                matches!(phase(app), Some(Phase::Response { .. }))
            });
            shots.phones_answer(23, 9);
            shots.save("lecture-asked");
        }
        shots.phones_answer(36, 9 + 4 * smile + 6 * part);
        shots.room(RoomIntent::Close);
        if part == 0 && smile == 1 {
            shots.save("lecture-closed");
        }
        shots.room(RoomIntent::Reveal);
        if part == 0 {
            shots.save(&format!("lecture-revealed-{smile}"));
        }
        if part == 0 && smile == 1 {
            shots.ask(Intent::ToggleSideBySide);
            shots.save("lecture-pair");
            shots.ask(Intent::ToggleSideBySide);
            shots.ask(Intent::ToggleValueOnly);
            shots.save("lecture-value");
        }
        if smile < 2 {
            shots.ask(Intent::Continue);
        }
    }
}

/// Two questions about options: the first is shown in full.
fn options(shots: &mut Shots) {
    for question in 0..2 {
        shots.until_stage(RoomStage::Asked);
        update_until(&mut shots.app, "smiles", |app| {
            let round = app.world().resource::<Exercising>();
            round.is_up_to_date(app.world().resource())
        });
        shots.phones_answer(30, 18);
        if question == 0 {
            shots.save("lecture-options-asked");
        }
        shots.room(RoomIntent::Close);
        if question == 0 {
            shots.save("lecture-options-closed");
        }
        shots.room(RoomIntent::Reveal);
        update_until(&mut shots.app, "marked", |app| {
            let round = app.world().resource::<Exercising>();
            round.sitting().stage() == Stage::Marked
        });
        if question == 0 {
            shots.save("lecture-options-revealed");
            let page = Intent::Exercise(ExerciseIntent::TogglePage(Page::Chart));
            shots.ask(page);
            update_until(&mut shots.app, "the chart", |app| {
                app.world().resource::<Exercising>().study().is_done(Page::Chart)
            });
            shots.save("lecture-options-chart");
        }
        shots.ask(Intent::Continue);
    }
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_a_lecture() {
    for size in [[1280, 720], [832, 600]] {
        let (mut shots, course) = Shots::new(size, LECTURE, "block");
        for _ in 0..70 {
            shots.app.update();
        }
        shots.frame_lasts(0.15);
        shots.course(CourseIntent::Choose(course));
        shots.until_screen(Screen::Lecture);
        {
            let lecture = shots.app.world().resource::<Lecture>();
            let mut poll = lecture.server().unwrap().poll();
            for phone in 0..38 {
                poll.join(Token::of_bytes([phone; 16])).unwrap();
            }
        }
        shots.save("lecture-joining");
        for part in 0..2 {
            smiles(&mut shots, part);
            // The rest of the form is left out for the pictures.
            shots.ask(Intent::StopSession);
            shots.until_screen(Screen::Lecture);
            if part == 0 {
                shots.save("lecture-talk");
                shots.room(RoomIntent::Begin);
                shots.room(RoomIntent::Begin);
                shots.until_screen(Screen::Exercise);
                options(&mut shots);
                shots.until_screen(Screen::Lecture);
            }
        }
        assert!(shots.app.world().resource::<Lecture>().is_over());
        shots.room(RoomIntent::Save);
        shots.save("lecture-summary");
    }
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_a_lecture_without_a_port() {
    let taken = std::net::TcpListener::bind(("0.0.0.0", 0)).unwrap();
    for size in [[1280, 720], [832, 600]] {
        let (mut shots, course) = Shots::new(size, LECTURE, "block");
        shots.app.insert_resource(LecturePort(taken.local_addr().unwrap().port()));
        shots.app.update();
        shots.course(CourseIntent::Choose(course));
        shots.until_screen(Screen::Lecture);
        shots.save("lecture-hands");
    }
}
