//! From a case to maps: every tooth, the twin of the restored one, and the truth.

use super::bake_error::BakeError;
use super::detail;
use super::face::{Face, Grid, MAP, NODES};
use super::lobes::lobe_phase;
use super::map::{
    BakedScene, BakedTooth, Complexion, Condition, MarginContrast, ReflectanceMap, Truth,
};
use super::tooth_optics::{NaturalOptics, RestoredOptics};
use super::{margin, truth};
use crate::colorimetry::{Illuminant, Lab, Lch, Observer, display_linear, smoothest_reflectance};
use crate::material::Library;
use crate::scene::{Case, NaturalTooth, Preparation, Restoration, Tooth};
use rayon::prelude::*;
use std::sync::Arc;

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
