//! The smooth outer surface: from internal to measured reflectance and back.

use crate::optics::fresnel;

/// Surface reflectances that turn an internal reflectance into a measured one.
///
/// # References
/// Saunderson, J Opt Soc Am 1942;32:727-736.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interface {
    /// Reflectance for the incoming light, from outside, 0..1.
    pub k1: f64,
    /// Reflectance for diffuse light from inside, 0..1.
    pub k2: f64,
}

impl Interface {
    /// No surface at all: measured equals internal.
    pub const NONE: Self = Self { k1: 0.0, k2: 0.0 };

    /// A smooth surface between air and refractive index `n` > 0, lit along the normal.
    #[must_use]
    pub fn between_air_and(n: f64) -> Self {
        Self { k1: fresnel::normal_reflectance(n), k2: fresnel::internal_diffuse(n) }
    }

    /// A smooth surface between air and refractive index `n` > 0, lit diffusely.
    #[must_use]
    pub fn between_air_and_lit_diffusely(n: f64) -> Self {
        Self { k1: fresnel::external_diffuse(n), k2: fresnel::internal_diffuse(n) }
    }

    /// Measured reflectance, specular included: k1 + (1-k1)(1-k2)Ri/(1-k2·Ri), `internal` 0..1.
    #[must_use]
    #[inline]
    pub fn included(self, internal: f64) -> f64 {
        self.k1 + self.excluded(internal)
    }

    /// Measured reflectance with the specular part left out: (1-k1)(1-k2)Ri/(1-k2·Ri).
    ///
    /// This is what reflectance maps hold; highlights are added where the picture is drawn.
    #[must_use]
    #[inline]
    pub fn excluded(self, internal: f64) -> f64 {
        (1.0 - self.k1) * (1.0 - self.k2) * internal / (1.0 - self.k2 * internal)
    }

    /// Internal reflectance behind a measured one, specular included. Inverse of
    /// [`Self::included`].
    #[must_use]
    pub fn internal_from_included(self, measured: f64) -> f64 {
        self.internal_from_excluded(measured - self.k1)
    }

    /// Internal reflectance behind a measured one, specular excluded: C/((1-k1)(1-k2) + k2·C).
    /// Inverse of [`Self::excluded`].
    #[must_use]
    pub fn internal_from_excluded(self, measured: f64) -> f64 {
        measured / ((1.0 - self.k1) * (1.0 - self.k2) + self.k2 * measured)
    }
}
