//! How an answer is marked: regret, the ticked set, and the cost that puts value first.

use super::{BlendAnswer, BlendTask, Standing};
use crate::exercise::AnswerError;
use crate::exercise::mark::{Grade, accepts, score_of_regret};
use crate::psychophysics::ACCEPTABILITY_DE00;
use serde_json::{Value, json};

/// Half-width of the zone about the acceptability threshold in which ticks count neither way, ΔE00.
/// The threshold is a 50:50 point, not a line. A setting of this program.
pub(super) const GREY_DE00: f64 = 0.2;
/// How much more an error towards the dark costs, as a share of it. A teaching setting.
const DARK_WEIGHT: f64 = 0.5;

/// An answer marked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlendMarks {
    /// 0 to 100. Where none is acceptable, saying so scores 100 and picking one 0; where one is,
    /// "none" scores 0.
    pub score: f64,
    /// Difference of the picked option less that of the best, ΔE00; `None` where none was picked, 0
    /// where that was right.
    pub regret_de00: Option<f64>,
    /// Whether the pick scores in full, or "none" was right.
    pub right: bool,
    /// How well the ticks agree with the acceptable set, F1 from 0 to 1 over the options that are
    /// scored; `None` where there is nothing to tick and nothing was.
    pub set_f1: Option<f64>,
    /// What the pick costs when value comes first, ΔE00; see [`value_first_cost`].
    pub value_first_de00: Option<f64>,
}

/// What options are worth that lie so far from the twin, ΔE00.
#[must_use]
pub fn standings(de00: &[f64]) -> Vec<Standing> {
    let least = de00.iter().copied().fold(f64::INFINITY, f64::min);
    let standing = |&de00: &f64| {
        if (de00 - ACCEPTABILITY_DE00).abs() <= GREY_DE00 {
            Standing::Grey
        } else if accepts(de00, least) {
            Standing::Acceptable
        } else {
            Standing::Unacceptable
        }
    };
    de00.iter().map(standing).collect()
}

/// What a difference costs when value comes first, ΔE00: up to half as much again where it is one
/// towards the dark.
#[must_use]
pub fn value_first_cost(de00: f64, dl00: f64) -> f64 {
    let darkness = if de00 > 0.0 { ((-dl00).max(0.0) / de00).min(1.0) } else { 0.0 };
    de00 * (1.0 + DARK_WEIGHT * darkness)
}

impl BlendTask {
    /// Marks an answer.
    ///
    /// # Errors
    /// [`AnswerError::Impossible`] for an option that is not there, and for ticks beside "none".
    pub fn marks(&self, answer: &BlendAnswer) -> Result<BlendMarks, AnswerError> {
        let count = self.options.len();
        if let Some(beyond) =
            answer.acceptable.iter().chain(&answer.best).find(|option| **option >= count)
        {
            return Err(AnswerError::Impossible(format!(
                "option {} was named, but there are {count}",
                beyond + 1
            )));
        }
        if answer.best.is_none() && !answer.acceptable.is_empty() {
            return Err(AnswerError::Impossible(
                "none was called acceptable, yet some are ticked".to_owned(),
            ));
        }
        let none_acceptable = self.none_acceptable();
        let set_f1 = self.set_f1(answer);
        let Some(pick) = answer.best else {
            return Ok(BlendMarks {
                score: if none_acceptable { 100.0 } else { 0.0 },
                regret_de00: none_acceptable.then_some(0.0),
                right: none_acceptable,
                set_f1,
                value_first_de00: None,
            });
        };
        let picked = self.options[pick].difference();
        let regret = picked.de00 - self.options[self.best].difference().de00;
        let score = if none_acceptable { 0.0 } else { score_of_regret(regret) };
        Ok(BlendMarks {
            score,
            regret_de00: Some(regret),
            right: Grade::of(score) == Grade::Right,
            set_f1,
            value_first_de00: Some(value_first_cost(picked.de00, picked.dl00)),
        })
    }

    fn set_f1(&self, answer: &BlendAnswer) -> Option<f64> {
        let (mut both, mut only_ticked, mut only_acceptable) = (0_u32, 0_u32, 0_u32);
        for (k, option) in self.options.iter().enumerate() {
            let ticked = answer.best == Some(k) || answer.acceptable.contains(&k);
            match (ticked, option.standing) {
                (true, Standing::Acceptable) => both += 1,
                (true, Standing::Unacceptable) => only_ticked += 1,
                (false, Standing::Acceptable) => only_acceptable += 1,
                _ => {}
            }
        }
        let all = 2 * both + only_ticked + only_acceptable;
        (all > 0).then(|| f64::from(2 * both) / f64::from(all))
    }

