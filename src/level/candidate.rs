//! Restorations that may be chosen for a trial, and choosing among them.

use crate::bake::ZoneDifference;
use crate::colorimetry::{ACCEPTABILITY_DE00, Lch};
use crate::level::format::{Difference, RestorationKind};
use crate::scene::{Ceramic, Restoration, Tooth};
use crate::trial::Sign;

/// The restoration of a kind on a tooth, with this shade and its thickness times `factor`, just
/// seated.
pub(crate) fn restoration(
    kind: &RestorationKind,
    tooth: Tooth,
    shade: Lch,
    factor: f64,
) -> Restoration {
    Restoration {
        tooth,
        preparation: kind.preparation,
        ceramic: Ceramic {
            class: kind.ceramic.clone(),
            translucency: kind.translucency,
            shade,
            graded: kind.graded,
            block_shift: kind.block_shift.unwrap_or(0.0),
        },
        thickness: kind.thickness_mm.scaled(factor),
        cement: kind.cement.clone(),
        cement_film_mm: kind.cement_film_mm,
        prepared_tooth: kind.prepared_tooth.clone(),
        drift: None,
    }
}

/// A restoration that may be chosen.
pub(super) struct Candidate {
    pub restoration: Restoration,
    /// Restored minus twin, as it is now.
    pub now: ZoneDifference,
    /// The difference when it was seated, where that was earlier.
    pub at_seating_de00: Option<f64>,
}

/// The difference that is looked for.
pub(super) struct Wanted {
    pub difference: Difference,
    pub sign: Sign,
}

impl Wanted {
    fn right_way(&self, found: &ZoneDifference) -> bool {
        match self.sign {
            Sign::Darker => found.dl00 < 0.0,
            Sign::Lighter => found.dl00 > 0.0,
        }
    }

    pub fn fits(&self, candidate: &Candidate) -> bool {
        self.difference.de00.contains(candidate.now.de00)
            && self.right_way(&candidate.now)
            && candidate.at_seating_de00.is_none_or(|de00| de00 <= ACCEPTABILITY_DE00)
    }

    /// How far off a candidate is; the wrong direction counts as one ΔE00.
    fn miss(&self, candidate: &Candidate) -> f64 {
        let (range, de00) = (self.difference.de00, candidate.now.de00);
        let size = (range.low - de00).max(de00 - range.high).max(0.0);
        let before = candidate.at_seating_de00.map_or(0.0, |de00| de00 - ACCEPTABILITY_DE00);
        size + before.max(0.0) + if self.right_way(&candidate.now) { 0.0 } else { 1.0 }
    }

    /// One of the fitting candidates at random (`pick` in 0..1), or the one that matched best when
    /// it was seated, as that is what was seated; where none fits, the nearest.
    pub fn choose(&self, candidates: Vec<Candidate>, pick: f64) -> Option<Restoration> {
        let fitting: Vec<usize> =
            (0..candidates.len()).filter(|&i| self.fits(&candidates[i])).collect();
        let at_seating = |i: usize| candidates[i].at_seating_de00;
        let seated_best = fitting
            .iter()
            .filter_map(|&i| Some((i, at_seating(i)?)))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let index = if let Some((best, _)) = seated_best {
            best
        } else if fitting.is_empty() {
            (0..candidates.len())
                .min_by(|&a, &b| self.miss(&candidates[a]).total_cmp(&self.miss(&candidates[b])))?
        } else {
            fitting[((pick * fitting.len() as f64) as usize).min(fitting.len() - 1)]
        };
        candidates.into_iter().nth(index).map(|candidate| candidate.restoration)
    }
}
