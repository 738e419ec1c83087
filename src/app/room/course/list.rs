//! The list of courses.

use crate::app::ui::page::{Page, back};
use crate::app::ui::widgets::{big_button, card, paragraph, section, small};
use crate::level::course_format::{Course, CourseMode, Step};
use crate::play::content::ActiveContent;
use crate::play::intents::CourseIntent;
use crate::play::intents::Intent;
use crate::words::count;
use bevy::prelude::*;
use bevy_egui::egui::{self, Ui};

/// The courses as listed: read once on entering the screen.
#[derive(Resource, Debug, Default, Clone, PartialEq)]
pub struct CourseRows(Vec<Course>);

pub(crate) fn list_courses(content: Res<ActiveContent>, mut rows: ResMut<CourseRows>) {
    rows.0 = content.0.courses();
}

pub(crate) fn draw(ui: &mut Ui, rows: &CourseRows) -> Vec<Intent> {
    let beside = |ui: &mut Ui, asked: &mut Vec<Intent>| back(ui, "Back to the levels", asked);
    let below = |ui: &mut Ui| {
        small(
            ui,
            "For a group: at a seat of one's own, or in a room before one picture. Folders with \
             course files of your own: --courses.",
        );
    };
    Page::new("Courses").show(ui, beside, below, |ui, asked| {
        if rows.0.is_empty() {
            section(ui, "There are no courses");
            paragraph(ui, "Their levels are not among those in use.");
        }
        for (place, course) in rows.0.iter().enumerate() {
            asked.extend(ui.push_id(place, |ui| row(ui, course, place == 0)).inner);
            ui.add_space(6.0);
        }
    })
}

fn row(ui: &mut Ui, course: &Course, is_first: bool) -> Option<Intent> {
    let mut asked = None;
    card(ui, |ui| {
        ui.horizontal_top(|ui| {
            let width = (ui.available_width() - 190.0).max(200.0);
            ui.allocate_ui_with_layout(
                egui::vec2(width, 0.0),
                egui::Layout::top_down(egui::Align::Min),
                |ui| {
                    ui.set_width(width);
                    section(ui, &course.title);
                    ui.add(egui::Label::new(&course.teaches).wrap());
                    small(ui, &facts(course));
                },
            );
            ui.with_layout(egui::Layout::right_to_left(egui::Align::Min), |ui| {
                let words = match course.mode {
                    CourseMode::Exam => "Take a seat",
                    CourseMode::Lecture => "Open the room",
                };
                let open = big_button(ui, words);
                if is_first {
                    crate::app::ui::focus::give_focus(&open);
                }
                if open.gained_focus() {
                    open.scroll_to_me(None);
                }
                if open.clicked() {
                    asked = Some(Intent::Course(CourseIntent::Choose(course.id.clone())));
                }
            });
        });
    });
    asked
}

fn facts(course: &Course) -> String {
    let forms = course.steps.iter().filter(|step| matches!(step, Step::Form { .. })).count();
    let mode = match course.mode {
        CourseMode::Exam => "Exam: everyone at a seat, no feedback until the end",
        CourseMode::Lecture => "Lecture: the room answers by phone or by show of hands",
    };
    let forms = count(forms, "form", "forms");
    format!("{mode}. About {:.0} min, {forms}.", course.minutes)
}
