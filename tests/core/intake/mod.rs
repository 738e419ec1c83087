//! Measured spectra on their way to a material.

mod own_ceramics;
