//! Media of what nothing shows through: tooth tissues, and what shades are named before.

use super::library_error::LibraryError;
use crate::colorimetry::Lch;
use crate::optics::transport::{DENTIN_JOINT, Tables};
use crate::optics::{
    Design, DesignTarget, Interface, Look, Medium, ReflectanceShape, TranslucencyTarget, design,
};
use crate::spectrum::Spectrum;

/// Thickness that counts as opaque for tooth tissues, mm.
const OPAQUE_MM: f64 = 50.0;
/// Refractive index of prepared teeth: that of dentin (Meng et al., J Biomed Opt 2009;14:034010).
pub(super) const PREPARED_INDEX: f64 = DENTIN_JOINT;

fn designed(what: &str, target: &DesignTarget) -> Result<Design, LibraryError> {
    design::design(target).map_err(|source| LibraryError::Design { what: what.to_owned(), source })
}

/// A medium whose thick piece has a measured colour.
pub(super) fn opaque_medium(
    tables: &Tables,
    what: &str,
    colour: Lch,
    translucency: TranslucencyTarget,
    scattering_exponent: f64,
    refractive_index: f64,
    anisotropy: f64,
) -> Result<Medium, LibraryError> {
    let table = tables.top(refractive_index, anisotropy, DENTIN_JOINT);
    designed(
        what,
        &DesignTarget {
            colour,
            thickness_mm: OPAQUE_MM,
            backing: &Spectrum::constant(0.5),
            look: Look::Transport(&table),
            translucency,
            scattering_exponent,
            refractive_index,
            anisotropy,
        },
    )
    .map(|design| design.medium)
}

/// Internal reflectance of something opaque that measures `colour` in air.
pub(super) fn internal_curve(what: &str, colour: Lch, n: f64) -> Result<Spectrum, LibraryError> {
    let wrap = |source| LibraryError::Design { what: what.to_owned(), source };
    let interface = Interface::between_air_and(n);
    let measured = ReflectanceShape::fit(colour).map_err(wrap)?.spectrum();
    Ok(measured.map(|r| interface.internal_from_excluded(r)))
}
