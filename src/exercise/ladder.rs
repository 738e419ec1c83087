//! Ladder: Which patch is lighter?
//!
//! Patches are screen colours without light or layers: value on a drawn ladder, chroma and hue
//! spread over the level's ranges in an order whose rank correlation with value is at most 0.6,
//! exact ties in 15 % of questions. [`ValueOrder`](crate::psychophysics::ValueOrder) fits
//! Thurstone's noise, chroma intrusion and side bias to the pairs.

mod layout;

use super::seeing::{deviate, shuffle};
use super::{AnswerError, Learner, Mark};
use crate::colorimetry::{Difference, Lab, Lch, ciede2000};
use crate::psychophysics::OrderedPair;
use crate::words::{Part, count_of, lightness_compared};
pub(super) use layout::lay_out;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One plain patch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// Its colour as displayed, CIELAB relative to the display's white.
    pub colour: Lab,
    /// The same as linear sRGB, 0..1.
    pub linear: [f64; 3],
}

/// Patches to be ordered by value, with their true colours.
#[derive(Debug, Clone, PartialEq)]
pub struct LadderTask {
    /// The patches in the order they are first shown, left to right.
    pub patches: Vec<Patch>,
}

/// The order a learner gave.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct LadderAnswer {
    /// Indices into [`LadderTask::patches`], the lightest first; every patch once.
    pub order: Vec<usize>,
}

impl LadderAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl LadderTask {
    /// The signed difference second minus first.
    fn between(&self, first: usize, second: usize) -> Difference {
        ciede2000(self.patches[first].colour, self.patches[second].colour)
    }

