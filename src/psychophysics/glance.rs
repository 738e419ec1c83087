//! What a Glance session says about its observer.

use crate::psychophysics::{Proportion, SignalDetection};
use crate::trial::{TrialKind, TrialOutcome, Verdict};

/// Counts of a Glance session and the measures that follow from them.
///
/// A trial that ran out of time is an answer to nothing: it stays among the trials of
/// [`found`](Self::found) and [`correctly_none`](Self::correctly_none), so that letting time run
/// out never pays, and is left out of [`named_a_tooth`](Self::named_a_tooth) and
/// [`false_alarms`](Self::false_alarms), which describe answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct GlanceSummary {
    /// Signal trials with the right tooth, of all signal trials.
    pub found: Proportion,
    /// Catch trials answered "none", of all catch trials.
    pub correctly_none: Proportion,
    /// Signal trials on which any tooth was named, of those answered.
    pub named_a_tooth: Proportion,
    /// Catch trials on which any tooth was named, of those answered.
    pub false_alarms: Proportion,
    /// Signal trials on which another tooth than the restored one was named.
    pub wrong_tooth: u32,
    /// Signal trials answered "none".
    pub missed: u32,
    /// Trials of either kind that ran out of time.
    pub timed_out: u32,
}

impl GlanceSummary {
    /// The summary of some outcomes, in any order.
    #[must_use]
    pub fn new<'a>(outcomes: impl IntoIterator<Item = &'a TrialOutcome>) -> Self {
        let mut summary = Self::default();
        for outcome in outcomes {
            summary.add(outcome.kind, outcome.verdict);
        }
        summary
    }

    /// Counts one trial.
    pub fn add(&mut self, kind: TrialKind, verdict: Verdict) {
        let of_kind = match kind {
            TrialKind::Signal => &mut self.found,
            TrialKind::Catch => &mut self.correctly_none,
        };
        of_kind.total += 1;
        of_kind.successes += u32::from(verdict.is_right());

        let names_a_tooth = match verdict {
            Verdict::TimedOut => {
                self.timed_out += 1;
                return;
            }
            Verdict::Found | Verdict::WrongTooth(_) | Verdict::FalseAlarm(_) => true,
            Verdict::Missed | Verdict::CorrectlyNone => false,
        };
        let answered = match kind {
            TrialKind::Signal => &mut self.named_a_tooth,
            TrialKind::Catch => &mut self.false_alarms,
        };
        answered.total += 1;
        answered.successes += u32::from(names_a_tooth);
        self.wrong_tooth += u32::from(matches!(verdict, Verdict::WrongTooth(_)));
        self.missed += u32::from(verdict == Verdict::Missed);
    }

    /// The session score `J = 100 max(0, H + CR − 1)`, 0..100, from the share `H` of signal
    /// trials with the right tooth and the share `CR` of catch trials answered "none". Answering
    /// "none" always, or a tooth at random, scores about 0. `None` unless both kinds of
    /// trial were shown.
    ///
    /// # References
    /// Youden, Cancer 1950;3:32-35 (`H + CR − 1`); from memory.
    #[must_use]
    pub fn score(&self) -> Option<f64> {
        let (hit, correct_none) = (self.found.value()?, self.correctly_none.value()?);
        Some(100.0 * (hit + correct_none - 1.0).max(0.0))
    }

    /// Sensitivity and criterion for "was there a restoration at all?", whichever tooth was
    /// named. `None` unless both kinds of trial were answered.
    #[must_use]
    pub fn detection(&self) -> Option<SignalDetection> {
        SignalDetection::yes_no(self.named_a_tooth, self.false_alarms)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scene::Tooth;
    use approx::assert_abs_diff_eq;

    #[test]
    fn score_of_counts() {
        // 29 of 48 right and 12 of 16 none: 100 (29/48 + 12/16 − 1), by hand.
        let mut summary = GlanceSummary::default();
        for i in 0..48 {
            let verdict = if i < 29 { Verdict::Found } else { Verdict::Missed };
            summary.add(TrialKind::Signal, verdict);
        }
        assert_eq!(summary.score(), None);
        let tooth = Tooth::new(12).unwrap();
        for i in 0..16 {
            let verdict = if i < 12 { Verdict::CorrectlyNone } else { Verdict::FalseAlarm(tooth) };
            summary.add(TrialKind::Catch, verdict);
        }
        assert_abs_diff_eq!(summary.score().unwrap(), 100.0 * (29.0 / 48.0 - 0.25), epsilon = 1e-9);
        assert_eq!(summary.false_alarms, Proportion { successes: 4, total: 16 });
        assert_eq!(summary.missed, 19);
    }

    #[test]
    fn running_out_of_time_never_pays() {
        let mut summary = GlanceSummary::default();
        for kind in [TrialKind::Signal, TrialKind::Catch, TrialKind::Catch] {
            summary.add(kind, Verdict::TimedOut);
        }
        assert_eq!(summary.timed_out, 3);
        assert_eq!(summary.score(), Some(0.0));
        assert_eq!(summary.correctly_none, Proportion { successes: 0, total: 2 });
        assert_eq!(summary.false_alarms.total, 0);
        assert_eq!(summary.detection(), None);
    }
}