    /// What is stored: every option with its truth, and what the answer came to.
    pub(super) fn truth_json(&self, marks: &BlendMarks) -> Value {
        let options: Vec<Value> = self
            .options
            .iter()
            .map(|option| {
                let d = option.difference();
                json!({
                    "tooth": option.teeth[option.worst].tooth.number(),
                    "de00": d.de00, "dl00": d.dl00, "dc00": d.dc00, "dh00": d.dh00,
                    "robust_de00": option.robust_de00,
                    "worst_light": option.worst_light.name(),
                    "value_first_de00": value_first_cost(d.de00, d.dl00),
                    "standing": option.standing,
                })
            })
            .collect();
        let acceptable: Vec<usize> = (0..self.options.len())
            .filter(|&k| self.options[k].standing == Standing::Acceptable)
            .collect();
        let mut truth = json!({
            "options": options,
            "best": self.best,
            "acceptable": acceptable,
            "none_acceptable": self.none_acceptable(),
            "pair": [self.pair.0, self.pair.1],
            "light": self.light.name(),
            "set_f1": marks.set_f1,
            "value_first_de00": marks.value_first_de00,
        });
        if let Some(measured) = &self.measured {
            truth["measured"] = json!(measured);
        }
        truth
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bake::ZoneDifference;
    use crate::colorimetry::Illuminant;
    use crate::exercise::blend::{BlendOption, ToothDifference};
    use crate::scene::Tooth;

    fn task(differences: &[(f64, f64)]) -> BlendTask {
        let tooth = Tooth::new(11).unwrap();
        let de00: Vec<f64> = differences.iter().map(|d| d.0).collect();
        let option = |(&(de00, dl00), standing): (&(f64, f64), Standing)| {
            let difference = ZoneDifference { de00, dl00, ..Default::default() };
            BlendOption {
                teeth: vec![ToothDifference { tooth, difference }],
                worst: 0,
                robust_de00: de00,
                worst_light: Illuminant::D65,
                standing,
                cause: String::new(),
            }
        };
        let best = (0..de00.len()).min_by(|&a, &b| de00[a].total_cmp(&de00[b])).unwrap();
        let options = differences.iter().zip(standings(&de00)).map(option).collect();
        BlendTask {
            teeth: vec![tooth],
            light: Illuminant::D65,
            options,
            best,
            pair: (0, 1),
            measured: None,
        }
    }

    fn pick(best: usize, acceptable: &[usize]) -> BlendAnswer {
        BlendAnswer { best: Some(best), acceptable: acceptable.to_vec() }
    }

    // The figures of the next three are worked by hand from the definitions.

    #[test]
    fn regret_takes_the_score() {
        let task = task(&[(0.9, 0.0), (1.2, 0.0), (2.3, 0.0), (4.1, 0.0)]);
        for (option, regret, score) in
            [(0, 0.0, 100.0), (1, 0.3, 100.0), (2, 1.4, 400.0 / 9.0), (3, 3.2, 0.0)]
        {
            let marks = task.marks(&pick(option, &[])).unwrap();
            assert!((marks.regret_de00.unwrap() - regret).abs() < 1e-12, "{marks:?}");
            assert!((marks.score - score).abs() < 1e-9, "{marks:?}");
            assert_eq!(marks.right, score == 100.0);
        }
        assert_eq!(task.marks(&BlendAnswer::none()).unwrap().score, 0.0);
        assert_eq!(task.marks(&BlendAnswer::none()).unwrap().regret_de00, None);
    }

    #[test]
    fn the_set_is_scored_without_its_grey_zone() {
        let task = task(&[(0.9, 0.0), (1.2, 0.0), (1.7, 0.0), (2.3, 0.0), (4.1, 0.0)]);
        let standing: Vec<Standing> = task.options.iter().map(|option| option.standing).collect();
        use Standing::{Acceptable, Grey, Unacceptable};
        assert_eq!(standing, [Acceptable, Acceptable, Grey, Unacceptable, Unacceptable]);
        // One right, one missed, one too many; the grey one is not looked at.
        assert_eq!(task.marks(&pick(0, &[0, 3])).unwrap().set_f1, Some(0.5));
        assert_eq!(task.marks(&pick(0, &[0, 2, 3])).unwrap().set_f1, Some(0.5));
        assert_eq!(task.marks(&pick(0, &[1])).unwrap().set_f1, Some(1.0));
        assert_eq!(task.marks(&BlendAnswer::none()).unwrap().set_f1, Some(0.0));
    }

    #[test]
    fn dark_errors_cost_more_when_value_comes_first() {
        assert!((value_first_cost(1.4, -1.3) - 2.05).abs() < 1e-12);
        assert!((value_first_cost(1.6, 1.2) - 1.6).abs() < 1e-12);
        assert!((value_first_cost(1.0, -1.4) - 1.5).abs() < 1e-12);
        assert_eq!(value_first_cost(0.0, 0.0), 0.0);
    }

    #[test]
    fn none_is_the_answer_where_none_is_acceptable() {
        let task = task(&[(2.5, 1.0), (2.5, -1.0), (4.0, 0.0)]);
        assert!(task.none_acceptable());
        let none = task.marks(&BlendAnswer::none()).unwrap();
        assert_eq!((none.score, none.regret_de00, none.right), (100.0, Some(0.0), true));
        assert_eq!(none.set_f1, None);
        let picked = task.marks(&pick(0, &[])).unwrap();
        assert_eq!((picked.score, picked.right, picked.set_f1), (0.0, false, Some(0.0)));
    }

    #[test]
    fn an_option_as_good_as_the_best_is_acceptable_beyond_the_threshold() {
        use Standing::{Acceptable, Grey, Unacceptable};
        assert_eq!(standings(&[1.7, 2.05, 2.15]), [Grey, Acceptable, Unacceptable]);
        assert_eq!(standings(&[2.1, 2.25, 2.3]), [Acceptable, Unacceptable, Unacceptable]);
    }

    #[test]
    fn impossible_answers_are_refused() {
        let task = task(&[(0.5, 0.0), (3.0, 1.0), (3.0, -1.0)]);
        for answer in [pick(3, &[]), pick(0, &[7]), BlendAnswer { best: None, acceptable: vec![1] }]
        {
            assert!(matches!(task.marks(&answer), Err(AnswerError::Impossible(_))), "{answer:?}");
        }
    }
}
