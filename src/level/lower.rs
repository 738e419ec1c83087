//! Level → plan: the schedule, a patient for every trial, and a restoration of the wanted size.
//!
//! A restoration is never painted to size. Its class, thickness, cement and prepared tooth come
//! from the level; the shade is searched in the lattice (and the thickness varied a little) until
//! the layered model itself gives a difference in the wanted range and direction. A restoration that
//! has been in the mouth for a while must also have been an acceptable match when it was seated.

use crate::bake::{BakeError, Estimator, ZoneDifference, within_reach};
use crate::colorimetry::{ACCEPTABILITY_DE00, Lab, Lch};
use crate::level::format::{
    Difference, DriftTime, Exercise, Level, PatientRanges, RestorationKind,
};
use crate::material::{Library, LibraryError};
use crate::random::{Purpose, StreamKey};
use crate::scene::{
    Case, Ceramic, Drift, NaturalTooth, Patient, Restoration, Tooth, ToothKind, ToothNumberError,
};
use crate::trial::{
    Plan, PlannedTrial, ScheduleError, ScheduledTrial, Sign, Timing, TrialKind, schedule,
};
use rand::RngExt;
use rayon::prelude::*;
use statrs::distribution::{ContinuousCDF, Normal};
use thiserror::Error;

/// Thicknesses tried, relative to the level's: what comes back from the laboratory varies.
const THICKNESS_FACTORS: [f64; 5] = [1.0, 0.9, 1.1, 0.8, 1.2];

/// Why a level makes no plan. A level that passed `check` gives none of these.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum LowerError {
    /// The order of trials cannot be laid out.
    #[error("level `{level}`: {source}")]
    Schedule {
        /// Level id.
        level: String,
        /// Why.
        source: ScheduleError,
    },
    /// The level is of an exercise without a timed glance.
    #[error(
        "level `{level}` is of the exercise `{exercise}`, which has questions instead of trials"
    )]
    OtherExercise {
        /// Level id.
        level: String,
        /// The exercise.
        exercise: &'static str,
    },
    /// A listed tooth does not exist.
    #[error("level `{level}`: {source}")]
    Tooth {
        /// Level id.
        level: String,
        /// Why.
        source: ToothNumberError,
    },
    /// A case cannot be baked.
    #[error("level `{level}`, trial {trial}: {source}")]
    Bake {
        /// Level id.
        level: String,
        /// 0-based trial.
        trial: u32,
        /// Why.
        source: BakeError,
    },
    /// A material is missing.
    #[error("level `{level}`: {source}")]
    Library {
        /// Level id.
        level: String,
        /// Why.
        source: LibraryError,
    },
    /// No restoration of the level may stand on a scheduled tooth.
    #[error("level `{level}`: no restoration may stand on tooth {tooth}")]
    NoRestoration {
        /// Level id.
        level: String,
        /// The tooth.
        tooth: Tooth,
    },
}

/// Lays out a session of `level`: `trials` of them, or as many as the level says.
///
/// A pure function of its arguments; the library's caches do not change the result.
///
/// # Errors
/// [`LowerError`].
pub fn lower(
    level: &Level,
    library: &Library,
    seed: u64,
    trials: Option<u32>,
) -> Result<Plan, LowerError> {
    let (Exercise::Glance { trials: all_trials, exposure_s, .. }, Some(difference)) =
        (&level.exercise, level.difference)
    else {
        let exercise = level.exercise.name();
        return Err(LowerError::OtherExercise { level: level.id.clone(), exercise });
    };
    let (all_trials, exposure_s) = (*all_trials, *exposure_s);
    let teeth = level.teeth();
    let key = StreamKey { form: &level.id, seed, purpose: Purpose::Schedule, block: 0, trial: 0 };
    let restorable = restorable_teeth(level, &teeth)?;
    let n_trials = trials.unwrap_or(all_trials) as usize;
    let order = schedule(key, n_trials, &restorable, difference.darker_share)
        .map_err(|source| LowerError::Schedule { level: level.id.clone(), source })?;
    let composer = Composer { level, difference, library, seed, teeth: &teeth };
    // All of them, so that the fault that is said is the first and not the quickest.
    let composed: Vec<_> = order.par_iter().map(|scheduled| composer.trial(scheduled)).collect();
    let planned = composed.into_iter().collect::<Result<Vec<_>, _>>()?;
    Ok(Plan {
        level_id: level.id.clone(),
        title: level.title.clone(),
        teaches: level.teaches.clone(),
        seed,
        teeth,
        timing: Timing { exposure_s, ..Timing::default() },
        trials: planned,
    })
}

