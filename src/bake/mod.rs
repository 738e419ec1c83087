//! Case + optics → linear reflectance maps and the truth. No GPU types.
//!
//! Every tooth, natural or restored, goes through the same layered model and the same code path.
//! Optics are solved on a regular grid over the face (`face::Grid`), interpolated to the map, and
//! multiplied by surface detail that a restored tooth shares with its twin. The truth is computed
//! from the finished maps, before a pixel is drawn.
//!
//!
#![doc = include_str!("bake.md")]

mod complexion;
pub mod cross_section;
mod detail;
mod face;
mod judge;
mod map;
mod margin;
pub mod section;
mod tooth_optics;
mod truth;

use crate::colorimetry::{Illuminant, Lab, Lch, Observer, display_linear, smoothest_reflectance};
use crate::material::{Library, LibraryError};
use crate::optics::{Medium, MediumError};
use crate::random::{Purpose, StreamKey};
use crate::scene::{AxisChange, Case, NaturalTooth, Preparation, Restoration, Tooth};
pub use detail::detail as surface_detail;
use face::{Face, Grid, MAP, NODES};
pub use judge::Judge;
pub use map::{
    BakedScene, BakedTooth, Complexion, Condition, MarginContrast, PictureDifference,
    ReflectanceMap, Truth, ZoneDifference,
};
use rand::RngExt;
use rayon::prelude::*;
use std::sync::Arc;
use thiserror::Error;
use tooth_optics::{NaturalFace, NaturalOptics, RestoredOptics};
pub use truth::ZONE_WEIGHTS;

/// Why a case could not be baked.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum BakeError {
    /// A material is missing or impossible.
    #[error(transparent)]
    Library(#[from] LibraryError),
    /// The restored tooth is not in view.
    #[error("the restoration is on tooth {restored}, but the teeth in view are {in_view}")]
    NotInView {
        /// The restored tooth.
        restored: Tooth,
        /// The teeth in view.
        in_view: String,
    },
    /// A tooth was to be baked anew that has no restoration.
    #[error("tooth {tooth} has no restoration to bake anew; restored are: {restored}")]
    NotRestored {
        /// The tooth.
        tooth: Tooth,
        /// The restored teeth.
        restored: String,
    },
    /// A number that names no tooth.
    #[error("{0} is not one of the upper teeth 11-18 or 21-28 (ISO 3950)")]
    NoSuchTooth(u8),
    /// No dentin under this tooth's enamel gives the wanted body colour.
    #[error("tooth {tooth} cannot be {}: the nearest its layers come is L {:.1} C {:.1} h {:.1}",
        wanted.name(), reached.l, reached.c, reached.h)]
    BodyOutOfReach {
        /// Which tooth.
        tooth: Tooth,
        /// The wanted body colour.
        wanted: Lch,
        /// The nearest that was reached.
        reached: Lch,
    },
    /// Solved coefficients make no medium.
    #[error("tooth {tooth}: {source}")]
    Medium {
        /// Which tooth.
        tooth: Tooth,
        /// Why.
        source: MediumError,
    },
}

impl BakeError {
    /// Whether a ceramic cannot have the shade that was asked for, which leaves the others.
    #[must_use]
    pub const fn is_no_such_shade(&self) -> bool {
        matches!(self, Self::Library(LibraryError::Shade { .. }))
    }
}

