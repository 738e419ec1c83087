//! Bracket: choose two options to mill, so that at least one blends.

mod layout;

use super::perceive::deviate;
use super::recipe::Recipe;
use super::{AnswerError, Learner, Mark};
use crate::bake::ZoneDifference;
use crate::scene::Tooth;
use crate::words::{Part, is_nothing, tenths};
pub(super) use layout::lay_out;
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One option that could be milled.
#[derive(Debug, Clone, PartialEq)]
pub struct BracketOption {
    /// What it is made of.
    pub recipe: Recipe,
    /// Difference to the twin if thickness and prepared tooth are as estimated.
    pub estimate: ZoneDifference,
    /// Probability that it is acceptable.
    pub acceptable: f64,
    /// 10th, 50th and 90th percentile of its signed difference in value, ΔL00.
    pub value_percentiles: [f64; 3],
}

/// Two options.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BracketPair {
    /// The options, the lower place first.
    pub options: [usize; 2],
    /// Probability that at least one of the two is acceptable.
    pub chance: f64,
    /// Expected ΔE00 of the better of the two.
    pub expected_de00: f64,
}

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct BracketTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// Prepared-tooth colour id, as estimated.
    pub prepared_tooth: String,
    /// Standard deviation of the ceramic's thickness, mm; each milling has its own.
    pub thickness_sd_mm: f64,
    /// Standard deviation of the prepared tooth's lightness, L*; both options meet the same.
    pub prepared_sd: f64,
    /// The options. The question's sights are these as estimated, in the same order.
    pub options: Vec<BracketOption>,
    /// All pairs, the likeliest to succeed first.
    pub pairs: Vec<BracketPair>,
    /// Drawn cases behind the probabilities.
    pub draws: usize,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BracketAnswer {
    /// The two options, by their places, in either order.
    pub options: [usize; 2],
    /// Where the natural tooth lies in value between the darker (0) and the lighter (1) of the two
    /// as estimated; `None` for "it does not lie between them" or not asked.
    pub placed: Option<f64>,
}

/// A chance this near the best is as good: half a hundred draws in a thousand, less is chance.
const AS_GOOD_CHANCE: f64 = 0.05;
/// A chance from which a pair is called a fair bet.
pub(super) const FAIR: f64 = 0.5;

impl BracketAnswer {
    pub(super) fn to_json(self) -> Value {
        json!(self)
    }
}

impl BracketTask {
    /// The pair of two options, in either order; `None` when they are not two of this question.
    #[must_use]
    pub fn pair(&self, [a, b]: [usize; 2]) -> Option<&BracketPair> {
        self.pairs.iter().find(|pair| pair.options == [a.min(b), a.max(b)])
    }

    /// Where the natural tooth lies in value between the darker (0) and the lighter (1) of two
    /// options as estimated, and the distance between the two, ΔL00; `None` where it does not lie
    /// between them.
    #[must_use]
    pub fn place_between(&self, [a, b]: [usize; 2]) -> Option<(f64, f64)> {
        let value = |i: usize| self.options.get(i).map(|option| option.estimate.dl00);
        let (a, b) = (value(a)?, value(b)?);
        let (low, high) = (a.min(b), a.max(b));
        (low < 0.0 && high > 0.0).then(|| (-low / (high - low), high - low))
    }

    /// How far off a placing is, ΔL00: its distance from the true place times the width of the
    /// bracket. `None` where nothing was placed or nothing can be.
    #[must_use]
    pub fn placing_error(&self, answer: &BracketAnswer) -> Option<f64> {
        let (place, width) = self.place_between(answer.options)?;
        Some(placing_error(answer.placed?, place, width))
    }

    /// The score is the chance of the chosen pair as a share of the best pair's; in full where the draws
    /// cannot tell the two.
    pub(super) fn mark(&self, answer: &BracketAnswer) -> Result<Mark, AnswerError> {
        let Some(chosen) = self.pair(answer.options) else {
            let [a, b] = answer.options.map(|i| i + 1);
            let message = format!("options {a} and {b} are not two of {}", self.options.len());
            return Err(AnswerError::Impossible(message));
        };
        if answer.placed.is_some_and(|placed| !(0.0..=1.0).contains(&placed)) {
            let message = "a place between two options lies between 0 and 1".to_owned();
            return Err(AnswerError::Impossible(message));
        }
        let Some(best) = self.pairs.first() else {
            return Err(AnswerError::Impossible("there are no pairs".to_owned()));
        };
        let least = self.pairs.iter().map(|pair| pair.expected_de00).fold(f64::INFINITY, f64::min);
        let score = (best.chance > 0.0).then(|| {
            let as_good = best.chance - chosen.chance <= AS_GOOD_CHANCE;
            if as_good { 100.0 } else { 100.0 * (chosen.chance / best.chance) }
        });
        let truth = json!({
            "options": self.options.iter().map(|option| json!({
                "recipe": option.recipe,
                "estimate": option.estimate,
                "acceptable": option.acceptable,
            })).collect::<Vec<_>>(),
            "pairs": self.pairs.iter().map(|pair| json!({
                "options": pair.options,
                "chance": pair.chance,
                "expected_de00": pair.expected_de00,
            })).collect::<Vec<_>>(),
            "straddles": self.place_between(answer.options).is_some(),
            "placing_error_dl00": self.placing_error(answer),
            "draws": self.draws,
        });
        let regret = (chosen.expected_de00 - least).max(0.0);
        Ok(Mark::new(score, Some(regret), self.sentences(answer, chosen, best), truth))
    }

