//! Margin: hide the margin of an onlay that ends above the gum.
//!
//! An onlay ([`Preparation::Onlay`](crate::scene::Preparation)) is natural tooth below its margin
//! line and ceramic above it. How plainly the line shows is measured on the maps
//! ([`bake`](mod@crate::bake)).

mod layout;

use super::mark::score_of_regret;
use super::recipe::Recipe;
use super::{AnswerError, Learner, Mark};
use crate::bake::{MarginContrast, ZoneDifference};
use crate::colorimetry::ACCEPTABILITY_DE00;
use crate::scene::{Tooth, Translucency};
use crate::words::{Part, count, de00};
pub(super) use layout::lay_out;
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One onlay that could be seated.
#[derive(Debug, Clone, PartialEq)]
pub struct MarginOption {
    /// What it is made of.
    pub recipe: Recipe,
    /// Contrast along the margin line: ceramic just above it minus natural tooth just below.
    pub contrast: MarginContrast,
    /// Difference of the whole tooth to its twin, zone-weighted.
    pub whole: ZoneDifference,
    /// Value steps (2 L*) of the shade above the tooth's own body.
    pub steps_above: f64,
}

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct MarginTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// Height of the margin line: 0 at the gum, 1 at the cusp tip.
    pub margin_height: f64,
    /// What the natural twin changes across the same line.
    pub natural: MarginContrast,
    /// The options. The question's sights are these, in the same order.
    pub options: Vec<MarginOption>,
    /// Places of the options whose margin is acceptable; empty when there is none.
    pub acceptable: Vec<usize>,
    /// Place of the option with the least contrast.
    pub best: usize,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct MarginAnswer {
    /// The option that hides its margin best, by its place; `None` for "none hides it".
    pub choice: Option<usize>,
}

impl MarginAnswer {
    pub(super) fn to_json(self) -> Value {
        json!(self)
    }
}

impl MarginOption {
    /// Plain words: translucency, steps above the tooth, cement.
    #[must_use]
    pub fn in_words(&self) -> String {
        let steps = self.steps_above;
        let value = if steps.abs() < 0.25 {
            "the tooth's own value".to_owned()
        } else {
            let way = if steps > 0.0 { "brighter" } else { "darker" };
            let steps = count(steps.abs().round().max(1.0) as usize, "step", "steps");
            format!("{steps} {way} than the tooth")
        };
        let translucency = super::translucency_name(self.recipe.ceramic.translucency);
        let cement = self.recipe.cement.replace('-', " ");
        format!("{translucency} translucency, {value}, {cement} cement")
    }
}

impl MarginTask {
    pub(super) fn mark(&self, answer: &MarginAnswer) -> Result<Mark, AnswerError> {
        let best = &self.options[self.best];
        let hidden = !self.acceptable.is_empty();
        let truth = json!({
            "options": self.options.iter().map(|option| json!({
                "recipe": option.recipe,
                "steps_above": option.steps_above,
                "contrast": option.contrast.mean,
                "worst_de00": option.contrast.worst_de00,
                "whole": option.whole,
            })).collect::<Vec<_>>(),
            "natural_de00": self.natural.mean.de00,
            "acceptable": self.acceptable,
            "best": self.best,
        });
        let mut sentences = Vec::new();
        let Some(place) = answer.choice else {
            sentences.push(if hidden {
                format!(
                    "Option {} hides its margin: the ceramic differs from the tooth below it by {}.",
                    self.best + 1,
                    de00(best.contrast.mean.de00)
                )
            } else {
                format!(
                    "None hides it: the nearest, option {}, still differs by {} along the margin.",
                    self.best + 1,
                    de00(best.contrast.mean.de00)
                )
            });
            sentences.extend(self.teaching());
            let score = if hidden { 0.0 } else { 100.0 };
            return Ok(Mark::new(Some(score), None, sentences, truth));
        };
        let Some(chosen) = self.options.get(place) else {
            return Err(AnswerError::Impossible(format!("there is no option {}", place + 1)));
        };
        let regret = (chosen.contrast.mean.de00 - best.contrast.mean.de00).max(0.0);
        let mean = &chosen.contrast.mean;
        // That none would do comes first: all else is about the least bad.
        if !hidden {
            sentences.push("None of these hides the margin.".to_owned());
        }
        sentences.push(format!(
            "Just above the margin your ceramic is {}, {} off in all and {} at the worst place; the \
             natural tooth changes by {} there.",
            Part::Value.compared(mean.dl00, "the tooth just below"),
            de00(mean.de00),
            de00(chosen.contrast.worst_de00),
            de00(self.natural.mean.de00)
        ));
        if place != self.best {
            sentences.push(format!(
                "Option {} ({}) differs by {}.",
                self.best + 1,
                best.in_words(),
                de00(best.contrast.mean.de00)
            ));
        }
        sentences.extend(self.teaching());
        let score = if hidden { score_of_regret(regret) } else { 0.0 };
        Ok(Mark::new(Some(score), Some(regret), sentences, truth))
    }

    /// What the best option shows about hiding margins.
    fn teaching(&self) -> Option<String> {
        let best = &self.options[self.best];
        (best.recipe.ceramic.translucency == Translucency::High && best.steps_above > 0.5).then(|| {
            "Translucent ceramic lets what lies beneath show; made brighter, it makes up for the value \
             that is lost."
                .to_owned()
        })
    }

    pub(super) fn answer_of(&self, learner: &Learner, stream: &mut impl rand::Rng) -> MarginAnswer {
        let contrasts = || self.options.iter().map(|option| &option.contrast.mean);
        if learner.lapses(stream) {
            let choice = stream.random_range(0..=self.options.len());
            return MarginAnswer { choice: (choice < self.options.len()).then_some(choice) };
        }
        let place = learner.nearest(contrasts(), stream);
        let seen = learner.seems(&self.options[place].contrast.mean, stream);
        let shows = seen > ACCEPTABILITY_DE00;
        MarginAnswer { choice: (!shows).then_some(place) }
    }
}
