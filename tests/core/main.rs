//! Core tests that need more than one module: published facts, properties, shipped content.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod anatomy;
mod bake;
mod chart;
mod colorimetry;
mod course;
mod exercise;
mod intake;
mod level;
mod material;
mod measure;
mod optics;
mod psychophysics;
mod report;
mod results;
mod shared;
mod tidy;
mod trial;
