//! Verdict: Accept or remake?

mod layout;

use super::seeing::GREY_ZONE_DE00;
use super::{AnswerError, Learner, Mark, Wording};
use crate::bake::ZoneDifference;
use crate::colorimetry::{ACCEPTABILITY_DE00, PERCEPTIBILITY_DE00};
use crate::scene::Tooth;
use crate::words::de00;
pub(super) use layout::lay_out;
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One marked tooth, with its truth. The question's only sight is the smile; where the marked tooth
/// is natural, its case has no restoration.
#[derive(Debug, Clone, PartialEq)]
pub struct VerdictTask {
    /// The marked tooth.
    pub tooth: Tooth,
    /// Time the smile stays in view, s.
    pub exposure_s: f64,
    /// Whether the marked tooth is natural.
    pub is_natural: bool,
    /// Restored minus twin, from the baked maps; 0 where the marked tooth is natural.
    pub difference: ZoneDifference,
    /// Why the restoration looks as it does, in one sentence; `None` for a natural tooth.
    pub cause: Option<String>,
}

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct VerdictAnswer {
    /// Accept (true) or remake (false).
    pub accept: bool,
}

impl VerdictAnswer {
    pub(super) fn to_json(self) -> Value {
        json!(self)
    }
}

impl VerdictTask {
    /// Whether the difference is too near the limit of acceptability to be scored.
    #[must_use]
    pub fn is_borderline(&self) -> bool {
        (self.difference.de00 - ACCEPTABILITY_DE00).abs() <= GREY_ZONE_DE00
    }

    /// Whether the tooth should be accepted.
    #[must_use]
    pub fn is_acceptable(&self) -> bool {
        self.difference.de00 <= ACCEPTABILITY_DE00
    }

    /// `teeth` are those in view, in the order of the picture.
    pub(super) fn mark(
        &self,
        answer: &VerdictAnswer,
        wording: Wording,
        teeth: &[Tooth],
    ) -> Result<Mark, AnswerError> {
        let right = answer.accept == self.is_acceptable();
        let scored = !self.is_borderline();
        let truth = json!({
            "tooth": self.tooth.number(),
            "natural": self.is_natural,
            "de00": self.difference.de00,
            "dl00": self.difference.dl00,
            "dc00": self.difference.dc00,
            "dh00": self.difference.dh00,
            "acceptable": self.is_acceptable(),
            "borderline": self.is_borderline(),
        });
        let score = scored.then_some(if right { 100.0 } else { 0.0 });
        Ok(Mark::new(score, None, self.sentences(*answer, wording, teeth), truth))
    }

    fn sentences(&self, answer: VerdictAnswer, wording: Wording, teeth: &[Tooth]) -> Vec<String> {
        let said = if answer.accept { "accepted" } else { "sent back" };
        let tooth = wording.names.said(self.tooth, teeth);
        if self.is_natural {
            return vec![match (wording.to_room, answer.accept) {
                (true, _) => {
                    format!("The marked one, {tooth}, is natural: teeth of one mouth differ too.")
                }
                (false, true) => format!("You accepted {tooth}. It is natural."),
                (false, false) => format!(
                    "You sent back {tooth}, but it is natural: teeth of one mouth differ too."
                ),
            }];
        }
        let limit = de00(ACCEPTABILITY_DE00);
        let standing = if self.is_borderline() {
            format!("at the limit of {limit}, where either answer is fair")
        } else if self.is_acceptable() {
            format!("below the {limit} that half of all observers accept")
        } else {
            format!("above the {limit} that half of all observers accept")
        };
        let about = if wording.to_room {
            format!("The marked one, {tooth},")
        } else {
            format!("You {said} {tooth}: it")
        };
        let mut all = vec![format!(
            "{about} differs from its natural twin by {}, {standing}.",
            de00(self.difference.de00)
        )];
        // What cannot be noticed needs no cause.
        all.extend(self.cause.clone().filter(|_| self.difference.de00 >= PERCEPTIBILITY_DE00));
        all
    }

    pub(super) fn answer_of(
        &self,
        learner: &Learner,
        stream: &mut impl rand::Rng,
    ) -> VerdictAnswer {
        if learner.lapses(stream) {
            return VerdictAnswer { accept: stream.random() };
        }
        VerdictAnswer { accept: learner.sees(&self.difference, stream) <= ACCEPTABILITY_DE00 }
    }
}
