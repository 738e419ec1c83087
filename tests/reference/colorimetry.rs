//! Colour tables.
