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

/// Trials of several sessions taken together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct PooledGlance {
    /// Sessions with any of them.
    pub sessions: u32,
    /// Their counts.
    pub summary: GlanceSummary,
}

impl PooledGlance {
    /// One session by itself.
    #[must_use]
    pub const fn of_one(summary: GlanceSummary) -> Self {
        Self { sessions: 1, summary }
    }

    /// Smiles of both kinds.
    #[must_use]
    pub const fn smiles(&self) -> u32 {
        self.summary.found.total + self.summary.correctly_none.total
    }
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

    /// The interval of [`Self::score`], 0..100, at a confidence such as 0.95: that of Newcombe for the
    /// difference `H − (1 − CR)` of two independent proportions, from the intervals of Wilson, cut at
    /// 0 as the score is. `None` where there is no score.
    ///
    /// Smiles of one kind need not be equally hard: counts then vary less than binomial ones, and the
    /// interval is wide rather than narrow.
    ///
    /// # References
    /// Newcombe, Stat Med 1998;17:873-890, method 10; from memory.
    #[must_use]
    pub fn score_interval(&self, confidence: f64) -> Option<(f64, f64)> {
        let false_alarms = Proportion {
            successes: self.correctly_none.total.checked_sub(self.correctly_none.successes)?,
            total: self.correctly_none.total,
        };
        let (hit, false_alarm) = (self.found.value()?, false_alarms.value()?);
        let (hit_low, hit_high) = self.found.wilson(confidence)?;
        let (false_low, false_high) = false_alarms.wilson(confidence)?;
        let difference = hit - false_alarm;
        let low = difference - (hit - hit_low).hypot(false_high - false_alarm);
        let high = difference + (hit_high - hit).hypot(false_alarm - false_low);
        Some((100.0 * low.clamp(0.0, 1.0), 100.0 * high.clamp(0.0, 1.0)))
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

    fn counts(found: (u32, u32), none: (u32, u32)) -> GlanceSummary {
        let of = |(successes, total)| Proportion { successes, total };
        GlanceSummary { found: of(found), correctly_none: of(none), ..GlanceSummary::default() }
    }

    #[test]
    fn the_interval_of_a_score_is_newcombes() {
        // 56/70 less 48/80: 0.2 with 0.0524 to 0.3339, method 10 of Newcombe, Stat Med 1998;17:873-890,
        // his table II (a); from memory, and worked again from the formula.
        let (low, high) = counts((56, 70), (32, 80)).score_interval(0.95).unwrap();
        assert_abs_diff_eq!(low, 5.24, epsilon = 0.005);
        assert_abs_diff_eq!(high, 33.39, epsilon = 0.005);
        assert_eq!(counts((3, 5), (0, 0)).score_interval(0.95), None);
        // Cut as the score is.
        assert_eq!(counts((0, 30), (5, 10)).score_interval(0.95).unwrap().0, 0.0);
    }

    /// `n` over `k` times p^k q^(n-k).
    fn binomial(n: u32, p: f64) -> Vec<f64> {
        let mut row = vec![1.0];
        for _ in 0..n {
            let mut next = vec![0.0; row.len() + 1];
            for (k, weight) in row.iter().enumerate() {
                next[k] += weight * (1.0 - p);
                next[k + 1] += weight * p;
            }
            row = next;
        }
        row
    }

    #[test]
    fn the_interval_of_a_score_holds_the_truth_as_often_as_it_says() {
        // Every outcome with its probability, no random numbers: pools of two, three and six sessions,
        // observers from blind to sharp and from rash to wary. A share of 0.95 is stated.
        let (mut all, mut worst, mut n) = (0.0, 1.0_f64, 0.0);
        for (signals, catches) in [(30, 10), (45, 15), (90, 30)] {
            for hit in [0.15, 0.3, 0.5, 0.7, 0.9] {
                for none in [0.5, 0.7, 0.8, 0.9, 0.97] {
                    let truth = 100.0 * f64::max(0.0, hit + none - 1.0);
                    let (hits, nones) = (binomial(signals, hit), binomial(catches, none));
                    let mut held = 0.0;
                    for (k, p) in hits.iter().enumerate() {
                        for (m, q) in nones.iter().enumerate() {
                            let counts = counts((k as u32, signals), (m as u32, catches));
                            let (low, high) = counts.score_interval(0.95).unwrap();
                            if (low - 1e-9..=high + 1e-9).contains(&truth) {
                                held += p * q;
                            }
                        }
                    }
                    all += held;
                    n += 1.0;
                    worst = worst.min(held);
                }
            }
        }
        println!("holds the truth in {:.3} on average, at worst {worst:.3}", all / n);
        // Newcombe found his method 10 to hold 95 % in 95 % on average, at worst in 87 % over all sizes.
        assert!((0.945..0.985).contains(&(all / n)), "{}", all / n);
        assert!(worst > 0.92, "{worst}");
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
