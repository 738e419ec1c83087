//! Core tests that need more than one module: published facts, properties, shipped content.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod anatomy;
mod bake;
mod colour_facts;
mod colour_properties;
mod course_files;
mod courses;
mod drift;
mod exports;
mod forms;
mod hand_in;
mod instrument;
mod level_files;
mod measuring;
mod optics_facts;
mod optics_properties;
mod results;
mod search;
mod stimuli;
mod tidy;
mod trade_facts;
mod transport;
mod transport_tables;
mod trends;
mod trials;
mod two_flux_table;
