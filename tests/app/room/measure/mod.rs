//! Measurements: glances and choosing.

mod choice;
mod measuring;
mod screens;
