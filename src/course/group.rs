//! What a group's sittings say: spread, items, reliability, change.

use super::data::CourseData;
use super::estimate::SittingEstimate;
use super::flags::{ItemFlag, item_flags};
use super::shown::FormSitting;
use crate::level::course_format::{ClassLimits, PassRule, Phase};
use crate::psychophysics::{
    Answers, Change, ItemFigures, Paired, Proportion, deconvolved_sd, hedges_g_av, mean_interval,
    mean_sd, pearson, smallest_real_change, standard_error_of_measurement,
};

const Z95: f64 = 1.959_963_984_540_054;

/// One item in the group.
#[derive(Debug, Clone, PartialEq)]
pub struct ItemReport {
    /// Number in the form.
    pub item: usize,
    /// Difficulty and discrimination.
    pub figures: ItemFigures,
    /// How often each tooth was named, by index in the viewer's order, and last how often none
    /// was.
    pub named: Vec<u32>,
    /// What is wrong with it.
    pub flags: Vec<ItemFlag>,
}

/// One form in the group.
#[derive(Debug, Clone, PartialEq)]
pub struct FormReport {
    /// Index into [`CourseData::forms`].
    pub form: usize,
    /// Sittings with every item answered or timed out: those that the figures are of.
    pub sittings: usize,
    /// Mean and standard deviation of the score, percent.
    pub score: Option<(f64, f64)>,
    /// Kuder-Richardson 20.
    pub kr20: Option<f64>,
    /// Odd against even items within each cell of axis and level, stepped up.
    pub split_half: Option<f64>,
    /// Standard error of measurement of the score, percent, from KR-20.
    pub sem: Option<f64>,
    /// The items.
    pub items: Vec<ItemReport>,
}

/// Thresholds of one phase.
#[derive(Debug, Clone, PartialEq)]
pub struct PhaseReport {
    /// The phase.
    pub phase: Phase,
    /// Learners with an estimate.
    pub learners: usize,
    /// Mean and standard deviation of `ln τ`, as the answers have it.
    pub ln_threshold: Option<(f64, f64)>,
    /// The standard deviation without the errors of measuring.
    pub true_sd: Option<f64>,
    /// Typical standard error of `ln τ`: root of the mean square.
    pub sem: f64,
    /// False alarms of all together.
    pub false_alarms: Proportion,
}

/// Change from one phase to a later one.
#[derive(Debug, Clone, PartialEq)]
pub struct ChangeReport {
    /// From and to.
    pub phases: (Phase, Phase),
    /// Change of `ln τ`, with errors known per learner.
    pub ln_threshold: Change,
    /// Hedges' `g_av` of `ln τ`.
    pub g_av: Option<f64>,
    /// Change of the score, percent.
    pub score: Option<Change>,
    /// Change of the share of false alarms.
    pub false_alarms: Option<Change>,
    /// Correlation of the two thresholds, and of the two scores.
    pub parallel_r: (Option<f64>, Option<f64>),
    /// Smallest factor on a threshold that is a real change of one person, below 1.
    pub smallest_factor: f64,
    /// Learners whose threshold fell, and rose, by more than that.
    pub beyond: (u32, u32),
}

/// A class of competency. Provisional; never a diagnosis of colour vision.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Competency {
    /// The smallest differences.
    Fine,
    /// Differences that half of all observers accept.
    Clinical,
    /// On the way.
    Developing,
    /// Above.
    NotYet,
    /// The threshold would do, but false alarms are certainly too many.
    TooManyFalseAlarms,
    /// The answers leave it open.
    CannotBeTold,
}

impl Competency {
    /// Every class, best first, and what stands in for one.
    pub const ALL: [Self; 6] = [
        Self::Fine,
        Self::Clinical,
        Self::Developing,
        Self::NotYet,
        Self::TooManyFalseAlarms,
        Self::CannotBeTold,
    ];

    /// Plain words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Fine => "fine",
            Self::Clinical => "clinical",
            Self::Developing => "developing",
            Self::NotYet => "not yet",
            Self::TooManyFalseAlarms => "too many false alarms",
            Self::CannotBeTold => "cannot be told",
        }
    }

    /// The class that a sitting certifies, of its threshold with its 95 % interval, ΔE00, and of
    /// false alarms over all sittings so far.
    ///
    /// A class says that the threshold lies at its limit or below, so the upper end of the interval
    /// has to; "not yet" says that it lies above the last limit, so the lower end has to. An interval
    /// that reaches across the last limit leaves it open, and so do too few smiles without a
    /// restoration. False alarms take a class away where their whole interval lies above what is
    /// allowed: some tens of smiles cannot show that somebody's share is below it.
    #[must_use]
    pub fn of(
        (_, low_de00, high_de00): (f64, f64, f64),
        false_alarms: Proportion,
        limits: &ClassLimits,
    ) -> Self {
        let by_threshold = if high_de00 <= limits.fine_de00 {
            Self::Fine
        } else if high_de00 <= limits.clinical_de00 {
            Self::Clinical
        } else if high_de00 <= limits.developing_de00 {
            Self::Developing
        } else if low_de00 > limits.developing_de00 {
            return Self::NotYet;
        } else {
            Self::CannotBeTold
        };
        if has_too_many(false_alarms, limits.false_alarms) {
            Self::TooManyFalseAlarms
        } else if false_alarms.total < limits.least_catch_trials {
            Self::CannotBeTold
        } else {
            by_threshold
        }
    }
}

