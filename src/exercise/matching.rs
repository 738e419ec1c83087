//! Match: Which tab is nearest?
//!
//! A tab is the target tooth with another dentin, so its thirds run like those of a tooth and one
//! tab can be exactly like the target; a thick piece of ceramic has one colour from neck to edge
//! and never is. The ring is drawn around a point beside the target, or its middle would be the
//! answer. In 30 % no tab is exact, and the target lies half-way between two.

mod layout;

use super::mark::score_of_regret;
use super::seeing::{deviate, in_words};
use super::{AnswerError, Learner, Mark};
use crate::bake::ZoneDifference;
use crate::colorimetry::{Lab, Lch};
use crate::scene::Tooth;
use crate::words::de00;
pub(super) use layout::lay_out;
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One tab: a tooth-shaped patch without a name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tab {
    /// Colour of its middle third, CIELAB LCh under D65/2°; for the debrief only.
    pub shade: Lch,
    /// Colours of its thirds as displayed: cervical, body, incisal.
    pub zones: [Lab; 3],
    /// The same as linear sRGB.
    pub linear: [[f64; 3]; 3],
    /// The difference tab minus target tooth, thirds weighted as everywhere.
    pub difference: ZoneDifference,
}

/// A target tooth and tabs, with how far each is from it. The question's only sight is the mouth
/// that the target tooth stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct MatchTask {
    /// The target tooth.
    pub tooth: Tooth,
    /// Its thirds as displayed: cervical, body, incisal.
    pub target: [Lab; 3],
    /// The tabs in the order they are shown.
    pub tabs: Vec<Tab>,
    /// The tab that is exactly like the target, if one is.
    pub exact: Option<usize>,
}

/// What a learner can say of the tabs; indices into [`MatchTask::tabs`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MatchChoice {
    /// This tab is nearest.
    Tab(usize),
    /// The target lies between these two.
    Between(usize, usize),
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct MatchAnswer {
    /// What was chosen.
    pub choice: MatchChoice,
}

impl MatchAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl MatchTask {
    /// The difference of what was chosen minus the target; between two tabs lies their mean colour.
    ///
    /// # Errors
    /// [`AnswerError::Impossible`] when there is no such tab, or one tab is named twice.
    pub fn difference(&self, choice: MatchChoice) -> Result<ZoneDifference, AnswerError> {
        let tab = |i: usize| {
            self.tabs.get(i).ok_or_else(|| {
                AnswerError::Impossible(format!(
                    "there is no tab {} among {}",
                    i + 1,
                    self.tabs.len()
                ))
            })
        };
        match choice {
            MatchChoice::Tab(i) => Ok(tab(i)?.difference),
            MatchChoice::Between(a, b) if a == b => Err(AnswerError::Impossible(format!(
                "nothing lies between tab {} and itself",
                a + 1
            ))),
            MatchChoice::Between(a, b) => Ok(self.between(tab(a)?, tab(b)?)),
        }
    }

    fn between(&self, a: &Tab, b: &Tab) -> ZoneDifference {
        let middle = std::array::from_fn(|zone| {
            let (a, b) = (a.zones[zone], b.zones[zone]);
            Lab { l: 0.5 * (a.l + b.l), a: 0.5 * (a.a + b.a), b: 0.5 * (a.b + b.b) }
        });
        ZoneDifference::of_thirds(&self.target, &middle)
    }

    /// Everything that can be said of the tabs, with its difference to the target.
    fn choices(&self) -> Vec<(MatchChoice, ZoneDifference)> {
        let n = self.tabs.len();
        let single = (0..n).map(|i| (MatchChoice::Tab(i), self.tabs[i].difference));
        let double = (0..n)
            .flat_map(|a| (a + 1..n).map(move |b| (a, b)))
            .map(|(a, b)| (MatchChoice::Between(a, b), self.between(&self.tabs[a], &self.tabs[b])));
        single.chain(double).collect()
    }

    /// The best that can be said. Of equals a tab comes before two.
    #[must_use]
    pub fn best(&self) -> Option<(MatchChoice, ZoneDifference)> {
        self.choices().into_iter().min_by(|a, b| a.1.de00.total_cmp(&b.1.de00))
    }

