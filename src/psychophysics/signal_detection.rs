//! Proportions with intervals, and the equal-variance signal-detection indices.

use crate::psychophysics::choice::{ChoiceRule, density};
use serde::{Deserialize, Serialize};
use statrs::distribution::{ContinuousCDF, Normal};

/// So many of so many.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Proportion {
    /// How many did, at most `total`.
    pub successes: u32,
    /// Out of how many.
    pub total: u32,
}

/// Sensitivity and criterion of a yes/no task.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignalDetection {
    /// `d′ = z(H) − z(F)`, dimensionless; 0 is chance.
    pub d_prime: f64,
    /// `c = −(z(H) + z(F)) / 2`, dimensionless; above 0 leans to "no".
    pub criterion: f64,
}

impl Proportion {
    /// The proportion, 0..1; `None` out of nothing.
    #[must_use]
    pub fn value(self) -> Option<f64> {
        (self.total > 0).then(|| f64::from(self.successes) / f64::from(self.total))
    }

    /// The Wilson score interval without continuity correction, low and high within 0..1.
    /// `confidence` lies strictly between 0 and 1, such as 0.95. `None` out of nothing, or when
    /// an argument is out of range.
    ///
    /// # References
    /// Wilson, J Am Stat Assoc 1927;22:209-212.
    #[must_use]
    pub fn wilson(self, confidence: f64) -> Option<(f64, f64)> {
        if self.successes > self.total || !(confidence > 0.0 && confidence < 1.0) {
            return None;
        }
        let z = Normal::standard().inverse_cdf(0.5 + confidence / 2.0);
        Some(score_interval(self.value()?, f64::from(self.total), z))
    }

    /// The log-linear correction `(k + 0.5) / (n + 1)`, never 0 or 1.
    fn log_linear(self) -> f64 {
        (f64::from(self.successes) + 0.5) / (f64::from(self.total) + 1.0)
    }
}

impl SignalDetection {
    /// Indices of `hits` among signal trials and `false_alarms` among noise trials, with the
    /// log-linear correction always applied. `None` when either kind of trial is missing or a
    /// count exceeds its total.
    ///
    /// # References
    /// Hautus, Behav Res Methods Instrum Comput 1995;27:46-51.
    #[must_use]
    pub fn yes_no(hits: Proportion, false_alarms: Proportion) -> Option<Self> {
        let usable = |p: Proportion| p.total > 0 && p.successes <= p.total;
        if !usable(hits) || !usable(false_alarms) {
            return None;
        }
        let normal = Normal::standard();
        let z_hit = normal.inverse_cdf(hits.log_linear());
        let z_false = normal.inverse_cdf(false_alarms.log_linear());
        Some(Self { d_prime: z_hit - z_false, criterion: -(z_hit + z_false) / 2.0 })
    }

    /// The standard error of d′ from the same counts, by the delta method with corrected
    /// proportions. That of the criterion is half of it. `None` where [`Self::yes_no`] gives none.
    ///
    /// # References
    /// Gourevitch & Galanter, Psychometrika 1967;32:25-33.
    #[must_use]
    pub fn d_prime_standard_error(hits: Proportion, false_alarms: Proportion) -> Option<f64> {
        Self::yes_no(hits, false_alarms)?;
        let variance = |p: Proportion| {
            let share = p.log_linear();
            let height = density(Normal::standard().inverse_cdf(share));
            share * (1.0 - share) / (f64::from(p.total) * height * height)
        };
        Some((variance(hits) + variance(false_alarms)).sqrt())
    }
}

/// Score interval of a share, `z` standard errors wide, of a number of people that need not be whole.
fn score_interval(p: f64, n: f64, z: f64) -> (f64, f64) {
    let z2 = z * z;
    let centre = (p + z2 / (2.0 * n)) / (1.0 + z2 / n);
    let half = z / (1.0 + z2 / n) * (p * (1.0 - p) / n + z2 / (4.0 * n * n)).sqrt();
    ((centre - half).max(0.0), (centre + half).min(1.0))
}

/// The interval of the difference `a − b` of two independent shares, each with its number of people
/// (above 0), `z` standard errors wide.
///
/// # References
/// Newcombe, Stat Med 1998;17:873-890, method 10.
#[must_use]
pub fn newcombe(a: (f64, f64), b: (f64, f64), z: f64) -> (f64, f64) {
    let (low_a, high_a) = score_interval(a.0, a.1, z);
    let (low_b, high_b) = score_interval(b.0, b.1, z);
    let difference = a.0 - b.0;
    (difference - (a.0 - low_a).hypot(high_b - b.0), difference + (high_a - a.0).hypot(b.0 - low_b))
}

/// d′ of an unbiased observer who is right in a share `correct` of trials and chooses one of `m`
/// alternatives: solves `p = ∫ φ(z − d′) Φ(z)^(m−1) dz`. Negative below chance. `None` unless
/// `m ≥ 2` and `correct` lies strictly between 0 and 1.
///
/// # References
/// Hacker & Ratcliff, Percept Psychophys 1979;26:168-170.
#[must_use]
pub fn forced_choice_d_prime(correct: f64, m: u32) -> Option<f64> {
    if m < 2 || !(correct > 0.0 && correct < 1.0) {
        return None;
    }
    let rule = ChoiceRule::new();
    let mut means = vec![0.0; m as usize];
    // Without a criterion the largest evidence is always named; −40 is as good as none.
    let mut share = |d: f64| {
        means[0] = d;
        let choice = rule.with_slopes(&means, -40.0);
        (choice.probability[1], choice.by_mean[m as usize])
    };
    let (mut low, mut high) = (-20.0, 20.0);
    let mut d = 0.0;
    for _ in 0..200 {
        let (p, slope) = share(d);
        if p < correct {
            low = d;
        } else {
            high = d;
        }
        // Newton's step where it stays inside the bracket, else halve.
        let newton = d - (p - correct) / slope;
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - d).abs() < 1e-14 {
            return Some(next);
        }
        d = next;
    }
    Some(d)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_of_shares_are_those_in_print() {
        // Newcombe, Stat Med 1998;17:873-890, table II, method 10, to four places.
        for ((a, m), (b, n), low, high) in [
            ((56.0, 70.0), (48.0, 80.0), 0.0524, 0.3339),
            ((9.0, 10.0), (3.0, 10.0), 0.1705, 0.8090),
            ((10.0, 10.0), (0.0, 10.0), 0.6075, 1.0),
        ] {
            let found = newcombe((a / m, m), (b / n, n), 1.959_964);
            assert!((found.0 - low).abs() < 1e-4 && (found.1 - high).abs() < 1e-4, "{found:?}");
        }
    }

    #[test]
    fn nothing_has_no_proportion() {
        let nothing = Proportion::default();
        let some = Proportion { successes: 1, total: 2 };
        assert_eq!(nothing.value(), None);
        assert_eq!(nothing.wilson(0.95), None);
        assert_eq!(SignalDetection::yes_no(nothing, some), None);
        assert_eq!(SignalDetection::yes_no(some, nothing), None);
        assert_eq!(Proportion { successes: 3, total: 2 }.wilson(0.95), None);
        assert_eq!(some.wilson(1.0), None);
    }
}