    fn sentences(
        &self,
        answer: &BracketAnswer,
        chosen: &BracketPair,
        best: &BracketPair,
    ) -> Vec<String> {
        let percent = |p: f64| (100.0 * p).round();
        let [a, b] = chosen.options;
        let mut sentences = vec![format!(
            "Options {} and {}: in {:.0} of 100 cases at least one is acceptable ({:.0} and {:.0} by \
             themselves).",
            a + 1,
            b + 1,
            percent(chosen.chance),
            percent(self.options[a].acceptable),
            percent(self.options[b].acceptable),
        )];
        if best.chance <= 0.0 {
            sentences.push("No two of these would: none is ever acceptable.".to_owned());
        } else if chosen.options == best.options {
            sentences.push("No other two would do better.".to_owned());
        } else if best.chance - chosen.chance <= AS_GOOD_CHANCE {
            sentences.push("No other two would do better by more than chance.".to_owned());
        } else {
            let [c, d] = best.options.map(|i| i + 1);
            sentences.push(format!(
                "Options {c} and {d} would succeed in {:.0} of 100.",
                percent(best.chance)
            ));
        }
        match (self.place_between(chosen.options), answer.placed) {
            (Some((place, width)), Some(placed)) => {
                let off = placing_error(placed, place, width);
                let came_to = if is_nothing(off) {
                    "which is right".to_owned()
                } else {
                    format!("which is {} ΔL00 off", tenths(off))
                };
                sentences.push(format!(
                    "The natural tooth lies {:.0} % of the way from the darker to the lighter; you \
                     said {:.0} %, {came_to}.",
                    percent(place),
                    percent(placed)
                ));
            }
            (None, Some(_)) => {
                let lighter = self.options[a].estimate.dl00.max(self.options[b].estimate.dl00);
                let side = Part::Value.way(lighter);
                sentences.push(format!("Both are {side} than the tooth: they do not bound it."));
            }
            _ => {}
        }
        if self.place_between(chosen.options).is_some() {
            sentences.push(
                "They bound it in value. When both are in hand, keep the one that blends; in doubt \
                 the lighter, as too dark is the worse mistake and time darkens."
                    .to_owned(),
            );
        }
        if best.chance < FAIR {
            sentences.push(
                "No two options are a fair bet here: more space or a better estimate of the prepared \
                 tooth would help more than another shade."
                    .to_owned(),
            );
        }
        sentences
    }

    /// Takes what looks nearest and, on its other side in value, the nearest that bounds it.
    pub(super) fn answer_of(
        &self,
        learner: &Learner,
        stream: &mut impl rand::Rng,
    ) -> BracketAnswer {
        let n = self.options.len();
        if learner.lapses(stream) || n < 2 {
            let a = stream.random_range(0..n.max(1));
            let b = (a + stream.random_range(1..n.max(2))) % n.max(1);
            return BracketAnswer { options: [a, b], placed: Some(stream.random()) };
        }
        if learner.noise_de00 <= 0.0 && learner.value_bias == 0.0 {
            let options = self.pairs.first().map_or([0, 1], |pair| pair.options);
            let placed = self.place_between(options).map(|(place, _)| place);
            return BracketAnswer { options, placed };
        }
        // Sees every option's value and the rest of its difference through the same noise.
        let seen: Vec<ZoneDifference> = self
            .options
            .iter()
            .map(|option| {
                let mut seen = option.estimate;
                seen.dl00 += learner.noise_de00 * deviate(stream) - learner.value_bias;
                seen
            })
            .collect();
        let off = |i: usize| {
            let d = &seen[i];
            ((learner.value_weight * d.dl00).powi(2) + d.dc00.powi(2) + d.dh00.powi(2)).sqrt()
        };
        let by_off = |places: &mut dyn Iterator<Item = usize>| {
            places.min_by(|&a, &b| off(a).total_cmp(&off(b)))
        };
        let first = by_off(&mut (0..n)).unwrap_or(0);
        let side = seen[first].dl00.signum();
        let beyond = by_off(&mut (0..n).filter(|&i| seen[i].dl00.signum() != side));
        let second = beyond.or(by_off(&mut (0..n).filter(|&i| i != first))).unwrap_or(0);
        let (low, high) =
            (seen[first].dl00.min(seen[second].dl00), seen[first].dl00.max(seen[second].dl00));
        let placed = (low < 0.0 && high > 0.0).then(|| -low / (high - low));
        BracketAnswer { options: [first, second], placed }
    }
}

/// Error of a placing between two options `width` apart in value, ΔL00.
fn placing_error(placed: f64, place: f64, width: f64) -> f64 {
    (placed - place).abs() * width
}
