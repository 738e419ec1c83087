//! Exercises: shipped levels, truth, marks, simulated learners.

mod bench;
mod blend;
mod bracket;
mod choice_measurement;
mod choice_report;
mod free_bench;
mod margin;
mod marks;
mod options_truth;
mod own_in_use;
mod quest;
mod stated_cases;
mod try_in;
