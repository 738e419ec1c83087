//! Cements, prepared teeth, dentins and gingivae of a library.

use super::library::Library;
use super::library_error::{LibraryError, MaterialKind, find};
use super::opaque::{PREPARED_INDEX, opaque_medium};
use crate::colorimetry::Lch;
use crate::material::format::PreparedTooth;
use crate::material::own_tooth;
use crate::optics::{
    Medium, TranslucencyTarget, TwoFluxMedium, log_linear_absorption, power_law_scattering,
};
use std::borrow::Cow;
use std::sync::Arc;

/// Exponent of scattering of prepared teeth. Assumption.
const PREPARED_EXPONENT: f64 = 1.2;

impl Library {
    /// The prepared tooth with id `id`, or the one whose measured colour `id` gives in the notation
    /// `L58.2 C14.0 h78.5` ([`own_tooth`]).
    ///
    /// # Errors
    /// [`LibraryError::Unknown`].
    pub fn prepared_tooth_entry(&self, id: &str) -> Result<Cow<'_, PreparedTooth>, LibraryError> {
        let known = &self.tissues().prepared_teeth;
        match own_tooth::colour(id) {
            Some(colour) => Ok(Cow::Owned(own_tooth::entry(colour, known))),
            None => find(known, MaterialKind::PreparedTooth, id, |p| &p.id).map(Cow::Borrowed),
        }
    }

    /// The cement with id `id`.
    ///
    /// # Errors
    /// [`LibraryError`] for an unknown id or impossible coefficients.
    pub fn cement(&self, id: &str) -> Result<Arc<Medium>, LibraryError> {
        let entry = find(&self.cements().cements, MaterialKind::Cement, id, |c| &c.id)?;
        self.once(format!("cement {id}"), |what| {
            let k = &entry.absorption;
            let wrap = |source| LibraryError::Medium { what: what.to_owned(), source };
            let absorption = log_linear_absorption([k.at_450, k.at_550, k.at_650]).map_err(wrap)?;
            let scattering = power_law_scattering(entry.scattering_550, entry.scattering_exponent);
            let two_flux =
                TwoFluxMedium::new(absorption, scattering, entry.refractive_index).map_err(wrap)?;
            Ok(Medium::from_two_flux(&two_flux, entry.anisotropy))
        })
    }

    /// The prepared tooth with id `id`, as a medium: near the incisal edge it is thin.
    ///
    /// # Errors
    /// [`LibraryError`] for an unknown id or a colour that no tissue can have.
    pub fn prepared_tooth(&self, id: &str) -> Result<Arc<Medium>, LibraryError> {
        let entry = self.prepared_tooth_entry(id)?;
        self.once(format!("prepared tooth {id}"), |what| {
            let tp = TranslucencyTarget::Tp { value: entry.tp, thickness_mm: entry.at_mm };
            opaque_medium(
                self.tables(),
                what,
                entry.colour,
                tp,
                PREPARED_EXPONENT,
                PREPARED_INDEX,
                self.tissues().dentin_anisotropy,
            )
        })
    }

    /// The prepared tooth with id `id`, `delta_lightness` lighter (L*; darker below 0).
    ///
    /// # Errors
    /// [`LibraryError`] for an unknown id or a colour that no tissue can have.
    pub fn prepared_tooth_shifted(
        &self,
        id: &str,
        delta_lightness: f64,
    ) -> Result<Medium, LibraryError> {
        let entry = self.prepared_tooth_entry(id)?;
        opaque_medium(
            self.tables(),
            &format!("prepared tooth {id}, {delta_lightness:+.2} L*"),
            Lch { l: entry.colour.l + delta_lightness, ..entry.colour },
            TranslucencyTarget::Tp { value: entry.tp, thickness_mm: entry.at_mm },
            PREPARED_EXPONENT,
            PREPARED_INDEX,
            self.tissues().dentin_anisotropy,
        )
    }

    /// The dentin with id `id`.
    ///
    /// # Errors
    /// [`LibraryError`] for an unknown id or a colour that no tissue can have.
    pub fn dentin(&self, id: &str) -> Result<Arc<Medium>, LibraryError> {
        let entry = find(&self.tissues().dentins, MaterialKind::Dentin, id, |d| &d.id)?;
        self.once(format!("dentin {id}"), |what| {
            let tp = TranslucencyTarget::Tp { value: entry.tp, thickness_mm: entry.at_mm };
            opaque_medium(
                self.tables(),
                what,
                entry.colour,
                tp,
                PREPARED_EXPONENT,
                entry.refractive_index,
                self.tissues().dentin_anisotropy,
            )
        })
    }

    /// Colour of the gingiva with id `id`.
    ///
    /// # Errors
    /// [`LibraryError::Unknown`].
    pub fn gingiva(&self, id: &str) -> Result<Lch, LibraryError> {
        find(&self.tissues().gingivae, MaterialKind::Gingiva, id, |g| &g.id).map(|g| g.colour)
    }
}
