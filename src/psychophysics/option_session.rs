//! A session of questions with options: how far apart the next ones should lie, and when it is
//! enough.
//!
//! The gap between the best option and an equal pair, one darker and one lighter, is chosen so that
//! the answer is expected to say most about the learner: noise, preferred value and weight of value
//! are held on a grid, and what was answered is learned from the options really shown. What is
//! reported comes from [`OptionChoiceFit`](super::OptionChoiceFit), not from the grid.
//!
//! [`OptionSession::next_gap_de00`] says how far apart the options of the next question should lie
//! and [`OptionSession::is_done`] when the mean regret is known. Figures are medians and the middle
//! 95 % of weighted draws, by the sampler of the glance posterior.

use crate::psychophysics::quest_plus::{OutcomeTable, QuestError, entropy, normalise};
use crate::psychophysics::{Chooser, OptionChoice, SeenOption};

/// Noise on the grid: 25 log steps, ΔE00.
const NOISE: (usize, f64, f64) = (25, 0.1, 3.0);
/// Preferred departure in value on the grid: steps of 0.25, ΔL00.
const BIAS: (usize, f64, f64) = (17, -2.0, 2.0);
/// Weight of value on the grid: 7 log steps.
const WEIGHT: (usize, f64, f64) = (7, 0.5, 2.0);
/// Gaps on offer: 12 log steps, ΔE00.
const GAPS: (usize, f64, f64) = (12, 0.3, 3.6);
/// Prior of the grid, as that of the fit: mean and standard deviation of ln σ, L₀ and ln w.
const PRIOR: [(f64, f64); 3] = [(-0.693, 0.9), (0.0, 1.5), (0.0, 0.5)];
/// Lapse rate of the grid.
const LAPSE: f64 = 0.02;
/// How far the best option of a typical question is off, ΔE00.
const TYPICAL_BEST_DE00: f64 = 0.8;
/// Share of value in the difference of the pair's options in a typical question.
const TYPICAL_PAIR_VALUE: f64 = 0.85;

/// When a session ends by itself. Settings of this program.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OptionStop {
    /// Standard error of the mean regret that is enough, ΔE00.
    pub regret_se_de00: f64,
    /// Least picks before that counts.
    pub min_picks: usize,
    /// Most questions.
    pub max_questions: usize,
}

impl Default for OptionStop {
    fn default() -> Self {
        Self { regret_se_de00: 0.06, min_picks: 12, max_questions: 40 }
    }
}

/// Why a session is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OptionStopReason {
    /// The mean regret is known well enough.
    Precise,
    /// All questions were asked.
    Questions,
}

/// A session of questions with options.
#[derive(Debug, Clone, PartialEq)]
pub struct OptionSession {
    stop: OptionStop,
    gaps: Vec<f64>,
    points: Vec<Chooser>,
    table: OutcomeTable,
    weights: Vec<f64>,
    regrets: Vec<f64>,
    questions: usize,
}

fn spaced((count, low, high): (usize, f64, f64)) -> impl Iterator<Item = f64> {
    (0..count).map(move |i| low + (high - low) * i as f64 / (count - 1) as f64)
}

fn log_spaced((count, low, high): (usize, f64, f64)) -> impl Iterator<Item = f64> {
    spaced((count, low.ln(), high.ln())).map(f64::exp)
}

/// A typical question whose equal pair lies so much further off than its best option.
fn typical(options: usize, gap_de00: f64) -> Vec<SeenOption> {
    let of = |de00: f64, share: f64| SeenOption {
        value: share * de00,
        rest: de00 * (1.0 - share * share).sqrt(),
    };
    let pair = TYPICAL_BEST_DE00 + gap_de00;
    let mut all = vec![
        of(TYPICAL_BEST_DE00, 0.0),
        of(pair, -TYPICAL_PAIR_VALUE),
        of(pair, TYPICAL_PAIR_VALUE),
    ];
    all.extend((3..options).map(|i| {
        let share = if i % 2 == 0 { 0.4 } else { -0.4 };
        of(pair + 0.5 * (i - 2) as f64, share)
    }));
    all
}

impl OptionSession {
    /// A session of questions with so many options, 3 to 6.
    ///
    /// # Errors
    /// [`QuestError`] when probabilities do not sum to 1, which no number of options causes.
    pub fn new(options: usize, stop: OptionStop) -> Result<Self, QuestError> {
        let options = options.clamp(3, 6);
        let gaps: Vec<f64> = log_spaced(GAPS).collect();
        let mut points = Vec::new();
        let mut weights = Vec::new();
        let bell = |x: f64, (mean, sd): (f64, f64)| -0.5 * ((x - mean) / sd).powi(2);
        for noise_de00 in log_spaced(NOISE) {
            for value_bias in spaced(BIAS) {
                for value_weight in log_spaced(WEIGHT) {
                    points.push(Chooser { noise_de00, value_weight, value_bias, lapse: LAPSE });
                    let log = bell(noise_de00.ln(), PRIOR[0])
                        + bell(value_bias, PRIOR[1])
                        + bell(value_weight.ln(), PRIOR[2]);
                    weights.push(log.exp());
                }
            }
        }
        let sum: f64 = weights.iter().sum();
        normalise(&mut weights).ok_or(QuestError::Prior(sum))?;
        let questions: Vec<Vec<SeenOption>> =
            gaps.iter().map(|gap| typical(options, *gap)).collect();
        let table = OutcomeTable::new(gaps.len(), options, points.len(), |gap, point, out| {
            points[point].fill_probabilities(&questions[gap], out);
        })?;
        Ok(Self { stop, gaps, points, table, weights, regrets: Vec::new(), questions: 0 })
    }

