//! The one family of reflectance curves for tooth-coloured, opaque things.

use crate::colorimetry::Lch;
use crate::optics::DesignError;
use crate::spectrum::Spectrum;

/// A reflectance curve that rises from blue to red as teeth do:
/// R(λ) = A·(l + (1-l)/(1 + e^(-(λ-m)/w))).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReflectanceShape {
    /// A, reflectance far into the red, 0..1.
    pub a: f64,
    /// l, the blue end as a fraction of the red end, 0..1.
    pub l: f64,
    /// m, wavelength of the middle of the rise, nm.
    pub m: f64,
    /// w, width of the rise, nm.
    pub w: f64,
}

impl ReflectanceShape {
    /// Width of the rise used throughout, nm.
    pub const WIDTH_NM: f64 = 55.0;

    /// Reflectance at every band.
    #[must_use]
    pub fn spectrum(&self) -> Spectrum {
        Spectrum::from_fn(|nm| {
            let rise = 1.0 / (1.0 + (-(nm - self.m) / self.w).exp());
            self.a * (self.l + (1.0 - self.l) * rise)
        })
    }

    /// The opaque curve of this family with colour `colour` (CIELAB LCh, D65/2°), of width
    /// [`Self::WIDTH_NM`]. The colour is that of the curve itself, no surface involved.
    ///
    /// # Errors
    /// [`DesignError`] when no curve of the family has that colour.
    pub fn fit(colour: Lch) -> Result<Self, DesignError> {
        crate::optics::design::fit_shape(colour)
    }
}