    pub(super) fn mark(&self, answer: &MatchAnswer) -> Result<Mark, AnswerError> {
        let chosen = self.difference(answer.choice)?;
        let (best_choice, best) = self.best().unwrap_or((answer.choice, chosen));
        let regret = (chosen.de00 - best.de00).max(0.0);
        let sentences = self.sentences(answer.choice, &chosen, best_choice, &best);
        let truth = json!({
            "tooth": self.tooth.number(),
            "exact": self.exact,
            "best": best_choice,
            "tabs": self.tabs.iter().map(|tab| json!({
                "L": tab.shade.l, "C": tab.shade.c, "h": tab.shade.h,
                "de00": tab.difference.de00, "dl00": tab.difference.dl00,
                "dc00": tab.difference.dc00, "dh00": tab.difference.dh00,
            })).collect::<Vec<_>>(),
            "chosen": {
                "de00": chosen.de00, "dl00": chosen.dl00,
                "dc00": chosen.dc00, "dh00": chosen.dh00,
            },
        });
        Ok(Mark::new(Some(score_of_regret(regret)), Some(regret), sentences, truth))
    }

    fn sentences(
        &self,
        choice: MatchChoice,
        chosen: &ZoneDifference,
        best_choice: MatchChoice,
        best: &ZoneDifference,
    ) -> Vec<String> {
        let capital = |choice: MatchChoice| match choice {
            MatchChoice::Tab(i) => format!("Tab {}", i + 1),
            MatchChoice::Between(a, b) => format!("Between tabs {} and {}", a + 1, b + 1),
        };
        let mut said = vec![format!(
            "{} is {} from the target: {}.",
            capital(choice),
            de00(chosen.de00),
            in_words(chosen)
        )];
        if let Some(exact) = self.exact {
            if choice != MatchChoice::Tab(exact) {
                said.push(format!("Tab {} is exactly like the target.", exact + 1));
            }
        } else {
            said.push(if choice == best_choice {
                "No tab is exactly like the target; nothing here comes nearer.".to_owned()
            } else {
                format!(
                    "No tab is exactly like the target: {} comes nearest, {} away.",
                    capital(best_choice).to_lowercase(),
                    de00(best.de00)
                )
            });
        }
        let mut near: Vec<usize> =
            (0..self.tabs.len()).filter(|i| self.exact != Some(*i)).collect();
        let off = |i: usize| self.tabs[i].difference.de00;
        near.sort_by(|&a, &b| off(a).total_cmp(&off(b)));
        let list: Vec<String> = near
            .iter()
            .take(3)
            .map(|&i| {
                format!("tab {} ({}: {})", i + 1, de00(off(i)), in_words(&self.tabs[i].difference))
            })
            .collect();
        said.push(format!("The nearest others: {}.", list.join("; ")));
        said
    }

    /// Takes the tab that looks nearest, or the middle between it and another where that looks
    /// nearer still.
    pub(super) fn answer_of(&self, learner: &Learner, stream: &mut impl rand::Rng) -> MatchAnswer {
        let n = self.tabs.len();
        if learner.lapses(stream) {
            return MatchAnswer { choice: MatchChoice::Tab(stream.random_range(0..n.max(1))) };
        }
        let noise: Vec<f64> = (0..n).map(|_| learner.noise_de00 * deviate(stream)).collect();
        let single = |i: usize| learner.weighs(&self.tabs[i].difference) + noise[i];
        let Some(first) = (0..n).min_by(|&a, &b| single(a).total_cmp(&single(b))) else {
            return MatchAnswer { choice: MatchChoice::Tab(0) };
        };
        let pair = |(i, j): (usize, usize)| {
            let middle = self.between(&self.tabs[i], &self.tabs[j]);
            learner.weighs(&middle) + 0.5 * (noise[i] + noise[j])
        };
        let pairs = (0..n).flat_map(|i| (i + 1..n).map(move |j| (i, j)));
        let choice = match pairs.min_by(|&a, &b| pair(a).total_cmp(&pair(b))) {
            Some((i, j)) if pair((i, j)) < single(first) => MatchChoice::Between(i, j),
            _ => MatchChoice::Tab(first),
        };
        MatchAnswer { choice }
    }
}
