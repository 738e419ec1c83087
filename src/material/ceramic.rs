//! Ceramics of a library as media: uniform, graded, measured.

use super::library::Library;
use super::library_error::LibraryError;
use crate::colorimetry::{Illuminant, Lab, Lch, Observer};
use crate::material::format::{CeramicClass, MeasuredClass, TranslucencyGrade};
use crate::optics::transport::{Base, CEMENT_JOINT, tabulated_reflectance};
use crate::optics::{DesignTarget, Layer, Look, Medium, TranslucencyTarget, design};
use crate::scene::{Ceramic, Translucency};
use crate::spectrum::Spectrum;
use std::sync::Arc;

/// A ceramic as a medium at each end of its block; both ends are equal in a uniform one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct CeramicMedia {
    pub cervical: Medium,
    pub incisal: Medium,
}

impl CeramicMedia {
    /// Absorption and scattering change linearly from the cervical end (0) to the incisal (1).
    pub(crate) fn at(&self, height: f64) -> Medium {
        let mix = |a: f64, b: f64| a + (b - a) * height.clamp(0.0, 1.0);
        Medium {
            absorption: self.cervical.absorption.zip(&self.incisal.absorption, mix),
            reduced_scattering: self
                .cervical
                .reduced_scattering
                .zip(&self.incisal.reduced_scattering, mix),
            ..self.cervical
        }
    }
}

impl Library {
    /// Colour of a thick piece of a ceramic, which names its shade; CIELAB LCh under D65/2°.
    #[must_use]
    pub fn shade_of(&self, medium: &Medium) -> Lch {
        let layer = Layer { medium, thickness_mm: self.ceramics().shades.at_mm };
        let base = Base::Backing(self.shade_backing());
        let seen = tabulated_reflectance(self.tables(), &[layer], base, CEMENT_JOINT);
        Lch::from(Lab::from_reflectance(&seen, Illuminant::D65, Observer::Cie1931))
    }

    /// A uniform ceramic of a class, translucency and shade.
    ///
    /// # Errors
    /// [`LibraryError`] for unknown ids and shades no material of the class can have.
    pub fn ceramic(
        &self,
        class: &str,
        translucency: Translucency,
        shade: Lch,
    ) -> Result<Arc<Medium>, LibraryError> {
        if let Some(pigmented) = self.pigmented_class(class) {
            return self.pigmented_ceramic(pigmented, translucency, shade);
        }
        let entry = match (self.ceramic_class(class), self.measured_class(class)) {
            (Ok(entry), _) => entry,
            (Err(_), Some(measured)) => return self.measured(measured, translucency, shade),
            (Err(error), None) => return Err(error),
        };
        let grade = Self::grade(entry, translucency)?;
        self.ceramic_of_contrast(entry, grade.contrast_ratio, grade.at_mm, shade)
    }

    /// A translucency of a class.
    pub(super) fn grade(
        class: &CeramicClass,
        translucency: Translucency,
    ) -> Result<&TranslucencyGrade, LibraryError> {
        let mut grades = class.translucencies.iter();
        grades
            .find(|grade| grade.level == translucency)
            .ok_or_else(|| LibraryError::NoTranslucency { class: class.id.clone(), translucency })
    }

    fn measured(
        &self,
        class: &MeasuredClass,
        translucency: Translucency,
        shade: Lch,
    ) -> Result<Arc<Medium>, LibraryError> {
        let pieces = || class.pieces.iter().filter(|piece| piece.translucency == translucency);
        if pieces().next().is_none() {
            return Err(LibraryError::NoTranslucency { class: class.id.clone(), translucency });
        }
        let piece = pieces().find(|piece| piece.shade.name() == shade.name()).ok_or_else(|| {
            let known = pieces().map(|piece| piece.shade.name()).collect::<Vec<_>>().join(", ");
            LibraryError::NotMeasured { class: class.id.clone(), shade, known }
        })?;
        let what = format!("{} {} {translucency:?}, measured", class.id, piece.shade.name());
        self.once(what, |what| {
            let spectrum = |samples: &crate::spectrum::RegularSamples| {
                Spectrum::from_regular(samples.first_nm, samples.step_nm, &samples.values)
                    .map_err(|source| LibraryError::Spectrum { what: what.to_owned(), source })
            };
            let (absorption, scattering) =
                (spectrum(&piece.absorption)?, spectrum(&piece.reduced_scattering)?);
            Medium::new(absorption, scattering, class.anisotropy, class.refractive_index)
                .map_err(|source| LibraryError::Medium { what: what.to_owned(), source })
        })
    }

