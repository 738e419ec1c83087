//! Courses: forms, simulated groups, judgements, sitting again.

mod forms;
mod judging;
mod questions;
mod sat_again;
mod simulated;
