//! Courses at a seat.

mod exam;
mod screens;
