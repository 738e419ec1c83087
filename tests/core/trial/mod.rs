//! Trials, driven from outside.

mod engine;
mod schedule;
