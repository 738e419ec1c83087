//! Exercises: shipped levels, truth, marks, simulated learners.

mod bench;
mod blend;
mod bracket;
mod choice_measurement;
mod choice_report;
mod free_bench;
mod ladder;
mod margin;
mod marks;
mod matching;
mod options_truth;
mod own_in_use;
mod playing;
mod stated_cases;
mod try_in;
mod two_lights;
mod unplayable;
mod verdict;
