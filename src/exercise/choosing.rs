//! What exercises of choosing share: kinds of restoration by share, and the truth of many restorations
//! of one tooth.

use super::ExerciseError;
use super::cases::Layout;
use crate::bake::{BakeError, BakedScene, Condition, ZoneDifference, bake};
use crate::colorimetry::Lab;
use crate::level::format::RestorationKind;
use crate::material::Library;
use crate::scene::{Case, Restoration, Tooth};
use rand::RngExt;

/// A tooth of the level and a kind of restoration on it: the kind by its share, then any tooth in
/// view that it may stand on.
pub(super) fn kind_by_share<'a>(
    layout: &Layout<'a>,
    number: u32,
    stream: &mut impl rand::Rng,
) -> Result<(Tooth, &'a RestorationKind), ExerciseError> {
    let teeth_of = |kind: &RestorationKind| -> Vec<Tooth> {
        let may = |tooth: &&Tooth| {
            kind.teeth.as_ref().is_none_or(|teeth| teeth.contains(&tooth.number()))
        };
        layout.teeth.iter().filter(may).copied().collect()
    };
    let level = layout.level;
    let kinds: Vec<(&RestorationKind, Vec<Tooth>)> = level
        .restorations
        .iter()
        .map(|kind| (kind, teeth_of(kind)))
        .filter(|(_, teeth)| !teeth.is_empty())
        .collect();
    let total: f64 = kinds.iter().map(|(kind, _)| kind.share).sum();
    let mut left = stream.random::<f64>() * total;
    let chosen = kinds.iter().find(|(kind, _)| {
        left -= kind.share;
        left <= 0.0
    });
    let Some((kind, teeth)) = chosen.or(kinds.last()) else {
        let why = "no tooth in view may be restored".to_owned();
        return Err(ExerciseError::NoCase { level: level.id.clone(), number, why });
    };
    Ok((teeth[stream.random_range(0..teeth.len())], kind))
}

/// One tooth of a smile, baked by itself, to be restored in many ways: the truth from finished maps.
pub(super) struct OneTooth<'a> {
    library: &'a Library,
    case: Case,
    scene: BakedScene,
}

impl<'a> OneTooth<'a> {
    /// # Errors
    /// [`BakeError`] when the tooth is not in view or out of reach.
    pub fn new(natural: &Case, tooth: Tooth, library: &'a Library) -> Result<Self, BakeError> {
        let mut case = natural.clone();
        case.restorations.clear();
        case.patient.teeth.retain(|t| t.tooth == tooth);
        if case.patient.teeth.is_empty() {
            let teeth: Vec<_> = natural.patient.teeth.iter().map(|t| t.tooth.to_string()).collect();
            return Err(BakeError::NotInView { restored: tooth, in_view: teeth.join(", ") });
        }
        let scene = bake(&case, library)?;
        Ok(Self { library, case, scene })
    }

    /// The tooth with this restoration.
    pub fn restored(&mut self, restoration: &Restoration) -> Result<&BakedScene, BakeError> {
        self.case.restorations = vec![restoration.clone()];
        self.scene.rebake(&self.case, restoration.tooth, self.library)?;
        Ok(&self.scene)
    }

    /// Colours of its thirds, natural and restored.
    pub fn thirds(&mut self, restoration: &Restoration) -> Result<[[Lab; 3]; 2], BakeError> {
        let tooth = restoration.tooth;
        let scene = self.restored(restoration)?;
        let black = Lab { l: 0.0, a: 0.0, b: 0.0 };
        let of = |condition| scene.zone_labs(tooth, condition).unwrap_or([black; 3]);
        Ok([of(Condition::Twin), of(Condition::Restored)])
    }

    /// Restored minus natural, zone-weighted.
    pub fn difference(&mut self, restoration: &Restoration) -> Result<ZoneDifference, BakeError> {
        let [natural, restored] = self.thirds(restoration)?;
        Ok(ZoneDifference::of_thirds(&natural, &restored))
    }
}
