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
mod drawn;
mod exam;
mod exercise_screens;
mod exercises;
mod eyes;
mod first_hour;
mod free_bench;
mod goldens;
mod hands;
mod harness;
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
mod pointer_play;
mod program;
mod reading;
mod resting;
mod room;
mod room_screens;
mod shortcuts;
mod starting;
mod title;
mod typing;
mod viewport;
mod walk;
mod widgets;
mod window_colour;
