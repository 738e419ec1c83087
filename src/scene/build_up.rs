//! A tooth rebuilt in layers that copy its own.

use crate::scene::{SpectralShift, Tooth};

/// A layered build-up: masses of enamel and dentin in the tooth's own anatomy, mixed with another
/// share of pigment and opacifier than the tooth's.
///
/// At each height both masses have the tooth's own coefficients times
/// `σs′ · exp(f(λ)/2)` and `σa · exp(−f(λ)/2)`, with `f = level + tilt · t(λ) − dip · d(λ)` and the
/// curves of [`SpectralShift`]. So the ratio that sets the colour of a thick piece, σs′/σa, changes
/// by `exp(f)`: a lighter mass has more opacifier and less pigment, a more chromatic one more of
/// both towards blue. Thicknesses, refractive indices and anisotropies stay, so the light still
/// falls through enamel and dentin as in the tooth that is copied. The three numbers are those of a
/// cervical, a body and an incisal mass, in the middle of their third; between the middles the
/// masses blend.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BuildUp {
    /// The tooth that is built up.
    pub tooth: Tooth,
    /// Level, tilt and dip of the cervical, body and incisal mass: natural logarithms.
    pub masses: [[f64; 3]; 3],
}

/// A tooth that differs from its twin by a measured amount, not by a restoration of some design.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum AxisChange {
    /// Its layers are rebuilt from other masses.
    BuildUp(BuildUp),
    /// Its reflectance is multiplied.
    Shift(SpectralShift),
}

impl AxisChange {
    /// The name stored with results.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::BuildUp(_) => "build-up",
            Self::Shift(_) => "spectral shift",
        }
    }

    /// The tooth.
    #[must_use]
    pub const fn tooth(&self) -> Tooth {
        match self {
            Self::BuildUp(build_up) => build_up.tooth,
            Self::Shift(shift) => shift.tooth,
        }
    }
}

impl BuildUp {
    /// Level, tilt and dip of the mass at a height, 0 at the gingival margin to 1 at the incisal
    /// edge.
    #[must_use]
    pub fn at(&self, height: f64) -> [f64; 3] {
        SpectralShift { tooth: self.tooth, thirds: self.masses }.at(height)
    }

    /// Factors on σs′ and σa of a mass at a wavelength, nm; above 0.
    #[must_use]
    pub fn factors(mass: [f64; 3], wavelength_nm: f64) -> (f64, f64) {
        let ratio = SpectralShift::factor(mass, wavelength_nm).sqrt();
        (ratio, 1.0 / ratio)
    }
}
