//! The bench: composing a restoration.

mod composing;
mod filled_preparation;
