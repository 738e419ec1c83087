//! Which smiles can be looked at, which is in view, and which should be in preparation.

use super::Exercising;
use crate::exercise::{Sight, Stage, Task};
use crate::play::answer::{
    Draft, asked_sights, debrief_sights, kept_sights, next_sights, other_light, teeth_of,
};
use crate::play::picture::PreparedScene;
use crate::play::smiles::Preparation;
use crate::scene::Tooth;

impl Exercising {
    /// The smiles that can be looked at now, in order.
    #[must_use]
    pub fn sights(&self) -> Vec<Sight> {
        let Some(question) = self.sitting.question() else { return Vec::new() };
        match self.sitting.last() {
            Some((answer, _)) => debrief_sights(question, answer),
            None => asked_sights(question, self.draft.as_ref()),
        }
    }

    /// Which of them is in view.
    #[must_use]
    pub fn in_view(&self) -> usize {
        match self.sitting.stage() {
            Stage::Marked => self.reviewed,
            _ => self.draft.as_ref().map_or(0, Draft::current),
        }
    }

    /// The smile in view, once it is ready; while a recipe changes, the latest that was.
    #[must_use]
    pub fn shown<'a>(&'a self, preparation: &'a Preparation) -> Option<&'a PreparedScene> {
        let sights = self.sights();
        let latest = sights.get(self.in_view()).and_then(|sight| preparation.latest(&sight.case));
        latest.or_else(|| self.last_shown.as_ref().filter(|_| self.is_composing()))
    }

    /// Whether the smile in view is the one asked for, and not an earlier one.
    #[must_use]
    pub fn is_up_to_date(&self, preparation: &Preparation) -> bool {
        let sights = self.sights();
        sights.get(self.in_view()).is_none_or(|sight| preparation.ready(&sight.case).is_some())
    }

    /// Whether a restoration is being composed.
    #[must_use]
    pub fn is_composing(&self) -> bool {
        self.sitting.stage() == Stage::Asked && matches!(self.draft, Some(Draft::Bench(_)))
    }

    /// Whether the smile may be looked at: a brief view ends by itself.
    #[must_use]
    pub fn may_look(&self) -> bool {
        match (self.sitting.stage(), self.sitting.question().map(|q| &q.task)) {
            (Stage::Asked, Some(Task::Verdict(task))) => self.sitting.asked_s() < task.exposure_s,
            _ => self.mode.choosing().is_none_or(|choosing| !choosing.is_gap()),
        }
    }

    /// The teeth that the question is about.
    #[must_use]
    pub fn teeth(&self) -> Vec<Tooth> {
        self.sitting.question().map_or_else(Vec::new, |question| teeth_of(&question.task))
    }

    /// All smiles that should be in preparation, the most urgent first.
    pub(super) fn wanted(&self) -> Vec<Sight> {
        let mut wanted = self.sights();
        let Some(question) = self.sitting.question() else { return Vec::new() };
        if self.sitting.last().is_some() {
            if let Some(next) = self.sitting.next_question() {
                wanted.extend(asked_sights(next, Some(&Draft::new(next))));
            }
            return wanted;
        }
        wanted.extend(next_sights(question, self.draft.as_ref()));
        wanted
    }

    /// The recipe that a bench begins with, in the light that it can be switched to. Once it is there,
    /// another recipe in that light takes one tooth and one picture, as in the first.
    pub(super) fn in_other_light(&self) -> Option<Sight> {
        let Some(Task::Bench(task)) = self.sitting.question().map(|question| &question.task) else {
            return None;
        };
        let mut case = task.case_with(&task.start);
        case.illuminant = other_light(case.illuminant);
        self.is_composing().then(|| Sight { name: String::new(), case })
    }

    /// Whether every smile of the step is ready.
    pub(super) fn is_ready(&self, preparation: &Preparation) -> bool {
        self.sitting.question().is_some()
            && self.sights().iter().all(|sight| preparation.ready(&sight.case).is_some())
    }

    /// The smiles that chart and layers are made of: all of the debrief, and in free play the one
    /// in view with the kept recipes.
    pub(super) fn studied(&self) -> Vec<Sight> {
        let mut sights = self.sights();
        if let (Some(question), Some(_)) = (self.sitting.question(), self.mode.free()) {
            let mut kept = kept_sights(question, self.draft.as_ref());
            kept.retain(|kept| sights.iter().all(|sight| sight.case != kept.case));
            sights.extend(kept);
        }
        sights
    }
}