/// Bakes a case: reflectance maps of every tooth, the twin of the restored one, and the truth.
///
/// The result depends on the case and the library alone: the same case gives the same bytes on
/// any number of threads.
///
/// # Errors
/// [`BakeError`] when a material is unknown or a colour is out of reach of the layered model.
pub fn bake(case: &Case, library: &Library) -> Result<BakedScene, BakeError> {
    check_in_view(case)?;
    let baked: Vec<BakedTooth> = case
        .patient
        .teeth
        .par_iter()
        .map(|tooth| bake_tooth(case, tooth, library))
        .collect::<Result<_, _>>()?;
    let truths = truths(case, &baked);
    let daylight = Complexion::draw(case.seed, case.patient.gingiva);
    let tissue = |colour: Lab| soft_tissue(colour, case.illuminant);
    let seen = |linear: [f32; 3]| tissue(Lab::from_linear_srgb(linear.map(f64::from)));
    let complexion = Complexion { skin: seen(daylight.skin), lips: seen(daylight.lips) };
    Ok(BakedScene {
        seed: case.seed,
        illuminant: case.illuminant,
        teeth: baked,
        gingiva: tissue(Lab::from(case.patient.gingiva)),
        complexion,
        staging: case.staging,
        truth: furthest(&truths),
        truths,
    })
}

fn truths(case: &Case, baked: &[BakedTooth]) -> Vec<Truth> {
    case.odd_teeth().filter_map(|tooth| truth::of_maps(tooth, baked)).collect()
}

fn furthest(truths: &[Truth]) -> Option<Truth> {
    truths.iter().max_by(|a, b| a.difference.de00.total_cmp(&b.difference.de00)).cloned()
}

/// A tissue of which only the colour in daylight is known, seen in another light; linear sRGB.
fn soft_tissue(colour: Lab, illuminant: Illuminant) -> [f32; 3] {
    display_linear(&smoothest_reflectance(colour), illuminant, Observer::Cie1931)
        .map(|v| v.max(0.0) as f32)
}

fn check_in_view(case: &Case) -> Result<(), BakeError> {
    let in_view = |tooth: Tooth| case.patient.teeth.iter().any(|t| t.tooth == tooth);
    let hidden = case.odd_teeth().find(|tooth| !in_view(*tooth));
    hidden.map_or(Ok(()), |restored| {
        let teeth: Vec<_> = case.patient.teeth.iter().map(|t| t.tooth.to_string()).collect();
        Err(BakeError::NotInView { restored, in_view: teeth.join(", ") })
    })
}

fn bake_tooth(
    case: &Case,
    tooth: &NaturalTooth,
    library: &Library,
) -> Result<BakedTooth, BakeError> {
    let (width, height) = MAP;
    let natural = NaturalOptics::solve(tooth, lobe_phase(case.seed, tooth.tooth), library)?;
    let detail = detail::detail(case.seed, tooth.tooth, width, height);
    let face = Face { tooth: tooth.tooth, illuminant: case.illuminant };
    let map = |grid: &Grid| Arc::new(grid.to_map(width, height, &detail));
    let written_out = natural.face();
    let restored = match case.restorations.iter().find(|r| r.tooth == tooth.tooth) {
        Some(restoration) => {
            let optics = RestoredOptics::new(restoration, natural.shape(), library)?;
            Some(map(&face.restored(&optics, Some(&written_out), NODES)))
        }
        _ => {
            let shift = case.shift.filter(|shift| shift.tooth() == tooth.tooth);
            shift.map(|shift| map(&face.changed(&natural, &shift, NODES)))
        }
    };
    Ok(BakedTooth {
        tooth: tooth.tooth,
        natural: map(&face.natural(&written_out, NODES)),
        restored,
    })
}

/// Bakes one restored tooth anew: its restored map alone. Nothing natural is solved again unless
/// natural tooth shows below the margin of an onlay.
fn restored_map(
    case: &Case,
    tooth: &NaturalTooth,
    restoration: &Restoration,
    library: &Library,
) -> Result<ReflectanceMap, BakeError> {
    let (width, height) = MAP;
    let phase = lobe_phase(case.seed, tooth.tooth);
    let natural = match restoration.preparation {
        Preparation::Veneer | Preparation::Crown => None,
        Preparation::Onlay { .. } => Some(NaturalOptics::solve(tooth, phase, library)?.face()),
    };
    let optics = RestoredOptics::new(restoration, NaturalOptics::shape_of(tooth, phase), library)?;
    let detail = detail::detail(case.seed, tooth.tooth, width, height);
    let face = Face { tooth: tooth.tooth, illuminant: case.illuminant };
    Ok(face.restored(&optics, natural.as_ref(), NODES).to_map(width, height, &detail))
}