/// Whether false alarms certainly exceed an allowed share: the whole 95 % interval lies above.
#[must_use]
pub fn has_too_many(false_alarms: Proportion, allowed: f64) -> bool {
    false_alarms.wilson(0.95).is_some_and(|(low, _)| low > allowed)
}

/// Whether a threshold passes a cut, is too near to say, or does not pass.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Judgement {
    /// Below the cut by more than the error of measuring.
    Passed,
    /// Within the error of measuring of the cut: sit another form.
    Borderline,
    /// Above it.
    NotPassed,
}

/// The thresholds between which one form cannot decide about a cut, ΔE00: `cut exp(±1.96 SEM)`.
#[must_use]
pub fn borderline_band(cut_de00: f64, sem_ln_threshold: f64) -> (f64, f64) {
    let factor = (Z95 * sem_ln_threshold).exp();
    (cut_de00 / factor, cut_de00 * factor)
}

impl Judgement {
    /// Judges a threshold, ΔE00, against a cut with a standard error of `ln τ`.
    #[must_use]
    pub fn of(threshold_de00: f64, cut_de00: f64, sem_ln_threshold: f64) -> Self {
        let (low, high) = borderline_band(cut_de00, sem_ln_threshold);
        if threshold_de00 < low {
            Self::Passed
        } else if threshold_de00 <= high {
            Self::Borderline
        } else {
            Self::NotPassed
        }
    }
}

/// Whether a learner passes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// The threshold lies certainly below the cut, with no more false alarms than allowed.
    Passed,
    /// One form cannot tell: sit another.
    Borderline,
    /// The threshold lies certainly above the cut.
    ThresholdTooHigh,
    /// There are certainly too many false alarms.
    TooManyFalseAlarms,
}

impl Verdict {
    /// Judges a sitting by a rule. False alarms fail somebody where their whole interval lies above
    /// what is allowed; where only their share does, one form cannot tell.
    #[must_use]
    pub fn of(estimate: &SittingEstimate, false_alarms: Proportion, rule: &PassRule) -> Self {
        let threshold = estimate.threshold_de00().0;
        let more = false_alarms.value().is_some_and(|share| share > rule.false_alarms);
        match Judgement::of(threshold, rule.threshold_de00, estimate.sd) {
            Judgement::NotPassed => Self::ThresholdTooHigh,
            _ if has_too_many(false_alarms, rule.false_alarms) => Self::TooManyFalseAlarms,
            Judgement::Passed if !more => Self::Passed,
            _ => Self::Borderline,
        }
    }
}

/// Everything that is said of a group.
#[derive(Debug, Clone, PartialEq)]
pub struct GroupReport {
    /// Learners.
    pub learners: usize,
    /// Forms.
    pub forms: Vec<FormReport>,
    /// Phases, in order.
    pub phases: Vec<PhaseReport>,
    /// Change from the first phase to each later one.
    pub changes: Vec<ChangeReport>,
}

impl GroupReport {
    /// The report of some data.
    #[must_use]
    pub fn new(data: &CourseData) -> Self {
        let mut learners: Vec<&str> = data.sittings.iter().map(|s| s.learner.as_str()).collect();
        learners.dedup();
        let phases = data.phases();
        let first = phases.first().copied();
        let later = phases.iter().skip(1);
        Self {
            learners: learners.len(),
            forms: (0..data.forms.len()).map(|form| form_report(data, form)).collect(),
            phases: phases.iter().map(|phase| phase_report(data, *phase)).collect(),
            changes: later
                .filter_map(|to| change_report(data, first.unwrap_or(*to), *to))
                .collect(),
        }
    }

    /// Typical standard error of `ln τ` over all phases.
    #[must_use]
    pub fn sem(&self) -> f64 {
        let n: usize = self.phases.iter().map(|p| p.learners).sum();
        let square: f64 = self.phases.iter().map(|p| p.learners as f64 * p.sem * p.sem).sum();
        (square / n.max(1) as f64).sqrt()
    }
}

