//! FACTS.
