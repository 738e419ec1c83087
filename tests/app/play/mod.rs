//! What is made ready ahead.

mod ahead;
