//! Rounds of questions.

mod devices;
mod dragging;
mod exercises;
mod screens;
