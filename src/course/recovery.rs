//! How well estimates recover what simulated learners are.

use super::data::CourseData;
use super::group::Competency;
use super::simulated_learner::SimulatedLearner;
use crate::level::course_format::{Course, Phase};
use crate::psychophysics::{Proportion, mean_sd};

/// How estimates compare with what is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recovery {
    /// Sittings compared.
    pub sittings: usize,
    /// Mean of estimated − true `ln τ`, with its standard error.
    pub bias: (f64, f64),
    /// Root mean square error of `ln τ`.
    pub rmse: f64,
    /// Typical stated error of `ln τ`.
    pub stated: f64,
    /// 95 % intervals that hold the truth.
    pub coverage: Proportion,
    /// Correlation of estimates and truth.
    pub correlation: f64,
}

impl Recovery {
    /// Compares the estimates of a phase; `phase` is its place among the course's phases. `None`
    /// for fewer than 2 sittings.
    #[must_use]
    pub fn new(
        data: &CourseData,
        learners: &[SimulatedLearner],
        phase: Phase,
        place: usize,
    ) -> Option<Self> {
        let sittings = data.of_phase(phase);
        let mut errors = Vec::new();
        let (mut stated, mut coverage) = (0.0, Proportion::default());
        let mut pairs = Vec::new();
        for learner in learners {
            let Some(found) = sittings.get(learner.learner.as_str()) else { continue };
            let Some(estimate) = found.estimate else { continue };
            let truth = learner.ln_threshold[place];
            let error = estimate.ln_threshold - truth;
            errors.push(error);
            pairs.push((truth, estimate.ln_threshold));
            stated += estimate.sd * estimate.sd;
            coverage.total += 1;
            coverage.successes += u32::from(error.abs() <= 1.959_963_984_540_054 * estimate.sd);
        }
        let (mean, sd) = mean_sd(&errors)?;
        let n = errors.len() as f64;
        Some(Self {
            sittings: errors.len(),
            bias: (mean, sd / n.sqrt()),
            rmse: (errors.iter().map(|e| e * e).sum::<f64>() / n).sqrt(),
            stated: (stated / n).sqrt(),
            coverage,
            correlation: crate::psychophysics::pearson(&pairs)?,
        })
    }
}

/// Of the simulated learners who are given a class after their last form, how many rightly: their true
/// threshold then lies at the limit of the class or below, or, for "not yet", above the last.
#[must_use]
pub fn told_classes(
    data: &CourseData,
    course: &Course,
    learners: &[SimulatedLearner],
) -> Proportion {
    let limits = course.class_limits();
    let last = data.last_sittings();
    let mut told = Proportion::default();
    for learner in learners {
        let found = last.get(learner.learner.as_str());
        let Some((estimate, false_alarms)) = found.and_then(|(s, f)| Some((s.estimate?, *f)))
        else {
            continue;
        };
        let truth = learner.ln_threshold.last().map_or(f64::NAN, |ln| ln.exp());
        let right = match Competency::of(estimate.threshold_de00(), false_alarms, &limits) {
            Competency::Fine => truth <= limits.fine_de00,
            Competency::Clinical => truth <= limits.clinical_de00,
            Competency::Developing => truth <= limits.developing_de00,
            Competency::NotYet => truth > limits.developing_de00,
            // Of these nothing is known but what was drawn.
            Competency::TooManyFalseAlarms | Competency::CannotBeTold => continue,
        };
        told.total += 1;
        told.successes += u32::from(right);
    }
    told
}
