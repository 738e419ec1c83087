//! Two lights: Does the choice hold in another light?
//!
//! The options are of `pigmented` ceramics (`material::pigment`): plain ones shift between lights
//! like teeth do. In some questions no option is acceptable in both lights, although layout looks
//! first for cases that have one: a dark prepared tooth under thin ceramic may leave nothing
//! better. Such a question has no score; its regret to the least bad is kept, and the debrief says
//! that none would do and which that is.

mod layout;

use super::mark::{FREE_REGRET_DE00, score_of_regret};
use super::seeing::in_words;
use super::{AnswerError, Learner, Mark, Sight};
use crate::bake::ZoneDifference;
use crate::colorimetry::{ACCEPTABILITY_DE00, Illuminant};
use crate::scene::{Restoration, Tooth};
use crate::words::de00;
pub(super) use layout::lay_out;
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One option, with how far it is from the twin in each light.
#[derive(Debug, Clone, PartialEq)]
pub struct LitOption {
    /// The restoration.
    pub restoration: Restoration,
    /// Its ceramic in plain words.
    pub ceramic: String,
    /// Restored minus twin in the first light.
    pub first: ZoneDifference,
    /// Restored minus twin in the second light.
    pub second: ZoneDifference,
}

/// Options seen first in one light, then in another. The question's sights are the options in the
/// first light, in the same order.
#[derive(Debug, Clone, PartialEq)]
pub struct TwoLightsTask {
    /// The restored tooth.
    pub tooth: Tooth,
    /// The light of the choice.
    pub first_light: Illuminant,
    /// The other light.
    pub second_light: Illuminant,
    /// The options, with their truth.
    pub options: Vec<LitOption>,
    /// The options in the second light, in the same order; to be shown after the prediction only.
    pub second_sights: Vec<Sight>,
}

/// The answer; indices into [`TwoLightsTask::options`].
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TwoLightsAnswer {
    /// The option chosen in the first light.
    pub choice: usize,
    /// Whether the learner predicts to keep it in the second light.
    pub keep: bool,
    /// The option chosen after seeing the second light.
    pub second_choice: usize,
}

impl TwoLightsAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

/// How near the limit of keeping an option's loss must be for the prediction to count neither way,
/// ΔE00. A setting of this program.
const UNSURE_DE00: f64 = 0.1;

impl LitOption {
    /// The difference in the worse of the two lights, ΔE00.
    #[must_use]
    pub const fn robust_de00(&self) -> f64 {
        self.first.de00.max(self.second.de00)
    }
}

impl TwoLightsTask {
    fn least(&self, by: impl Fn(&LitOption) -> f64) -> Option<usize> {
        let of = |i: &usize| by(&self.options[*i]);
        (0..self.options.len()).min_by(|a, b| of(a).total_cmp(&of(b)))
    }

    /// The option nearest its twin in the first light.
    #[must_use]
    pub fn best_in_first(&self) -> Option<usize> {
        self.least(|option| option.first.de00)
    }

    /// The option nearest its twin in the second light.
    #[must_use]
    pub fn best_in_second(&self) -> Option<usize> {
        self.least(|option| option.second.de00)
    }

    /// The option whose worse light is best.
    #[must_use]
    pub fn most_robust(&self) -> Option<usize> {
        self.least(LitOption::robust_de00)
    }

    /// Options that would do in both lights: at most [`ACCEPTABILITY_DE00`] from their twin in each.
    #[must_use]
    pub fn acceptable_in_both(&self) -> Vec<usize> {
        let would_do = |i: &usize| self.options[*i].robust_de00() <= ACCEPTABILITY_DE00;
        (0..self.options.len()).filter(would_do).collect()
    }

    /// How much worse an option is in the second light than the best there, ΔE00.
    fn loss(&self, choice: usize) -> Option<f64> {
        let best = &self.options[self.best_in_second()?];
        Some(self.options.get(choice)?.second.de00 - best.second.de00)
    }

    /// Whether an option chosen in the first light should be kept in the second: it is at most 0.4
    /// ΔE00 worse there than the best. `None` where it is too near that limit to say, or there is no
    /// such option.
    #[must_use]
    pub fn keep_is_right(&self, choice: usize) -> Option<bool> {
        let loss = self.loss(choice)?;
        ((loss - FREE_REGRET_DE00).abs() > UNSURE_DE00).then_some(loss < FREE_REGRET_DE00)
    }

    fn option(&self, index: usize) -> Result<&LitOption, AnswerError> {
        self.options.get(index).ok_or_else(|| {
            AnswerError::Impossible(format!(
                "there is no option {} among {}",
                index + 1,
                self.options.len()
            ))
        })
    }

