//! Measurements as they run, and what they show.

mod measuring;
mod stimuli;
