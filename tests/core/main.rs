//! Core tests that need more than one module: published facts, properties, shipped content.

#![expect(clippy::unwrap_used, reason = "a test fails by panicking")]

mod anatomy;
mod anew;
mod answers;
mod bake;
mod blend;
mod blend_facts;
mod blend_truth;
mod bracketing;
mod causes;
mod cementing;
mod charts;
mod choice_measurement;
mod choice_report;
mod clinic;
mod clinic_form;
mod clinic_reopened;

mod colour_facts;
mod colour_properties;
mod composing;
mod course_files;
mod course_questions;
mod courses;
mod data_folder;
mod drift;
mod exports;
mod forms;
mod free_bench;
mod hand_in;
mod hostile_hand_ins;
mod instrument;
mod level_files;
mod margins;
mod marks;
mod measuring;
mod metamers;
mod optics_facts;
mod optics_properties;
mod options_truth;
mod own_ceramics;
mod pooled;
mod quest;
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
mod value_order;