    /// The true order, lightest first; ties in the order shown.
    #[must_use]
    pub fn true_order(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.patches.len()).collect();
        order.sort_by(|&a, &b| self.patches[b].colour.l.total_cmp(&self.patches[a].colour.l));
        order
    }

    /// Pairs with exactly the same value.
    #[must_use]
    pub fn ties(&self) -> Vec<(usize, usize)> {
        let l = |i: usize| self.patches[i].colour.l;
        #[expect(clippy::float_cmp, reason = "ties are exact")]
        pairs(self.patches.len()).filter(|&(a, b)| l(a) == l(b)).collect()
    }

    /// The share of all value differences that an order loses, 0 (none) to 1 (upside down).
    fn lost(&self, order: &[usize]) -> f64 {
        let (mut all, mut inverted) = (0.0, 0.0);
        for (above, below) in pairs(order.len()) {
            let step = self.between(order[below], order[above]).dl00;
            all += step.abs();
            inverted += (-step).max(0.0);
        }
        if all > 0.0 { inverted / all } else { 0.0 }
    }

    /// The pairs of an answer, for [`crate::psychophysics::ValueOrder`].
    ///
    /// # Errors
    /// [`AnswerError::Impossible`] when the answer is no order of the patches.
    pub fn pairs(&self, answer: &LadderAnswer) -> Result<Vec<OrderedPair>, AnswerError> {
        self.check(answer)?;
        let one = |(above, below): (usize, usize)| {
            let (above, below) = (answer.order[above], answer.order[below]);
            let Difference { dl00, dc00, .. } = self.between(below, above);
            OrderedPair { dl00, dc00, side: if above < below { 1.0 } else { -1.0 } }
        };
        Ok(pairs(answer.order.len()).map(one).collect())
    }

    fn check(&self, answer: &LadderAnswer) -> Result<(), AnswerError> {
        let mut sorted = answer.order.clone();
        sorted.sort_unstable();
        let patches = self.patches.len();
        if sorted == (0..patches).collect::<Vec<_>>() {
            return Ok(());
        }
        let order: Vec<String> = answer.order.iter().map(|i| (i + 1).to_string()).collect();
        Err(AnswerError::Impossible(format!(
            "the order {} does not name each of the {patches} patches once",
            order.join(", ")
        )))
    }

    pub(super) fn mark(&self, answer: &LadderAnswer) -> Result<Mark, AnswerError> {
        self.check(answer)?;
        let lost = self.lost(&answer.order);
        let truth = json!({
            "patches": self.patches.iter().map(|patch| {
                let Lch { l, c, h } = Lch::from(patch.colour);
                json!({ "L": l, "C": c, "h": h })
            }).collect::<Vec<_>>(),
            "order": self.true_order(),
            "ties": self.ties(),
            "lost": lost,
        });
        let sentences = self.sentences(&answer.order, lost);
        Ok(Mark::new(Some(100.0 * (1.0 - lost)), None, sentences, truth))
    }

    /// Patches are called by their place in the order given, 1 for the lightest, as the debrief
    /// numbers them.
    fn sentences(&self, order: &[usize], lost: f64) -> Vec<String> {
        let mut said = Vec::new();
        let inverted: Vec<(usize, usize, Difference)> = pairs(order.len())
            .map(|(above, below)| (above, below, self.between(order[below], order[above])))
            .filter(|(_, _, step)| step.dl00 < 0.0)
            .collect();
        let widest = inverted.iter().min_by(|a, b| a.2.dl00.total_cmp(&b.2.dl00));
        if let Some((above, below, step)) = widest {
            let all = pairs(order.len()).count();
            let verb = if inverted.len() == 1 { "stands" } else { "stand" };
            said.push(format!(
                "{} {verb} the wrong way round; that is {} of the steps in value.",
                count_of(inverted.len(), all, "pair", "pairs"),
                share(lost)
            ));
            let lightness = |place: usize| self.patches[order[place]].colour.l;
            let other = format!("patch {}", below + 1);
            said.push(format!(
                "The widest: patch {} is {}, but was put above it.",
                above + 1,
                lightness_compared(lightness(*above) - lightness(*below), &other)
            ));
            said.push(misleading(step));
        } else {
            said.push("Every pair stands the right way round.".to_owned());
        }
        let place = |patch: usize| 1 + order.iter().position(|p| *p == patch).unwrap_or(patch);
        for (a, b) in self.ties() {
            let (first, second) = (place(a).min(place(b)), place(a).max(place(b)));
            said.push(format!(
                "Patches {first} and {second} have the same value: either order is right."
            ));
        }
        said
    }

    /// Sees every patch's value through noise; where value weighs below 1, the rest of its weight
    /// goes to chroma.
    pub(super) fn answer_of(&self, learner: &Learner, stream: &mut impl rand::Rng) -> LadderAnswer {
        let mut order: Vec<usize> = (0..self.patches.len()).collect();
        if learner.lapses(stream) {
            shuffle(&mut order, stream);
            return LadderAnswer { order };
        }
        let seen: Vec<f64> = order
            .iter()
            .map(|&i| {
                let from_first = self.between(0, i);
                let intrusion = (1.0 - learner.value_weight) * from_first.dc00;
                from_first.dl00 + intrusion + learner.noise_de00 * deviate(stream)
            })
            .collect();
        order.sort_by(|&a, &b| seen[b].total_cmp(&seen[a]));
        LadderAnswer { order }
    }
}

/// What may have made a darker patch look lighter. Chroma or hue is named where it differs by at least
/// as much as value does; less would have to weigh more than value itself.
fn misleading(step: &Difference) -> String {
    let value = step.dl00.abs();
    if step.dc00.abs() >= value {
        format!(
            "It is also {}: strong colour is not light, and weak colour is not dark.",
            Part::Chroma.differs(step.dc00)
        )
    } else if step.dh00.abs() >= value {
        format!("It is also {}: hue is not value.", Part::Hue.differs(step.dh00))
    } else {
        "Neither chroma nor hue differs enough to account for that.".to_owned()
    }
}

/// A share of a whole in per cent; what is little, but not nothing, does not read 0.
fn share(part: f64) -> String {
    if part < 0.01 { "less than 1 %".to_owned() } else { format!("{:.0} %", 100.0 * part) }
}

/// Index pairs, the earlier first.
fn pairs(n: usize) -> impl Iterator<Item = (usize, usize)> {
    (0..n).flat_map(move |a| (a + 1..n).map(move |b| (a, b)))
}
