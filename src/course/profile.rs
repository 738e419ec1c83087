//! What one learner's sittings say about single axes.

use super::data::CourseData;
use super::shown::FormSitting;
use crate::psychophysics::{
    ACCEPTABILITY_DE00, Axis, Fit, GlanceModel, ModelTrial, Proportion, Refit,
};

/// Largest ratio of an interval's ends that still counts as measured; as in measurements.
const LARGEST_RATIO: f64 = 2.5;
/// Share of false alarms above which the advice is to name fewer teeth. Design choice.
const MANY_FALSE_ALARMS: f64 = 0.25;
const Z95: f64 = 1.959_963_984_540_054;

/// A value with its 95 % interval.
pub type Ranged = (f64, f64, f64);

/// Thresholds by axis from all sittings of one phase.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Threshold of each axis, ΔE00, and whether its interval is narrow enough to be called one.
    pub axes: Vec<(Axis, Ranged, bool)>,
    /// Threshold for darker over that for lighter teeth: above 1, dark errors are missed.
    pub value_bias: Option<Ranged>,
    /// What to practise.
    pub practise: Practise,
}

/// What to practise.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Practise {
    /// The axis whose threshold is the furthest above the acceptable.
    Axis(Axis),
    /// Naming fewer teeth.
    FewerFalseAlarms,
    /// Nothing stands out.
    Keep,
}

impl Profile {
    /// The profile of a sitting by a fit of the full observer with a threshold for each axis.
    /// `None` where nothing was answered.
    #[must_use]
    pub fn new(data: &CourseData, sitting: &FormSitting) -> Option<Self> {
        let trials: Vec<ModelTrial> = data.model_trials(sitting);
        let teeth = &data.forms[sitting.form].teeth;
        let model = GlanceModel::new(teeth, &Axis::ALL);
        if trials.is_empty() {
            return None;
        }
        let refit = Refit::new(&model, &trials, Fit::Full)?;
        let axes: Vec<(Axis, Ranged, bool)> = Axis::ALL
            .into_iter()
            .enumerate()
            .map(|(index, axis)| {
                let (ln, low, high) = refit.ln_threshold_bounds(index);
                (axis, (ln.exp(), low.exp(), high.exp()), (high - low).exp() <= LARGEST_RATIO)
            })
            .collect();
        let ln = refit.ln_threshold(0).0 - refit.ln_threshold(1).0;
        let half = Z95 * refit.sd_of_ln_ratio(0, 1);
        let value_bias = Some((ln.exp(), (ln - half).exp(), (ln + half).exp()));
        let false_alarms = data.false_alarms(sitting);
        Some(Self { practise: practise(&axes, false_alarms), axes, value_bias })
    }
}

fn practise(axes: &[(Axis, Ranged, bool)], false_alarms: Proportion) -> Practise {
    if false_alarms.value().is_some_and(|share| share > MANY_FALSE_ALARMS) {
        return Practise::FewerFalseAlarms;
    }
    let worst = axes.iter().max_by(|a, b| a.1.0.total_cmp(&b.1.0));
    match worst {
        Some((axis, (value, _, _), _)) if *value > ACCEPTABILITY_DE00 => Practise::Axis(*axis),
        _ => Practise::Keep,
    }
}
