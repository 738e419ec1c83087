//! The steps of a course for a learner at a seat. Nothing of a form is shown before its start.

use crate::app::room::course::seat::words;
use crate::app::ui::page::column;
use crate::app::ui::theme;
use crate::app::ui::widgets::{big_button, body, card, heading, paragraph, section, small};
use crate::level::course_format::{Phase, Step};
use crate::play::course::Seat;
use crate::play::frames::FrameTimes;
use crate::play::intents::CourseIntent;
use crate::play::intents::Intent;
use crate::play::keys::{self, KeyContext};
use crate::words::{count, count_of};
use bevy_egui::egui::Ui;

pub(crate) fn draw(ui: &mut Ui, seat: &Seat, waits: bool, frames: &FrameTimes) -> Vec<Intent> {
    column(ui, 860.0, |ui, asked| {
        heading(ui, &seat.course().title);
        let course = seat.course();
        small(
            ui,
            &format!(
                "Learner {}, seat {}, time to answer {}",
                seat.learner(),
                seat.number(),
                words(seat.response_factor(), course.response_s)
            ),
        );
        ui.add_space(theme::GAP);
        card(ui, |ui| step_card(ui, seat, waits, frames, asked));
        ui.add_space(theme::GAP);
        section(ui, "The whole course");
        for (place, step) in course.steps.iter().enumerate() {
            let mark = match place.cmp(&seat.step()) {
                std::cmp::Ordering::Less => "\u{2714}",
                std::cmp::Ordering::Equal => "\u{25b6}",
                std::cmp::Ordering::Greater => "      ",
            };
            body(ui, &format!("{mark}  {}.  {}", place + 1, line(seat, place, step)));
        }
        let is_done = seat.step() >= course.steps.len();
        body(
            ui,
            &format!("{}  Hand in, then feedback", if is_done { "\u{25b6}" } else { "      " }),
        );
    })
}

/// A step in a line.
fn line(seat: &Seat, place: usize, step: &Step) -> String {
    match step {
        Step::Talk { title, minutes } => format!("{title} ({minutes:.0} min)"),
        Step::Form { phase, .. } => {
            let when = match phase {
                Phase::Pre => ", before",
                Phase::Post => ", after",
                Phase::Delayed => ", some weeks later",
                Phase::Only => "",
            };
            format!("Form{when}: {}, no feedback", count(smiles(seat, place), "smile", "smiles"))
        }
        Step::Practice { level, trials } => match trials {
            Some(trials) => format!("Practice \u{201c}{level}\u{201d}: {trials}, with feedback"),
            None => format!("Practice \u{201c}{level}\u{201d}, with feedback"),
        },
        Step::Measure { minutes, .. } => format!("Measurement, at most {minutes:.0} min"),
        Step::FindIt { minutes } => format!("Find it, about {minutes:.0} min"),
    }
}

/// Smiles of the form at a step.
fn smiles(seat: &Seat, place: usize) -> u32 {
    seat.form_at(place).map_or(0, |form| {
        let signals = 16.0 * f64::from(form.per_cell);
        (signals + (signals / 3.0).round()) as u32
    })
}

fn step_card(ui: &mut Ui, seat: &Seat, waits: bool, frames: &FrameTimes, asked: &mut Vec<Intent>) {
    let begin = match seat.current() {
        Some(Step::Talk { title, minutes }) => {
            section(ui, title);
            paragraph(ui, &format!("The instructor explains, about {minutes:.0} min."));
            "Go on"
        }
        Some(Step::Form { .. }) => {
            section(ui, "A form, sealed until you start");
            form_rules(ui, seat);
            if let Some(fault) = frames.display_check().and_then(|check| check.fault()) {
                paragraph(
                    ui,
                    &format!(
                        "This display does not hold its pictures well just now: {fault} Smiles that \
                         are not held do not count. Tell the instructor before you start."
                    ),
                );
            }
            if seat.begun().is_some() { "Go on where it stopped" } else { "Start the form" }
        }
        Some(Step::Practice { level, .. }) => {
            section(ui, "Practice, with feedback");
            paragraph(ui, &format!("The level \u{201c}{level}\u{201d}. Practice is not graded."));
            if seat.begun().is_some() { "Go on where it stopped" } else { "Start" }
        }
        Some(Step::Measure { minutes, .. }) => {
            section(ui, "A measurement");
            paragraph(ui, &format!("How small a difference you see; at most {minutes:.0} min."));
            "Start"
        }
        Some(Step::FindIt { .. }) => {
            section(ui, "Find it");
            paragraph(ui, "How soon you find a restoration.");
            "Start"
        }
        None if seat.may_hand_in() => {
            section(ui, "All forms are done");
            paragraph(ui, "Hand in; then you see how it went.");
            "Hand in"
        }
        None => {
            section(ui, "The course is done");
            paragraph(ui, "It had no form to hand in.");
            let back = keys::label(KeyContext::CourseStep, &Intent::BackToTitle, true);
            if big_button(ui, &back).clicked() {
                asked.push(Intent::BackToTitle);
            }
            return;
        }
    };
    ui.add_space(6.0);
    if waits {
        body(ui, "Laying out the smiles\u{2026}");
        return;
    }
    ui.horizontal(|ui| {
        let next = Intent::Course(CourseIntent::Begin);
        if big_button(ui, &keys::named(KeyContext::CourseStep, &next, begin)).clicked() {
            asked.push(next);
        }
        let skip = Intent::Course(CourseIntent::Skip);
        if matches!(
            seat.current(),
            Some(Step::Practice { .. } | Step::Measure { .. } | Step::FindIt { .. })
        ) && big_button(ui, &keys::label(KeyContext::CourseStep, &skip, false)).clicked()
        {
            asked.push(skip);
        }
        let leave = keys::label(KeyContext::CourseStep, &Intent::BackToTitle, false);
        if big_button(ui, &leave).clicked() {
            asked.push(Intent::BackToTitle);
        }
    });
}

fn form_rules(ui: &mut Ui, seat: &Seat) {
    let course = seat.course();
    let all = smiles(seat, seat.step());
    let time = words(seat.response_factor(), course.response_s);
    let mut lines = vec![
        format!(
            "{}. Each is seen for {:.1} s; then name the restored tooth, or \u{201c}None\u{201d}. About \
             one in four has no restoration.",
            count(all, "smile", "smiles"),
            course.exposure_s
        ),
        format!(
            "Time to answer: {time}. Keys {}; or click.",
            keys::in_answer_row(None)
        ),
        "No feedback until you have handed in. When another window gets the keyboard, that is \
         written down with its time."
            .to_owned(),
        "If you leave or the program ends, you go on where it stopped. The clock runs on, and a smile \
         whose cross has come is not shown again."
            .to_owned(),
    ];
    if let Some(begun) = seat.begun() {
        lines.insert(0, format!("{} answered.", count_of(begun.answered, all, "smile", "smiles")));
    }
    for line in lines {
        paragraph(ui, &line);
    }
}
