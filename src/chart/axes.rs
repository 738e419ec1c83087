//! What a chart is of, and its axes.

use super::uncertainty::Spread;
use crate::bake::{BakeError, Estimator};
use crate::colorimetry::{Illuminant, Lab, Lch};
use crate::material::Library;
use crate::scene::{Case, NaturalTooth, Preparation, Restoration};

/// Shades nearer each other than this share a row, L*.
const LEAST_STEP: f64 = 0.25;

/// What a chart is of.
#[derive(Debug, Clone, Copy)]
pub struct ChartCase<'a> {
    /// The natural tooth: the twin.
    pub tooth: &'a NaturalTooth,
    /// Seed of the mouth.
    pub seed: u64,
    /// The light.
    pub illuminant: Illuminant,
    /// The restoration whose class, profile, cement and prepared tooth are kept.
    pub restoration: &'a Restoration,
    /// What is not known exactly.
    pub spread: Spread,
}

impl<'a> ChartCase<'a> {
    /// The chart of a case's first restored tooth, or `None` where nothing is restored.
    #[must_use]
    pub fn of(case: &'a Case) -> Option<Self> {
        Self::of_restoration(case, case.restoration()?)
    }

    /// The chart of the restored tooth that is furthest from its twin, which is the one that counts
    /// where several are restored; `None` where nothing is.
    ///
    /// # Errors
    /// [`BakeError`] when the case names a material that the library does not have.
    pub fn furthest(case: &'a Case, library: &Library) -> Result<Option<Self>, BakeError> {
        if case.restorations.len() < 2 {
            return Ok(Self::of(case));
        }
        let mut furthest: Option<(f64, Self)> = None;
        for restoration in &case.restorations {
            let Some(of) = Self::of_restoration(case, restoration) else { continue };
            let estimator = Estimator::new(of.tooth, of.seed, of.illuminant, library)?;
            let de00 = estimator.difference(restoration)?.de00;
            if furthest.as_ref().is_none_or(|(most, _)| de00 > *most) {
                furthest = Some((de00, of));
            }
        }
        Ok(furthest.map(|(_, of)| of))
    }

    fn of_restoration(case: &'a Case, restoration: &'a Restoration) -> Option<Self> {
        let tooth = case.patient.teeth.iter().find(|t| t.tooth == restoration.tooth)?;
        let (seed, illuminant) = (case.seed, case.illuminant);
        Some(Self { tooth, seed, illuminant, restoration, spread: Spread::USUAL })
    }
}

/// Where the nodes lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Axes {
    /// Thicknesses in the middle of the tooth, mm, ascending at an even step.
    pub thickness_mm: Vec<f64>,
    /// Shades by lightness, ascending, the restoration's own among them.
    pub shades: Vec<Lch>,
}

impl Axes {
    /// Thicknesses that a preparation comes in and shades of the restoration's own chroma and hue; of a
    /// measured class, which comes in no others, those measured that are nearest to them.
    ///
    /// Veneers 0.2 to 1.2 mm and crowns 0.6 to 2.2 mm (common practice, no source), widened to hold
    /// the restoration itself.
    #[must_use]
    pub fn of(case: &ChartCase<'_>, library: &Library) -> Self {
        let ceramic = &case.restoration.ceramic;
        let (low, high) = match case.restoration.preparation {
            Preparation::Veneer => (0.2, 1.2),
            Preparation::Crown | Preparation::Onlay { .. } => (0.6, 2.2),
        };
        let own = case.restoration.thickness.body_mm;
        let tenth = |mm: f64| (mm * 10.0).round() / 10.0;
        let low = tenth(f64::min(low, own - 0.1)).max(0.1);
        let high = tenth(f64::max(high, own + 0.2));
        let steps = ((high - low) / 0.1).round().max(1.0) as usize;
        let step = (high - low) / steps as f64;
        let mut known = library.shades(&ceramic.class, ceramic.translucency);
        if library.ceramic_class(&ceramic.class).is_ok() {
            known = known.iter().map(|shade| Lch { l: shade.l, ..ceramic.shade }).collect();
        }
        known.push(ceramic.shade);
        Self {
            thickness_mm: (0..=steps).map(|i| low + step * i as f64).collect(),
            shades: value_steps(&known, ceramic.shade),
        }
    }

    /// Place of a thickness along its axis, in nodes; outside where it is outside.
    #[must_use]
    pub fn column_of(&self, thickness_mm: f64) -> f64 {
        match self.thickness_mm[..] {
            [first, second, ..] => (thickness_mm - first) / (second - first),
            _ => 0.0,
        }
    }

    /// Place of a lightness along the shade axis, in nodes; outside where it is outside.
    #[must_use]
    pub fn row_of(&self, lightness: f64) -> f64 {
        let shades = &self.shades;
        let last = shades.len().saturating_sub(1);
        if last == 0 {
            return 0.0;
        }
        let i = (0..last - 1).find(|&i| lightness < shades[i + 1].l).unwrap_or(last - 1);
        i as f64 + (lightness - shades[i].l) / (shades[i + 1].l - shades[i].l)
    }
}

/// One shade for each lightness of a set, `own` and else that nearest it in chroma and hue.
fn value_steps(shades: &[Lch], own: Lch) -> Vec<Lch> {
    let lab = Lab::from(own);
    let off = |shade: &Lch| {
        let other = Lab::from(*shade);
        (other.a - lab.a).hypot(other.b - lab.b)
    };
    let mut sorted = shades.to_vec();
    sorted.sort_by(|a, b| off(a).total_cmp(&off(b)).then(a.l.total_cmp(&b.l)));
    let mut kept = vec![own];
    for shade in sorted {
        if kept.iter().all(|other| (other.l - shade.l).abs() >= LEAST_STEP) {
            kept.push(shade);
        }
    }
    kept.sort_by(|a, b| a.l.total_cmp(&b.l));
    kept
}

pub(super) fn lightness(axes: &Axes) -> Vec<f64> {
    axes.shades.iter().map(|shade| shade.l).collect()
}

/// The value of an axis at a place in nodes.
pub(super) fn along(axis: &[f64], place: f64) -> f64 {
    let last = axis.len() - 1;
    let i = (place.max(0.0).floor() as usize).min(last.saturating_sub(1));
    let next = axis[(i + 1).min(last)];
    axis[i] + (place - i as f64) * (next - axis[i])
}
