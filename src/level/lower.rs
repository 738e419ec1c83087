//! Level → plan: the schedule, a patient for every trial, and a restoration of the wanted size.
//!
//! A restoration is never painted to size. Its class, thickness, cement and prepared tooth come
//! from the level; the shade is searched in the lattice (and the thickness varied a little) until
//! the layered model itself gives a difference in the wanted range and direction. A restoration that
//! has been in the mouth for a while must also have been an acceptable match when it was seated.

use super::candidate::{Candidate, Wanted, restoration};
use super::patient::patient;
use crate::bake::{BakeError, Estimator, within_reach};
use crate::level::format::{Difference, DriftTime, Exercise, Level, RestorationKind};
use crate::material::{Library, LibraryError};
use crate::random::{Purpose, StreamKey};
use crate::scene::{Case, Drift, Patient, Restoration, Tooth, ToothNumberError};
use crate::trial::{
    Plan, PlannedTrial, ScheduleError, ScheduledTrial, Sign, Timing, TrialKind, schedule,
};
use rand::RngExt;
use rayon::prelude::*;
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