    /// How much further off than the best option the equal pair of the next question should be,
    /// ΔE00.
    #[must_use]
    pub fn next_gap_de00(&self) -> f64 {
        let best = self.table.best(&self.weights, 0..self.gaps.len());
        best.map_or(self.gaps[0], |(gap, _)| self.gaps[gap])
    }

    /// Learns from the options that were shown and the one that was picked; `None` where none was
    /// called acceptable. A pick that names no option counts as none.
    pub fn record(&mut self, choice: Option<&OptionChoice>) {
        self.questions += 1;
        let Some(choice) = choice.filter(|choice| choice.chosen < choice.options.len()) else {
            return;
        };
        let de00 = |option: &SeenOption| option.distance(1.0, 0.0);
        let least = choice.options.iter().map(de00).fold(f64::INFINITY, f64::min);
        self.regrets.push(de00(&choice.options[choice.chosen]) - least);
        let mut out = vec![0.0; choice.options.len()];
        let mut next = self.weights.clone();
        for (weight, point) in next.iter_mut().zip(&self.points) {
            point.fill_probabilities(&choice.options, &mut out);
            *weight *= out[choice.chosen];
        }
        if normalise(&mut next).is_some() {
            self.weights = next;
        }
    }

    /// Questions asked so far.
    #[must_use]
    pub const fn questions(&self) -> usize {
        self.questions
    }

    /// Most questions that are asked.
    #[must_use]
    pub const fn most_questions(&self) -> usize {
        self.stop.max_questions
    }

    /// Mean regret of the picks and its standard error, ΔE00; `None` before the second pick.
    #[must_use]
    pub fn mean_regret_de00(&self) -> Option<(f64, f64)> {
        let n = self.regrets.len() as f64;
        if n < 2.0 {
            return None;
        }
        let mean = self.regrets.iter().sum::<f64>() / n;
        let squares: f64 = self.regrets.iter().map(|r| (r - mean).powi(2)).sum();
        Some((mean, (squares / (n - 1.0) / n).sqrt()))
    }

    /// Why the session is over, if it is.
    #[must_use]
    pub fn is_done(&self) -> Option<OptionStopReason> {
        let precise = self.regrets.len() >= self.stop.min_picks
            && self.mean_regret_de00().is_some_and(|(_, se)| se <= self.stop.regret_se_de00);
        if precise {
            Some(OptionStopReason::Precise)
        } else {
            (self.questions >= self.stop.max_questions).then_some(OptionStopReason::Questions)
        }
    }

    /// What is not yet known about the learner, nats on the grid.
    #[must_use]
    pub fn entropy(&self) -> f64 {
        entropy(&self.weights)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::random::{Purpose, StreamKey};
    use rand::RngExt;

    fn session() -> OptionSession {
        OptionSession::new(5, OptionStop::default()).unwrap()
    }

    #[test]
    fn a_sharp_eye_is_asked_finer_questions_than_a_dull_one() {
        let after = |noise_de00: f64| {
            let chooser = Chooser { noise_de00, value_weight: 1.0, value_bias: 0.0, lapse: 0.0 };
            let key = StreamKey {
                form: "options",
                seed: 1,
                purpose: Purpose::Observer,
                block: 0,
                trial: 0,
            };
            let mut rng = key.stream();
            let mut session = session();
            let start = session.entropy();
            for _ in 0..25 {
                let options = typical(5, session.next_gap_de00());
                let chosen = chooser.pick(&options, rng.random());
                session.record(Some(&OptionChoice { options, chosen }));
            }
            assert!(session.entropy() < start - 0.5, "{} {start}", session.entropy());
            session.next_gap_de00()
        };
        let (sharp, dull) = (after(0.15), after(1.2));
        println!("gaps {sharp:.2} and {dull:.2}");
        assert!(sharp < dull, "{sharp} {dull}");
    }

    #[test]
    fn a_session_ends_when_its_regret_is_known_or_its_questions_are_asked() {
        let options = typical(5, 1.0);
        let mut sure = session();
        let mut count = 0;
        while sure.is_done().is_none() {
            sure.record(Some(&OptionChoice { options: options.clone(), chosen: 0 }));
            count += 1;
        }
        // No regret at all is known for certain, but not before the least number of picks.
        assert_eq!((count, sure.is_done()), (12, Some(OptionStopReason::Precise)));
        assert_eq!(sure.mean_regret_de00(), Some((0.0, 0.0)));
        let mut none = session();
        while none.is_done().is_none() {
            none.record(None);
        }
        assert_eq!((none.questions(), none.is_done()), (40, Some(OptionStopReason::Questions)));
        assert_eq!(none.mean_regret_de00(), None);
    }

    #[test]
    fn regret_and_its_error_are_those_of_the_picks() {
        let options = typical(3, 1.0);
        let mut session = OptionSession::new(3, OptionStop::default()).unwrap();
        for chosen in [0, 0, 1, 0] {
            session.record(Some(&OptionChoice { options: options.clone(), chosen }));
        }
        // By hand: regrets 0, 0, 1, 0; variance 0.25, standard error 0.25.
        let (mean, se) = session.mean_regret_de00().unwrap();
        assert!((mean - 0.25).abs() < 1e-9 && (se - 0.25).abs() < 1e-9, "{mean} {se}");
    }
}
