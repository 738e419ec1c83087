//! Materials: ceramics, cements, tooth tissues, prepared-tooth colours.

pub mod format;
