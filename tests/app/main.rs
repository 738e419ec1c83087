//! Tests of the app: drawing, screens, commands.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod ahead;
mod browser;
mod cases;
mod checking;
mod choice;
mod clinic_form;
mod closed_pipe;
mod devices;
mod dragging;
mod drawing;
mod exam;
mod exercise_screens;
mod exercises;
mod eyes;
mod first_hour;
mod free_bench;
mod goldens;
mod layouts;
mod lecture;
mod letters;
mod measure;
mod measure_screens;
mod own_course;
#[cfg(unix)]
mod owner_only;
mod pace;
mod paint;
mod pausing;
mod program;
mod resting;
mod room;
mod room_screens;
mod shortcuts;
mod stage;
mod starting;
mod title;
mod typing;
mod viewport;
mod walk;
mod widgets;
mod window_colour;
