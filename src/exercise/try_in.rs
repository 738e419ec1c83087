//! Try-in: say what each cement does before seeing it, then choose one for the day of seating.

mod effect;
mod layout;

use super::mark::score_of_regret;
use super::perceive::deviate;
use super::{AnswerError, Learner, Mark};
use crate::bake::ZoneDifference;
use crate::scene::{Case, Drift, Tooth};
use crate::words::{Part, count, de00, is_nothing};
pub use effect::{CementEffect, EffectDirection, Prediction};
pub(super) use layout::lay_out;
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct TryInTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// The cements: the first is the one that is seen before anything is asked, the others are
    /// predicted in this order. The question's sights are these, on the day of seating.
    pub cements: Vec<CementEffect>,
    /// The middle case of drift when the time is over; months and cure are in it.
    pub drift: Drift,
    /// Which cement stays nearest to unnoticed, by its place in `cements`.
    pub best: usize,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TryInAnswer {
    /// One prediction for every cement but the first, in order.
    pub predictions: Vec<Prediction>,
    /// The cement chosen for seating, by its place in the task's cements.
    pub seated: usize,
}

/// Cements predicted in a question, besides the one that is seen first.
pub(super) const ASKED: usize = 3;

impl TryInAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl TryInTask {
    /// A sight's smile when the time is over, in the middle case.
    #[must_use]
    pub fn after(&self, sight: &Case) -> Case {
        let mut case = sight.clone();
        for restoration in case.restorations.iter_mut().filter(|r| r.tooth == self.tooth) {
            restoration.drift = Some(self.drift);
        }
        case
    }

    /// The cements that are predicted: all but the first.
    #[must_use]
    pub fn asked(&self) -> &[CementEffect] {
        self.cements.get(1..).unwrap_or_default()
    }

    /// The score is the mean of the predictions' mean and the choice's.
    pub(super) fn mark(&self, answer: &TryInAnswer) -> Result<Mark, AnswerError> {
        let asked = self.asked();
        if answer.predictions.len() != asked.len() {
            let (given, asked) = (answer.predictions.len(), asked.len());
            let message = format!("{given} predictions were given for {asked} cements");
            return Err(AnswerError::Impossible(message));
        }
        if answer.predictions.iter().any(|p| !p.size_de00.is_finite() || p.size_de00 < 0.0) {
            let message = "a predicted size is not a number from 0 up".to_owned();
            return Err(AnswerError::Impossible(message));
        }
        let Some(seated) = self.cements.get(answer.seated) else {
            let message = format!("there is no cement {}", answer.seated + 1);
            return Err(AnswerError::Impossible(message));
        };
        let best = &self.cements[self.best];
        let regret = (seated.after.de00 - best.after.de00).max(0.0);
        let pairs = || answer.predictions.iter().zip(asked);
        let n = asked.len().max(1) as f64;
        let predicted = pairs().map(|(p, c)| p.score(&c.effect)).sum::<f64>() / n;
        let directions = pairs().filter(|(p, c)| p.direction == c.direction).count();
        let truth = json!({
            "cements": self.cements.iter().map(|c| json!({
                "cement": c.cement,
                "direction": c.direction,
                "effect": c.effect,
                "at_seating": c.at_seating,
                "after": c.after,
            })).collect::<Vec<_>>(),
            "errors": pairs().map(|(p, c)| p.error(&c.effect)).collect::<Vec<_>>(),
            "right_directions": directions,
            "prediction_score": predicted,
            "best": self.best,
            "months": self.drift.months,
        });
        let score = 0.5 * (predicted + score_of_regret(regret));
        Ok(Mark::new(Some(score), Some(regret), self.sentences(answer, seated, best), truth))
    }

    fn sentences(
        &self,
        answer: &TryInAnswer,
        seated: &CementEffect,
        best: &CementEffect,
    ) -> Vec<String> {
        let mut sentences = Vec::new();
        for (prediction, cement) in answer.predictions.iter().zip(self.asked()) {
            let said = match prediction.direction {
                EffectDirection::None => "no effect".to_owned(),
                way => way.in_words(prediction.size_de00),
            };
            let is = match cement.direction {
                EffectDirection::None => {
                    format!("does nothing that could be seen ({})", de00(cement.effect.de00))
                }
                // What is seen of it is paler, or another hue.
                way if is_nothing(way.part(&cement.effect)) => {
                    format!("changes it by {}, hardly in value,", de00(cement.effect.de00))
                }
                way => format!("is {}", way.in_words(way.part(&cement.effect).abs())),
            };
            let name = &cement.name;
            sentences.push(format!("You said {said}: {name} cement {is} here."));
        }
        if self.asked().iter().all(|c| c.direction == EffectDirection::None) {
            sentences.push(
                "This ceramic is too thick or too opaque for any cement to show through."
                    .to_owned(),
            );
        }
        let months = self.drift.months;
        let months = count(months.round() as usize, "month", "months");
        let value = |d: &ZoneDifference| Part::Value.differs(d.dl00);
        sentences.push(format!(
            "Seated with {} cement it differs by {} on the day ({}) and by {} after {months} ({}).",
            seated.name,
            de00(seated.at_seating.de00),
            value(&seated.at_seating),
            de00(seated.after.de00),
            value(&seated.after),
        ));
        if seated.cement != best.cement {
            sentences.push(format!(
                "{} cement would end at {}: it starts {} and the cement darkens with time.",
                capital(&best.name),
                de00(best.after.de00),
                Part::Value.compared(best.at_seating.dl00, "the tooth"),
            ));
        }
        sentences
    }

    pub(super) fn answer_of(&self, learner: &Learner, stream: &mut impl rand::Rng) -> TryInAnswer {
        let predictions = self
            .asked()
            .iter()
            .map(|cement| {
                if learner.lapses(stream) {
                    let all = [
                        EffectDirection::Lighter,
                        EffectDirection::Darker,
                        EffectDirection::Warmer,
                        EffectDirection::None,
                    ];
                    let direction = all[stream.random_range(0..all.len())];
                    return Prediction { direction, size_de00: stream.random_range(0.0..3.0) };
                }
                // Who likes it lighter expects it lighter.
                let mut seen = cement.effect;
                seen.dl00 += learner.value_bias + learner.noise_de00 * deviate(stream);
                seen.dc00 += learner.noise_de00 * deviate(stream);
                if learner.value_bias != 0.0 || learner.noise_de00 > 0.0 {
                    seen.de00 = (seen.dl00.powi(2) + seen.dc00.powi(2) + seen.dh00.powi(2)).sqrt();
                }
                let direction = EffectDirection::of(&seen);
                Prediction { direction, size_de00: direction.part(&seen).abs() }
            })
            .collect();
        let seated = learner.nearest(self.cements.iter().map(|cement| &cement.after), stream);
        TryInAnswer { predictions, seated }
    }
}

pub(super) fn capital(name: &str) -> String {
    let mut letters = name.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
