//! Trials: schedule, engine, response, outcome.