fn restorable_teeth(level: &Level, in_view: &[Tooth]) -> Result<Vec<Tooth>, LowerError> {
    if level.restorations.iter().any(|kind| kind.teeth.is_none()) {
        return Ok(in_view.to_vec());
    }
    let mut named = Vec::new();
    for number in level.restorations.iter().flat_map(|kind| kind.teeth.iter().flatten()) {
        let tooth = Tooth::new(*number)
            .map_err(|source| LowerError::Tooth { level: level.id.clone(), source })?;
        named.push(tooth);
    }
    Ok(in_view.iter().copied().filter(|tooth| named.contains(tooth)).collect())
}

/// Draws a patient: centrals from the level's ranges, other teeth by their natural distance from
/// them, and a residual of its own for each tooth.
///
/// # References
/// Lateral and canine relative to the central, and the share of residual in chroma: generator
/// derived from published tooth colours (surveys differ in level, so only differences are
/// used): central minus lateral +1.7 L* (Oh et al., J Korean Acad Pediatr Dent
/// 2022;49:414-427), canines the darkest and most chromatic (Pop-Ciutrila et al., Clujul Med
/// 2015;88:537-544; Turgut et al., Niger J Clin Pract 2018). Premolars: common practice, no
/// source.
pub(crate) fn patient(
    ranges: &PatientRanges,
    teeth: &[Tooth],
    gingiva: Lch,
    stream: &mut impl rand::Rng,
) -> Patient {
    let mut uniform = || stream.random::<f64>();
    let central = Lab::from(Lch {
        l: ranges.central.l.at(uniform()),
        c: ranges.central.c.at(uniform()),
        h: ranges.central.h.at(uniform()),
    });
    let enamel = ranges.enamel_factor.at(uniform());
    let normal = Normal::standard();
    let known = ranges.teeth.as_deref().unwrap_or_default();
    let teeth = teeth
        .iter()
        .map(|&tooth| {
            let mut deviate = || normal.inverse_cdf(uniform().clamp(1e-3, 1.0 - 1e-3));
            let (dl, da, db) = position_step(tooth.kind());
            let residual_de00 = ranges.residual_sd_de00 * deviate();
            let other = ranges.residual_sd_de00 * deviate();
            // Near L* 75 one ΔE00 of lightness is 1.37 L* and one of chroma 1.8 b*.
            let body = Lab {
                l: central.l + dl + 1.37 * residual_de00,
                a: central.a + da + 0.15 * deviate(),
                b: central.b + db + 0.6 * other,
            };
            let enamel_factor = enamel * (1.0 + 0.03 * deviate());
            // Drawn all the same, so that the streams of the others do not change.
            match known.iter().find(|known| known.tooth == tooth.number()) {
                Some(known) => NaturalTooth {
                    tooth,
                    body: known.colour,
                    enamel_factor: enamel,
                    residual_de00: (known.colour.l - central.l - dl) / 1.37,
                },
                None => NaturalTooth { tooth, body: Lch::from(body), enamel_factor, residual_de00 },
            }
        })
        .collect();
    Patient { teeth, gingiva }
}

/// How far a tooth usually lies from the central incisor: L*, a*, b*. Sources: see [`patient`].
pub(crate) const fn position_step(kind: ToothKind) -> (f64, f64, f64) {
    match kind {
        ToothKind::Central => (0.0, 0.0, 0.0),
        ToothKind::Lateral => (-1.5, 0.2, 1.5),
        ToothKind::Canine => (-4.5, 1.0, 4.0),
        ToothKind::FirstPremolar => (-2.5, 0.5, 2.0),
        _ => (-3.0, 0.6, 2.4),
    }
}

struct Composer<'a> {
    level: &'a Level,
    difference: Difference,
    library: &'a Library,
    seed: u64,
    teeth: &'a [Tooth],
}

