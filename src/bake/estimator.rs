//! The truth of many restorations of one tooth, predicted without baking.

use super::bake_error::BakeError;
use super::face::Face;
use super::lobes::lobe_phase;
use super::map::{MarginContrast, ZoneDifference};
use super::tooth_optics::{NaturalFace, NaturalOptics, RestoredOptics};
use super::{margin, truth};
use crate::colorimetry::{Illuminant, Lab};
use crate::material::Library;
use crate::optics::Medium;
use crate::scene::{AxisChange, NaturalTooth, Preparation, Restoration};

/// Predicts the truth of many restorations of one tooth without baking: a coarse grid, no detail.
pub struct Estimator<'a> {
    library: &'a Library,
    optics: NaturalOptics,
    written_out: NaturalFace,
    face: Face,
    natural: [Lab; 3],
}

impl<'a> Estimator<'a> {
    /// Columns and rows of the coarse grid.
    const COARSE: (usize, usize) = (5, 13);

    /// Prepares estimates for one tooth of the mouth with this seed.
    ///
    /// # Errors
    /// [`BakeError`] when the tooth's colour is out of reach.
    pub fn new(
        tooth: &NaturalTooth,
        seed: u64,
        illuminant: Illuminant,
        library: &'a Library,
    ) -> Result<Self, BakeError> {
        let optics = NaturalOptics::solve(tooth, lobe_phase(seed, tooth.tooth), library)?;
        let face = Face { tooth: tooth.tooth, illuminant };
        let written_out = optics.face();
        let natural = face.natural(&written_out, Self::COARSE).zone_labs();
        Ok(Self { library, optics, written_out, face, natural })
    }

    /// The same tooth in another light.
    #[must_use]
    pub fn under(&self, illuminant: Illuminant) -> Self {
        let face = Face { illuminant, ..self.face };
        let optics = self.optics.clone();
        let written_out = optics.face();
        let natural = face.natural(&written_out, Self::COARSE).zone_labs();
        Self { library: self.library, optics, written_out, face, natural }
    }

    /// The zone-weighted difference restored minus twin, near the baked one (tests
    /// hold it to 0.15 ΔE00 on a shipped case).
    ///
    /// # Errors
    /// [`BakeError`] when a material is unknown or impossible.
    pub fn difference(&self, restoration: &Restoration) -> Result<ZoneDifference, BakeError> {
        Ok(truth::weighted(&truth::by_zone(&self.natural, &self.zones(restoration)?)))
    }

    /// Colours of the restored tooth's thirds: cervical, body, incisal.
    ///
    /// # Errors
    /// [`BakeError`] when a material is unknown or impossible.
    pub fn zones(&self, restoration: &Restoration) -> Result<[Lab; 3], BakeError> {
        let optics = RestoredOptics::new(restoration, self.optics.shape(), self.library)?;
        Ok(self.face.restored(&optics, Some(&self.written_out), Self::COARSE).zone_labs())
    }

    /// The same over a prepared tooth made of `prepared` instead of the restoration's own.
    ///
    /// # Errors
    /// [`BakeError`] when a material is unknown or impossible.
    pub fn zones_over(
        &self,
        restoration: &Restoration,
        prepared: &Medium,
    ) -> Result<[Lab; 3], BakeError> {
        let shape = self.optics.shape();
        let optics = RestoredOptics::over(restoration, prepared, shape, self.library)?;
        Ok(self.face.restored(&optics, Some(&self.written_out), Self::COARSE).zone_labs())
    }

    /// Contrast along the margin line of an onlay, near the baked one; `None` for restorations
    /// that reach the gum.
    ///
    /// # Errors
    /// [`BakeError`] when a material is unknown or impossible.
    pub fn margin(&self, restoration: &Restoration) -> Result<Option<MarginContrast>, BakeError> {
        let Preparation::Onlay { margin_height } = restoration.preparation else {
            return Ok(None);
        };
        let optics = RestoredOptics::new(restoration, self.optics.shape(), self.library)?;
        let grid = self.face.restored(&optics, Some(&self.written_out), margin::GRID);
        Ok(Some(margin::of_grid(&grid, self.face.tooth, margin_height)))
    }

    /// Differences of the thirds, changed minus twin: cervical, body, incisal.
    #[must_use]
    pub fn change_differences(&self, change: &AxisChange) -> [ZoneDifference; 3] {
        let zones = self.face.changed(&self.optics, change, Self::COARSE).zone_labs();
        truth::by_zone(&self.natural, &zones)
    }

    /// Differences of the thirds, restored minus twin: cervical, body, incisal.
    ///
    /// # Errors
    /// [`BakeError`] when a material is unknown or impossible.
    pub fn differences(&self, restoration: &Restoration) -> Result<[ZoneDifference; 3], BakeError> {
        Ok(truth::by_zone(&self.natural, &self.zones(restoration)?))
    }

    /// Colours of the natural tooth's thirds: cervical, body, incisal.
    #[must_use]
    pub const fn natural_zones(&self) -> &[Lab; 3] {
        &self.natural
    }
}
