//! Pictures of the screens of a course and its exam, for people to look at.

use crate::stage::rendered::{self, phase, update_until};
use crate::stage::shots::Shots;
use bevy::prelude::*;
use second_glance::app::shell::state::{Pause, Screen};
use second_glance::play::intents::{CourseIntent, Intent, SeatField};
use second_glance::play::session::Session;
use second_glance::play::start::SessionOptions;
use second_glance::trial::{InputDevice, Phase};

const EXAM: &str = r#"Course(
    format: 1, id: "practical", title: "Seeing value: a practical",
    teaches: "Value is seen before hue. Look for a tooth that is too dark first, and say \"none\" when nothing stands out.",
    minutes: 45, mode: Exam, tooth_names: ISO3950, exposure_s: 2.5, response_s: 6,
    accommodation: (most_response_factor: 4, may_be_untimed: true),
    forms: [(id: "a", seed: 450101, per_cell: 1), (id: "b", seed: 450202, per_cell: 1)],
    steps: [
        Talk(title: "How a smile is judged at a glance", minutes: 4),
        Form(forms: ["a", "b"], phase: Pre),
        Practice(level: "first-look", trials: 12),
        Form(forms: ["b", "a"], phase: Post),
    ],
    pass: (threshold_de00: 1.8, false_alarms: 0.25),
)"#;

/// From the list to the first form.
fn to_the_form(shots: &mut Shots, course: String) {
    for _ in 0..70 {
        shots.app.update();
    }
    shots.save("title-with-courses");
    shots.ask(Intent::OpenCourses);
    shots.until_screen(Screen::Courses);
    shots.save("courses");
    shots.course(CourseIntent::Choose(course));
    shots.until_screen(Screen::Seat);
    shots.write(SeatField::Learner, "00aa11bb22cc");
    shots.course(CourseIntent::Enter);
    shots.save("seat-fault");
    shots.write(SeatField::Seat, "12");
    shots.course(CourseIntent::Accommodate(1));
    shots.save("seat");
    shots.course(CourseIntent::Enter);
    shots.until_screen(Screen::Course);
    shots.save("course-talk");
    shots.course(CourseIntent::Begin);
    shots.save("course-form");
}

/// An answer is awaited, and the exam is paused over it.
fn asked_and_paused(shots: &mut Shots) {
    for _ in 0..6 {
        shots.app.update();
    }
    shots.save("exam-asked");
    shots.ask(Intent::Pause);
    shots.save("exam-pause");
    shots.ask(Intent::Resume);
    assert_eq!(*shots.app.world().resource::<State<Pause>>().get(), Pause::Running);
}

#[test]
#[ignore = "draws screens to the folder in SECOND_GLANCE_SCREENS for people to look at"]
fn screens_of_an_exam() {
    for size in [[1280, 720], [832, 600]] {
        let (mut shots, course) = Shots::new(size, EXAM, "practical");
        shots.app.insert_resource(SessionOptions { adaptation_s: Some(60.0) });
        to_the_form(&mut shots, course);
        shots.frame_lasts(0.15);
        for form in 0..2 {
            shots.course(CourseIntent::Begin);
            shots.until_screen(Screen::Trial);
            if form == 0 {
                shots.save("exam-instructions");
            }
            shots.ask(Intent::StartNow);
            let mut answered = 0;
            while shots.screen() == Screen::Trial {
                update_until(&mut shots.app, "mask", |app| {
                    matches!(phase(app), Some(Phase::Mask | Phase::Debrief | Phase::Finished))
                        || rendered::screen(app) != Screen::Trial
                });
                if phase(&shots.app) == Some(Phase::Debrief) {
                    if form == 0 {
                        shots.save("exam-rest");
                    }
                    shots.ask(Intent::Continue);
                } else if phase(&shots.app) == Some(Phase::Mask) {
                    if answered == 2 && form == 0 {
                        asked_and_paused(&mut shots);
                    }
                    let session = shots.app.world().resource::<Session>();
                    let odd = session.current().and_then(|trial| trial.case.odd_tooth());
                    // Every third smile is answered wrongly.
                    let answer = if answered % 3 == 2 { None } else { odd };
                    shots.ask(Intent::Answer(answer, InputDevice::Keyboard));
                    answered += 1;
                }
                shots.app.update();
            }
            shots.until_screen(Screen::Course);
            if form == 0 {
                shots.save("course-practice");
                shots.course(CourseIntent::Skip);
            }
        }
        shots.save("course-done");
        shots.course(CourseIntent::Begin);
        shots.until_screen(Screen::HandIn);
        shots.save("hand-in");
        let file = shots.results.path().join("practical.ron").display().to_string();
        shots.course(CourseIntent::Folder(file));
        shots.course(CourseIntent::HandIn);
        shots.save("hand-in-fault");
        let folder = shots.results.path().join("in").display().to_string();
        shots.course(CourseIntent::Folder(folder));
        shots.course(CourseIntent::HandIn);
        shots.save("handed-in");
    }
}