fn form_report(data: &CourseData, form: usize) -> FormReport {
    let shown = &data.forms[form];
    let whole = |s: &&FormSitting| s.form == form && s.shown() == shown.items.len();
    let complete: Vec<&FormSitting> = data.counting().filter(whole).collect();
    let signal = |i: usize| shown.items[i].as_ref().is_some_and(|item| item.signal.is_some());
    let rows: Vec<Vec<bool>> = complete
        .iter()
        .map(|s| {
            let answers = s.answers.iter().enumerate();
            answers.map(|(i, a)| a.is_some_and(|a| a.is_right(signal(i)))).collect()
        })
        .collect();
    let answers = Answers::new(&rows);
    let scores: Vec<f64> = complete.iter().map(|s| data.score(s)).collect();
    let kr20 = answers.as_ref().and_then(Answers::kr20);
    let score = mean_sd(&scores);
    let figures = answers.as_ref().map(Answers::items).unwrap_or_default();
    let (people, count) = (complete.len(), shown.items.len());
    let items = figures.into_iter().enumerate().map(|(item, figures)| {
        let mut named = vec![0; shown.teeth.len() + 1];
        for sitting in &complete {
            let tooth = sitting.named[item].map_or(shown.teeth.len(), |n| n as usize - 1);
            if let Some(count) = named.get_mut(tooth) {
                *count += 1;
            }
        }
        ItemReport { item, named, flags: item_flags(&figures, people, count), figures }
    });
    FormReport {
        form,
        sittings: complete.len(),
        score,
        kr20,
        split_half: answers.as_ref().and_then(|a| a.split_half(|item| item % 2 == 0)),
        sem: score.zip(kr20).map(|((_, sd), r)| standard_error_of_measurement(sd, r)),
        items: items.collect(),
    }
}

fn phase_report(data: &CourseData, phase: Phase) -> PhaseReport {
    let sittings = data.of_phase(phase);
    let estimates: Vec<(f64, f64)> =
        sittings.values().filter_map(|s| s.estimate).map(|e| e.unshrunk).collect();
    let (ln, errors): (Vec<f64>, Vec<f64>) = estimates.into_iter().unzip();
    let mut false_alarms = Proportion::default();
    for sitting in sittings.values() {
        let Proportion { successes, total } = data.false_alarms(sitting);
        false_alarms.successes += successes;
        false_alarms.total += total;
    }
    let square: f64 = errors.iter().map(|e| e * e).sum();
    PhaseReport {
        phase,
        learners: ln.len(),
        ln_threshold: mean_sd(&ln),
        true_sd: deconvolved_sd(&ln, &errors),
        sem: (square / ln.len().max(1) as f64).sqrt(),
        false_alarms,
    }
}

fn change_report(data: &CourseData, from: Phase, to: Phase) -> Option<ChangeReport> {
    let (before, after) = (data.of_phase(from), data.of_phase(to));
    let both: Vec<(&FormSitting, &FormSitting)> = before
        .iter()
        .filter_map(|(learner, before)| Some((*before, *after.get(learner)?)))
        .collect();
    let pairs: Vec<Paired> = both
        .iter()
        .filter_map(|(before, after)| {
            let (b, a) = (before.estimate?.unshrunk, after.estimate?.unshrunk);
            Some(Paired { before: b.0, before_sem: b.1, after: a.0, after_sem: a.1 })
        })
        .collect();
    let plain = |of: &dyn Fn(&FormSitting) -> Option<f64>| -> Vec<(f64, f64)> {
        both.iter().filter_map(|(b, a)| Some((of(b)?, of(a)?))).collect()
    };
    let exact = |pairs: &[(f64, f64)], most: f64| {
        let paired = |(before, after): &(f64, f64)| Paired {
            before: *before,
            before_sem: 0.0,
            after: *after,
            after_sem: 0.0,
        };
        let change = Change::new(&pairs.iter().map(paired).collect::<Vec<_>>())?;
        // Learners who all changed alike have no spread to make an interval of.
        if change.interval.1 - change.interval.0 >= 1e-9 {
            return Some(change);
        }
        let by: Vec<f64> = pairs.iter().map(|(before, after)| after - before).collect();
        let (_, low, high) = mean_interval(&by, (-most, most))?;
        Some(Change { interval: (low, high), ..change })
    };
    let scores = plain(&|s| Some(data.score(s)));
    let false_alarms = plain(&|s| data.false_alarms(s).value());
    let thresholds: Vec<(f64, f64)> = pairs.iter().map(|p| (p.before, p.after)).collect();
    // Each learner's own errors where they are known: half of the variance of a difference.
    let square: f64 =
        pairs.iter().map(|p| 0.5 * (p.before_sem.powi(2) + p.after_sem.powi(2))).sum();
    let smallest = smallest_real_change((square / pairs.len().max(1) as f64).sqrt());
    let beyond =
        |sign: f64| pairs.iter().filter(|p| sign * (p.after - p.before) > smallest).count() as u32;
    Some(ChangeReport {
        phases: (from, to),
        ln_threshold: Change::new(&pairs)?,
        g_av: hedges_g_av(&thresholds),
        score: exact(&scores, 100.0),
        false_alarms: exact(&false_alarms, 1.0),
        parallel_r: (pearson(&thresholds), pearson(&scores)),
        smallest_factor: (-smallest).exp(),
        beyond: (beyond(-1.0), beyond(1.0)),
    })
}