    /// The media at the two ends of a ceramic's block.
    pub(crate) fn ceramic_media(&self, ceramic: &Ceramic) -> Result<CeramicMedia, LibraryError> {
        if !ceramic.graded {
            let medium = *self.ceramic(&ceramic.class, ceramic.translucency, ceramic.shade)?;
            return Ok(CeramicMedia { cervical: medium, incisal: medium });
        }
        if self.measured_class(&ceramic.class).is_some() {
            return Err(LibraryError::NotGraded { class: ceramic.class.clone() });
        }
        let entry = self.ceramic_class(&ceramic.class)?;
        let uniform = self.pigmented_class(&ceramic.class).is_some();
        let block = entry
            .graded
            .filter(|_| !uniform)
            .ok_or_else(|| LibraryError::NotGraded { class: ceramic.class.clone() })?;
        let at_mm = entry.translucencies.first().map_or(1.0, |grade| grade.at_mm);
        let end = |ratio| self.ceramic_of_contrast(entry, ratio, at_mm, ceramic.shade);
        Ok(CeramicMedia {
            cervical: *end(block.cervical_contrast_ratio)?,
            incisal: *end(block.incisal_contrast_ratio)?,
        })
    }

    /// The ceramic at a height of the tooth: 0 at the neck, 1 at the edge. A uniform block is the
    /// same at every height; in a graded one it also counts where the tooth stands in the block.
    ///
    /// # Errors
    /// [`LibraryError`] for unknown ids and shades no material of the class can have.
    pub fn ceramic_at(&self, ceramic: &Ceramic, height: f64) -> Result<Medium, LibraryError> {
        Ok(self.ceramic_media(ceramic)?.at(ceramic.block_height(height)))
    }

    fn ceramic_of_contrast(
        &self,
        class: &CeramicClass,
        contrast_ratio: f64,
        at_mm: f64,
        shade: Lch,
    ) -> Result<Arc<Medium>, LibraryError> {
        let shade_name = exact_name(shade);
        let what = format!("{} {shade_name} at contrast ratio {contrast_ratio}", class.id);
        self.once(what, |what| self.design_ceramic(what, class, contrast_ratio, at_mm, shade))
    }

    /// Designs a ceramic anew.
    pub(super) fn design_ceramic(
        &self,
        what: &str,
        class: &CeramicClass,
        contrast_ratio: f64,
        at_mm: f64,
        shade: Lch,
    ) -> Result<Medium, LibraryError> {
        let (n, g) = (class.refractive_index, class.anisotropy);
        let table = self.tables().top(n, g, CEMENT_JOINT);
        let target = DesignTarget {
            colour: shade,
            thickness_mm: self.ceramics().shades.at_mm,
            backing: self.shade_backing(),
            look: Look::Transport(&table),
            translucency: TranslucencyTarget::ContrastRatio {
                value: contrast_ratio,
                thickness_mm: at_mm,
            },
            scattering_exponent: class.scattering_exponent,
            refractive_index: n,
            anisotropy: g,
        };
        let found = design::design(&target).map(|design| design.medium);
        found.map_err(|source| LibraryError::Shade { what: what.to_owned(), source })
    }
}

/// A shade to the last digit, so that no two share a medium.
pub(super) fn exact_name(shade: Lch) -> String {
    format!("L{} C{} h{}", shade.l, shade.c, shade.h)
}