    /// The score is that of the choice, by its regret over both lights. Where nothing would do in both,
    /// nothing that could be picked would be right: then it counts neither way, and the regret to the
    /// least bad is kept. What was predicted is judged by itself and stored with the truth.
    pub(super) fn mark(&self, answer: &TwoLightsAnswer) -> Result<Mark, AnswerError> {
        let chosen = self.option(answer.choice)?;
        self.option(answer.second_choice)?;
        let robust = self.most_robust().unwrap_or(answer.choice);
        let regret = chosen.robust_de00() - self.options[robust].robust_de00();
        let keep = self.keep_is_right(answer.choice);
        let truth = json!({
            "tooth": self.tooth.number(),
            "first_light": self.first_light.name(),
            "second_light": self.second_light.name(),
            "options": self.options.iter().map(|option| json!({
                "first": parts(&option.first),
                "second": parts(&option.second),
                "robust_de00": option.robust_de00(),
            })).collect::<Vec<_>>(),
            "best_in_first": self.best_in_first(),
            "best_in_second": self.best_in_second(),
            "most_robust": robust,
            "keep_is_right": keep,
            "prediction_right": keep.map(|keep| keep == answer.keep),
            "acceptable_in_both": self.acceptable_in_both(),
        });
        let would_do = !self.acceptable_in_both().is_empty();
        let score = would_do.then(|| score_of_regret(regret));
        Ok(Mark::new(score, Some(regret), self.sentences(answer, chosen, robust), truth))
    }

    fn sentences(
        &self,
        answer: &TwoLightsAnswer,
        chosen: &LitOption,
        robust: usize,
    ) -> Vec<String> {
        let (first, second) = (self.first_light.name(), self.second_light.name());
        let mut said = vec![format!(
            "Option {} ({}) differs from its natural twin by {} under {first} and by {} under {second} \
             ({}).",
            answer.choice + 1,
            chosen.ceramic,
            de00(chosen.first.de00),
            de00(chosen.second.de00),
            in_words(&chosen.second)
        )];
        let predicted = |holds: bool| {
            let said = if answer.keep { "keep" } else { "change" };
            let word = if answer.keep == holds { "rightly" } else { "wrongly" };
            format!("you {word} said {said}")
        };
        let best = self.best_in_second().unwrap_or(answer.choice);
        let best_de00 = self.options.get(best).map_or(0.0, |option| option.second.de00);
        said.push(match self.keep_is_right(answer.choice) {
            Some(true) if best == answer.choice => {
                format!("It is the best in the second light too; {}.", predicted(true))
            }
            Some(true) => format!(
                "It holds: option {} is best in the second light, but by less than matters; {}.",
                best + 1,
                predicted(true)
            ),
            Some(false) => format!(
                "It does not hold: under {second} option {} is nearer ({}); {}.",
                best + 1,
                de00(best_de00),
                predicted(false)
            ),
            None => {
                "Whether it holds is too close to call; your prediction does not count.".to_owned()
            }
        });
        let over_both = self.over_both_lights(answer.choice, robust);
        // That nothing would do comes first: all else is about the least bad.
        let place = if self.acceptable_in_both().is_empty() { 0 } else { said.len() };
        said.insert(place, over_both);
        said
    }

    /// What comes nearest over both lights and, where nothing would do, that nothing would.
    fn over_both_lights(&self, choice: usize, robust: usize) -> String {
        let worst_de00 = self.options[robust].robust_de00();
        if worst_de00 <= ACCEPTABILITY_DE00 {
            return if robust == choice {
                "Of all options it is the safest over both lights.".to_owned()
            } else {
                format!(
                    "The safest over both lights is option {}: never more than {} away.",
                    robust + 1,
                    de00(worst_de00)
                )
            };
        }
        let nothing_would = |of: fn(&LitOption) -> f64| {
            self.options.iter().all(|option| of(option) > ACCEPTABILITY_DE00)
        };
        let in_neither =
            nothing_would(|option| option.first.de00) && nothing_would(|option| option.second.de00);
        let limit = de00(ACCEPTABILITY_DE00);
        let none = if in_neither {
            format!("None would do: in either light all are more than {limit} away.")
        } else {
            format!("None would do in both lights: each is more than {limit} away in one of them.")
        };
        let yours = if robust == choice { ", your choice" } else { "" };
        format!(
            "{none} The least bad is option {}{yours}: at most {worst_de00:.2} ΔE00 away. In practice, \
             compose another.",
            robust + 1
        )
    }

    /// Chooses what looks nearest in each light, and foresees the second light as it would see it.
    pub(super) fn answer_of(
        &self,
        learner: &Learner,
        stream: &mut impl rand::Rng,
    ) -> TwoLightsAnswer {
        let n = self.options.len();
        if learner.lapses(stream) {
            let mut any = || stream.random_range(0..n.max(1));
            let (choice, second_choice) = (any(), any());
            return TwoLightsAnswer { choice, keep: stream.random(), second_choice };
        }
        let mut look = |of: fn(&LitOption) -> &ZoneDifference| -> Vec<f64> {
            self.options.iter().map(|option| learner.sees(of(option), stream)).collect()
        };
        let nearest = |seen: &[f64]| {
            (0..seen.len()).min_by(|&a, &b| seen[a].total_cmp(&seen[b])).unwrap_or(0)
        };
        let choice = nearest(&look(|option| &option.first));
        let foreseen = look(|option| &option.second);
        let loss = foreseen.get(choice).copied().unwrap_or(0.0)
            - foreseen.get(nearest(&foreseen)).copied().unwrap_or(0.0);
        let second_choice = nearest(&look(|option| &option.second));
        TwoLightsAnswer { choice, keep: loss <= FREE_REGRET_DE00, second_choice }
    }
}

fn parts(difference: &ZoneDifference) -> Value {
    json!({
        "de00": difference.de00, "dl00": difference.dl00,
        "dc00": difference.dc00, "dh00": difference.dh00,
    })
}