fn lobe_phase(seed: u64, tooth: Tooth) -> f64 {
    let key = StreamKey {
        form: "lobes",
        seed,
        purpose: Purpose::Scene,
        block: 0,
        trial: u32::from(tooth.number()),
    };
    key.stream().random_range(0.0..std::f64::consts::TAU)
}

/// The tooth itself where its layers can have its body colour; otherwise the same tooth with the
/// nearest colour that they can have. Very light teeth cannot also be very chromatic.
///
/// # Errors
/// [`BakeError`] when no colour near the wanted one is in reach.
pub fn within_reach(
    tooth: &NaturalTooth,
    seed: u64,
    library: &Library,
) -> Result<NaturalTooth, BakeError> {
    let phase = lobe_phase(seed, tooth.tooth);
    let mut tooth = *tooth;
    for _ in 0..8 {
        match NaturalOptics::solve(&tooth, phase, library) {
            Ok(_) => return Ok(tooth),
            // The nearest lies on the limit; a little less chroma lies inside.
            Err(BakeError::BodyOutOfReach { reached, .. }) => {
                tooth.body = Lch { c: 0.985 * reached.c, ..reached };
            }
            Err(other) => return Err(other),
        }
    }
    NaturalOptics::solve(&tooth, phase, library).map(|_| tooth)
}

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

impl BakedScene {
    /// The baked tooth with this number, if it is in view.
    #[must_use]
    pub fn tooth(&self, tooth: Tooth) -> Option<&BakedTooth> {
        self.teeth.iter().find(|baked| baked.tooth == tooth)
    }

    /// Bakes the restoration on one tooth anew and computes the truth again. `case` is the case this
    /// scene was baked from with another restoration on `tooth`; the result is the same, byte for
    /// byte, as baking all of it.
    ///
    /// # Errors
    /// [`BakeError`] when `case` has no restoration there, a material is unknown or a colour out of
    /// reach; the scene is then unchanged.
    pub fn rebake(
        &mut self,
        case: &Case,
        tooth: Tooth,
        library: &Library,
    ) -> Result<(), BakeError> {
        check_in_view(case)?;
        let natural = case.patient.teeth.iter().find(|t| t.tooth == tooth);
        let restoration = case.restorations.iter().find(|r| r.tooth == tooth);
        let baked = self.teeth.iter_mut().find(|baked| baked.tooth == tooth);
        let (Some(natural), Some(restoration), Some(baked)) = (natural, restoration, baked) else {
            let teeth: Vec<_> = case.restorations.iter().map(|r| r.tooth.to_string()).collect();
            return Err(BakeError::NotRestored { tooth, restored: teeth.join(", ") });
        };
        baked.restored = Some(Arc::new(restored_map(case, natural, restoration, library)?));
        self.truths = truths(case, &self.teeth);
        self.truth = furthest(&self.truths);
        Ok(())
    }

    /// Contrast along the margin line of an onlay on `tooth` in a condition: what lies just above
    /// a line at `margin_height` minus what lies just below. `None` when the tooth is not in view.
    #[must_use]
    pub fn margin(
        &self,
        tooth: Tooth,
        condition: Condition,
        margin_height: f64,
    ) -> Option<MarginContrast> {
        let map = self.tooth(tooth)?.map(condition);
        Some(margin::of_map(map, tooth, margin_height))
    }

    /// Colours of a tooth's thirds in a condition: cervical, body, incisal, CIELAB as displayed.
    #[must_use]
    pub fn zone_labs(&self, tooth: Tooth, condition: Condition) -> Option<[Lab; 3]> {
        self.tooth(tooth).map(|baked| truth::map_zones(baked.map(condition)))
    }
}
