//! The layers of a restored tooth at three heights, and what each contributes.

use super::BakeError;
use super::lobes::lobe_phase;
use super::section::{FacePoint, NaturalSection, SectionShape};
use crate::colorimetry::Lch;
use crate::material::Library;
use crate::optics::Layer;
use crate::optics::explain::explain;
use crate::optics::transport::{Base, CEMENT_JOINT};
use crate::scene::{Case, Preparation, Restoration, Tooth};

/// Where a tooth is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CutHeight {
    /// The middle of the cervical third.
    Neck,
    /// The middle of the tooth.
    Middle,
    /// The middle of the incisal third.
    Incisal,
}

impl CutHeight {
    /// From the neck to the edge.
    pub const ALL: [Self; 3] = [Self::Neck, Self::Middle, Self::Incisal];

    /// 0 at the gingival margin, 1 at the edge.
    #[must_use]
    pub const fn height(self) -> f64 {
        match self {
            Self::Neck => 1.0 / 6.0,
            Self::Middle => 0.5,
            Self::Incisal => 5.0 / 6.0,
        }
    }

    /// Plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Neck => "neck",
            Self::Middle => "middle",
            Self::Incisal => "incisal third",
        }
    }
}

/// What a layer is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LayerRole {
    /// The ceramic.
    Ceramic,
    /// The cement.
    Cement,
    /// The prepared tooth.
    PreparedTooth,
    /// What closes the back, enamel or ceramic, with the mouth behind it.
    Back,
}

impl LayerRole {
    /// Plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ceramic => "ceramic",
            Self::Cement => "cement",
            Self::PreparedTooth => "prepared tooth",
            Self::Back => "back and mouth",
        }
    }
}

/// One layer of a cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CutLayer {
    /// What it is.
    pub role: LayerRole,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Share of the luminance of all returned light that comes back from this layer. The shares of a
    /// cut sum to 1.
    pub light_share: f64,
    /// Change of colour when this layer is laid on what lies below: ΔL*, ΔC* and Δh in degrees. The
    /// back counts from black.
    pub change: [f64; 3],
    /// Colour with this layer and all below it in place.
    pub colour: Lch,
}

/// The layers at one height, from the front.
#[derive(Debug, Clone, PartialEq)]
pub struct Cut {
    /// Where.
    pub height: CutHeight,
    /// Ceramic, cement, prepared tooth, back.
    pub layers: [CutLayer; 4],
    /// Colour of the whole, CIELAB LCh under the case's light.
    pub colour: Lch,
    /// The same place of the natural twin.
    pub natural: NaturalSection,
}

/// Chroma C*ab below which a layer's hue is not compared: a step of 1 in a* or b* turns it by 10° and
/// more. Enamel over the dark of the mouth is such a bluish grey, of 4 to 5; teeth have 8 and up. A
/// setting of this program.
const GREY_BELOW: f64 = 6.0;

impl Cut {
    /// Change of hue in degrees, -180 to 180, when a layer is laid on what lies below. `None` where there
    /// is no hue to change from or to: from black, and where either colour is nearly grey.
    #[must_use]
    pub fn hue_change(&self, layer: usize) -> Option<f64> {
        let (here, below) = (self.layers.get(layer)?, self.layers.get(layer + 1)?);
        (here.colour.c.min(below.colour.c) >= GREY_BELOW).then_some(here.change[2])
    }
}

/// A restored tooth cut at up to three heights in its middle line.
#[derive(Debug, Clone, PartialEq)]
pub struct CrossSection {
    /// The tooth.
    pub tooth: Tooth,
    /// Its preparation, which says what closes the back.
    pub preparation: Preparation,
    /// Neck, middle and incisal third, as far as ceramic covers them: an onlay leaves the tooth
    /// below its margin line as it is.
    pub cuts: Vec<Cut>,
}

/// Cuts a restored tooth of a case. `None` where the tooth is not in view.
///
/// Light shares and changes are those of the flat stack at that place ([`explain`]); the baked tooth
/// also has light that spreads sideways.
///
/// # Errors
/// [`BakeError`] when the case names a material that the library does not have.
pub fn cross_section(
    case: &Case,
    restoration: &Restoration,
    library: &Library,
) -> Result<Option<CrossSection>, BakeError> {
    let Some(tooth) = case.patient.teeth.iter().find(|t| t.tooth == restoration.tooth) else {
        return Ok(None);
    };
    let shape = SectionShape {
        kind: tooth.tooth.kind(),
        enamel_factor: tooth.enamel_factor,
        lobe_phase: lobe_phase(case.seed, tooth.tooth),
    };
    let cement = library.seated_cement(restoration)?;
    let prepared = library.prepared_tooth(&restoration.prepared_tooth)?;
    let mut cuts = Vec::with_capacity(3);
    let covered = |place: &CutHeight| restoration.preparation.covers(place.height());
    for place in CutHeight::ALL.into_iter().filter(covered) {
        let point = FacePoint { mesial: 0.0, height: place.height() };
        let section = shape.restored(
            point,
            restoration.preparation,
            &restoration.thickness,
            restoration.cement_film_mm,
        );
        let ceramic = library.ceramic_at(&restoration.ceramic, point.height)?;
        let closing = match restoration.preparation {
            Preparation::Veneer | Preparation::Onlay { .. } => library.enamel(),
            Preparation::Crown => &ceramic,
        };
        let layers = [
            Layer { medium: &ceramic, thickness_mm: section.ceramic_mm },
            Layer { medium: &*cement, thickness_mm: section.cement_mm },
            Layer { medium: &*prepared, thickness_mm: section.prepared_mm },
        ];
        let back = Layer { medium: closing, thickness_mm: section.back_mm };
        let base = Base::Mouth(back, library.mouth_reflectance());
        let found = explain(library.tables(), &layers, base, CEMENT_JOINT, case.illuminant);
        let roles = [
            (LayerRole::Ceramic, section.ceramic_mm),
            (LayerRole::Cement, section.cement_mm),
            (LayerRole::PreparedTooth, section.prepared_mm),
            (LayerRole::Back, section.back_mm),
        ];
        cuts.push(Cut {
            height: place,
            layers: std::array::from_fn(|i| CutLayer {
                role: roles[i].0,
                thickness_mm: roles[i].1,
                light_share: found.parts[i].luminance_share,
                change: found.parts[i].change,
                colour: found.parts[i].colour,
            }),
            colour: found.colour,
            natural: shape.natural(point),
        });
    }
    let preparation = restoration.preparation;
    Ok(Some(CrossSection { tooth: tooth.tooth, preparation, cuts }))
}
