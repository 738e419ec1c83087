//! Colours: published values, and what holds for any colour.

mod facts;
mod properties;
