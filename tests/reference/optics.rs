//! Optics tables.
