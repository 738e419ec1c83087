//! Materials: ceramics, cements, tooth tissues, prepared-tooth colours.
