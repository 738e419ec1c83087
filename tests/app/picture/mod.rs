//! Pictures: what the adapter does to colour, and what shows in them.

pub mod cases;
pub mod drawing;
mod eyes;
mod goldens;
mod shortcuts;
mod viewport;
pub mod window_colour;
