//! App tests that need neither window nor graphics adapter.

mod harness;
mod walk;
