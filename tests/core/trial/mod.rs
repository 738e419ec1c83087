//! Trials, driven from outside.

mod trials;
