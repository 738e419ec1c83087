//! The truth of many restorations of one tooth, without the rest of the smile.

use crate::bake::detail::detail;
use crate::bake::face::{Face, MAP, NODES};
use crate::bake::lobes::lobe_phase;
use crate::bake::map::ZoneDifference;
use crate::bake::tooth_optics::{NaturalFace, NaturalOptics, RestoredOptics};
use crate::bake::{BakeError, truth};
use crate::colorimetry::{Illuminant, Lab};
use crate::material::Library;
use crate::scene::{NaturalTooth, Restoration};

/// Judges many restorations of one tooth from the maps that would be drawn.
///
/// Its differences are those of [`bake`](crate::bake::bake), at about a tenth of the work; an
/// [`Estimator`](crate::bake::Estimator) is quicker by far and less exact.
pub struct Judge<'a> {
    library: &'a Library,
    optics: NaturalOptics,
    written_out: NaturalFace,
    face: Face,
    detail: Vec<[f64; 3]>,
    natural: [Lab; 3],
}

impl<'a> Judge<'a> {
    /// Prepares to judge one tooth of the mouth with this seed.
    ///
    /// # Errors
    /// [`BakeError`] when the tooth's colour is out of reach.
    pub fn new(
        tooth: &NaturalTooth,
        seed: u64,
        illuminant: Illuminant,
        library: &'a Library,
    ) -> Result<Self, BakeError> {
        let (width, height) = MAP;
        let optics = NaturalOptics::solve(tooth, lobe_phase(seed, tooth.tooth), library)?;
        let face = Face { tooth: tooth.tooth, illuminant };
        let detail = detail(seed, tooth.tooth, width, height);
        let written_out = optics.face();
        let map = face.natural(&written_out, NODES).to_map(width, height, &detail);
        let natural = truth::map_zones(&map);
        Ok(Self { library, optics, written_out, face, detail, natural })
    }

    /// Colours of the natural tooth's thirds: cervical, body, incisal.
    #[must_use]
    pub const fn natural_thirds(&self) -> &[Lab; 3] {
        &self.natural
    }

    /// Colours of the restored tooth's thirds: cervical, body, incisal.
    ///
    /// # Errors
    /// [`BakeError`] when a material is unknown or impossible.
    pub fn thirds(&self, restoration: &Restoration) -> Result<[Lab; 3], BakeError> {
        let (width, height) = MAP;
        let optics = RestoredOptics::new(restoration, self.optics.shape(), self.library)?;
        let map = self.face.restored(&optics, Some(&self.written_out), NODES);
        let map = map.to_map(width, height, &self.detail);
        Ok(truth::map_zones(&map))
    }

    /// The zone-weighted difference restored minus twin: the truth of the baked smile.
    ///
    /// # Errors
    /// [`BakeError`] when a material is unknown or impossible.
    pub fn difference(&self, restoration: &Restoration) -> Result<ZoneDifference, BakeError> {
        Ok(ZoneDifference::of_thirds(&self.natural, &self.thirds(restoration)?))
    }
}
