//! From spectra to colour: observers, illuminants, CIELAB, adaptation, differences, display.

mod cielab;
mod illuminant;

pub use cielab::{Lab, Lch};
pub use illuminant::Illuminant;