impl Composer<'_> {
    fn key(&self, purpose: Purpose, scheduled: &ScheduledTrial) -> StreamKey<'_> {
        StreamKey {
            form: &self.level.id,
            seed: self.seed,
            purpose,
            block: scheduled.block,
            trial: scheduled.trial,
        }
    }

    fn trial(&self, scheduled: &ScheduledTrial) -> Result<PlannedTrial, LowerError> {
        let mut stream = self.key(Purpose::Scene, scheduled).stream();
        let case_seed = stream.random::<u64>();
        let gingivae = &self.library.tissues().gingivae;
        let gingiva = gingivae[stream.random_range(0..gingivae.len())].colour;
        let mut patient = patient(&self.level.patient, self.teeth, gingiva, &mut stream);
        for tooth in &mut patient.teeth {
            *tooth = within_reach(tooth, case_seed, self.library).map_err(|source| {
                LowerError::Bake { level: self.level.id.clone(), trial: scheduled.trial, source }
            })?;
        }
        let restoration = match (scheduled.tooth, scheduled.sign) {
            (Some(tooth), Some(sign)) => {
                Some(self.restoration(scheduled, &patient, case_seed, tooth, sign)?)
            }
            _ => None,
        };
        let staging = self.level.staging();
        let kind = if restoration.is_some() { TrialKind::Signal } else { TrialKind::Catch };
        let case = Case {
            seed: case_seed,
            patient,
            restorations: restoration.into_iter().collect(),
            shift: None,
            illuminant: self.level.light,
            staging,
        };
        Ok(PlannedTrial { block: scheduled.block, trial: scheduled.trial, kind, case })
    }

    fn restoration(
        &self,
        scheduled: &ScheduledTrial,
        patient: &Patient,
        case_seed: u64,
        tooth: Tooth,
        sign: Sign,
    ) -> Result<Restoration, LowerError> {
        let mut stream = self.key(Purpose::Restoration, scheduled).stream();
        let kind = self.kind_for(tooth, stream.random())?;
        let wrap = |source| LowerError::Bake {
            level: self.level.id.clone(),
            trial: scheduled.trial,
            source,
        };
        let no_tooth = || LowerError::NoRestoration { level: self.level.id.clone(), tooth };
        let natural = patient.teeth.iter().find(|t| t.tooth == tooth).ok_or_else(no_tooth)?;
        let estimator =
            Estimator::new(natural, case_seed, self.level.light, self.library).map_err(wrap)?;
        let wanted = Wanted { difference: self.difference, sign };
        let drift = self.drift(scheduled, kind);
        // Start anywhere in the list of thicknesses, so that none is favoured.
        let first = stream.random_range(0..THICKNESS_FACTORS.len());
        let pick = stream.random::<f64>();
        let shades = self.library.shades(&kind.ceramic, kind.translucency);
        let mut candidates = Vec::new();
        for i in 0..THICKNESS_FACTORS.len() {
            let factor = THICKNESS_FACTORS[(first + i) % THICKNESS_FACTORS.len()];
            // What is stated is not varied.
            if self.level.is_stated() && factor != 1.0 {
                continue;
            }
            for &shade in &shades {
                let seated = restoration(kind, tooth, shade, factor);
                let now = match estimator.difference(&seated) {
                    // A shade that its ceramic cannot have is not shown.
                    Err(error) if error.is_no_such_shade() => continue,
                    now => now.map_err(wrap)?,
                };
                candidates.push(match drift {
                    None => Candidate { restoration: seated, now, at_seating_de00: None },
                    Some(_) => {
                        let restoration = Restoration { drift, ..seated };
                        let later = estimator.difference(&restoration).map_err(wrap)?;
                        Candidate { restoration, now: later, at_seating_de00: Some(now.de00) }
                    }
                });
            }
            if candidates.iter().any(|candidate| wanted.fits(candidate)) {
                break;
            }
        }
        wanted.choose(candidates, pick).ok_or_else(no_tooth)
    }

    /// What time has done to this case, if the level gives it any.
    fn drift(&self, scheduled: &ScheduledTrial, kind: &RestorationKind) -> Option<Drift> {
        let DriftTime { months, cure } = kind.drift?;
        let quantile = self.key(Purpose::Drift, scheduled).stream().random();
        Some(Drift::at_quantile(months, cure, quantile))
    }

    /// The kind of restoration for a tooth: among those allowed on it, by share.
    fn kind_for(&self, tooth: Tooth, pick: f64) -> Result<&RestorationKind, LowerError> {
        let allowed = |kind: &&RestorationKind| {
            kind.teeth.as_ref().is_none_or(|teeth| teeth.contains(&tooth.number()))
        };
        let kinds: Vec<_> = self.level.restorations.iter().filter(allowed).collect();
        let total: f64 = kinds.iter().map(|kind| kind.share).sum();
        let mut left = pick * total;
        for kind in &kinds {
            left -= kind.share;
            if left <= 0.0 {
                return Ok(kind);
            }
        }
        kinds
            .last()
            .copied()
            .ok_or_else(|| LowerError::NoRestoration { level: self.level.id.clone(), tooth })
    }
}

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
struct Candidate {
    restoration: Restoration,
    /// Restored minus twin, as it is now.
    now: ZoneDifference,
    /// The difference when it was seated, where that was earlier.
    at_seating_de00: Option<f64>,
}

/// The difference that is looked for.
struct Wanted {
    difference: Difference,
    sign: Sign,
}

impl Wanted {
    fn right_way(&self, found: &ZoneDifference) -> bool {
        match self.sign {
            Sign::Darker => found.dl00 < 0.0,
            Sign::Lighter => found.dl00 > 0.0,
        }
    }

    fn fits(&self, candidate: &Candidate) -> bool {
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
    fn choose(&self, candidates: Vec<Candidate>, pick: f64) -> Option<Restoration> {
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
