//! Bench: compose a restoration over a given prepared tooth and see it in place.

mod compensation;
mod layout;
mod words;

use super::at_hand::Offered;
use super::choosing::OneTooth;
use super::mark::{accepts, score_of_regret};
use super::reach::{self, Desk, Reached};
use super::recipe::Recipe;
use super::recipe_limits::RecipeLimits;
use super::recipe_part::{HEIGHTS, at, map_of};
use super::{AnswerError, Learner, Mark};
use crate::bake::{BakeError, ZoneDifference};
use crate::colorimetry::ACCEPTABILITY_DE00;
use crate::material::Library;
use crate::scene::{Case, Preparation, Thickness, Tooth};
use crate::words::count;
pub use compensation::{Compensation, compensation};
pub(super) use layout::lay_out;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// The question, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct BenchTask {
    /// The natural smile: what the restored tooth should look like.
    pub natural: Case,
    /// The tooth to restore.
    pub tooth: Tooth,
    /// How it was prepared.
    pub preparation: Preparation,
    /// Prepared-tooth colour id.
    pub prepared_tooth: String,
    /// Materials at hand and the space that was prepared.
    pub limits: RecipeLimits,
    /// The recipe to begin with; never near the best.
    pub start: Recipe,
    /// Attempts that count; `None` in free play, which has no score.
    pub attempts: Option<u8>,
    /// The best that can be reached, found by search; `None` in free play until it is looked for.
    pub best: Option<Reached>,
    /// The best of every class and translucency on every cement and a few refined, nearest first;
    /// estimated on a coarse face, within 0.15 ΔE00.
    pub reachable: Vec<Reached>,
    /// Difference of the tooth's own shade at medium translucency on clear cement in full
    /// thickness: what the prepared tooth does when nothing is done against it.
    pub uncompensated: ZoneDifference,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BenchAnswer {
    /// Attempts in order, with what they came to ([`BenchTask::reach`]); at least one unless the
    /// plan is to be changed.
    pub attempts: Vec<Reached>,
    /// "This cannot be met here: change the plan" (more reduction, whitening first, another shade).
    pub change_plan: bool,
}

impl BenchAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl BenchTask {
    /// A bench without a score: any smile, any prepared tooth, any space. `reduction` is what was
    /// removed at each height, room for ceramic and cement together, mm.
    ///
    /// # Errors
    /// [`BakeError`] when the tooth is not in view, a material is unknown or a colour out of reach.
    pub fn free(
        natural: Case,
        tooth: Tooth,
        preparation: Preparation,
        prepared_tooth: &str,
        reduction: Thickness,
        library: &Library,
    ) -> Result<Self, BakeError> {
        library.prepared_tooth_entry(prepared_tooth)?;
        let limits = RecipeLimits::new(library, preparation, reduction);
        let desk = Desk::new(&natural, tooth, preparation, prepared_tooth, library)?;
        let start = desk.uncompensated(&limits);
        let uncompensated = desk.difference(&start)?;
        Ok(Self {
            natural,
            tooth,
            preparation,
            prepared_tooth: prepared_tooth.to_owned(),
            limits,
            start,
            attempts: None,
            best: None,
            reachable: Vec::new(),
            uncompensated,
        })
    }

    /// Offers these ceramics and no other, and begins with a cement film of this thickness, mm, and
    /// ceramic in all the room that it leaves.
    pub(super) fn offer(
        &mut self,
        ceramics: &[Offered],
        film_mm: f64,
        library: &Library,
    ) -> Result<(), BakeError> {
        let limits = self.limits.clone().with_ceramics(library, ceramics).with_film(film_mm);
        self.hold(limits, film_mm, library)
    }

    /// Sets the limits, and begins with a cement film of this thickness, mm, and ceramic in all the
    /// room that it leaves.
    fn hold(
        &mut self,
        limits: RecipeLimits,
        film_mm: f64,
        library: &Library,
    ) -> Result<(), BakeError> {
        self.limits = limits;
        let (tooth, preparation) = (self.tooth, self.preparation);
        let desk = Desk::new(&self.natural, tooth, preparation, &self.prepared_tooth, library)?;
        self.start = desk.uncompensated(&self.limits.clone().filled(film_mm));
        self.uncompensated = desk.difference(&self.start)?;
        Ok(())
    }

    /// Looks for the best that can be reached, through all ceramics, cements, shades and the
    /// thicknesses that the limits allow; takes about a second.
    ///
    /// # Errors
    /// [`BakeError`] when a material is impossible.
    pub fn find_best(&mut self, library: &Library) -> Result<(), BakeError> {
        self.find_best_within(&self.limits.clone(), library)
    }

    /// Looks for the best that fills what was removed, on a cement film of this thickness, mm:
    /// ceramic is as thick as the reduction less the film, for nothing else could fill the rest.
    ///
    /// # Errors
    /// [`BakeError`] when a material is impossible.
    pub fn find_best_filling(&mut self, film_mm: f64, library: &Library) -> Result<(), BakeError> {
        self.find_best_within(&self.limits.clone().filled(film_mm), library)
    }

    fn find_best_within(
        &mut self,
        limits: &RecipeLimits,
        library: &Library,
    ) -> Result<(), BakeError> {
        let (tooth, preparation) = (self.tooth, self.preparation);
        let desk = Desk::new(&self.natural, tooth, preparation, &self.prepared_tooth, library)?;
        self.reachable = reach::search(&desk, limits)?;
        let Some(best) = self.reachable.first() else { return Ok(()) };
        // The search works on a coarse face; what is compared with attempts comes from maps.
        self.best = Some(self.reach(&best.recipe, library)?);
        Ok(())
    }

    /// The smile with a recipe in place.
    #[must_use]
    pub fn case_with(&self, recipe: &Recipe) -> Case {
        let mut case = self.natural.clone();
        let restoration = recipe.restoration(self.tooth, self.preparation, &self.prepared_tooth);
        case.restorations.retain(|r| r.tooth != self.tooth);
        case.restorations.insert(0, restoration);
        case
    }

    /// What a recipe comes to: the truth of its baked smile.
    ///
    /// # Errors
    /// [`BakeError`] when a material is unknown or a colour out of reach.
    pub fn reach(&self, recipe: &Recipe, library: &Library) -> Result<Reached, BakeError> {
        let restoration = recipe.restoration(self.tooth, self.preparation, &self.prepared_tooth);
        let difference =
            OneTooth::new(&self.natural, self.tooth, library)?.difference(&restoration)?;
        Ok(Reached { recipe: recipe.clone(), difference })
    }

    /// How much value has to be made up for, ΔL00: what the best that can be reached makes up for,
    /// or, while that is not known, all that the prepared tooth takes when nothing is done against
    /// it. Below 0 it gives too much.
    #[must_use]
    pub fn masking_needed(&self) -> f64 {
        self.best.as_ref().map_or(-self.uncompensated.dl00, |best| self.masking_of(best))
    }

    /// How much value a recipe makes up for, ΔL00: its value above the same tooth with nothing done
    /// against it.
    #[must_use]
    pub fn masking_of(&self, reached: &Reached) -> f64 {
        reached.difference.dl00 - self.uncompensated.dl00
    }

    /// Thickness of a recipe beyond that of the best, at margin, neck, middle and incisal third, mm.
    #[must_use]
    pub fn beyond_best_mm(&self, recipe: &Recipe) -> Option<Thickness> {
        let best = self.best.as_ref()?;
        let beyond = |part| at(&recipe.thickness, part) - at(&best.recipe.thickness, part);
        Some(map_of(beyond))
    }

    /// Whether how thick the ceramic is, and with it how much has to be prepared, is to be chosen.
    #[must_use]
    pub fn thickness_is_free(&self) -> bool {
        HEIGHTS.iter().any(|part| !self.limits.is_fixed(&self.start, *part))
    }

    /// Whether anything acceptable can be reached.
    #[must_use]
    pub fn can_be_met(&self) -> Option<bool> {
        Some(self.best.as_ref()?.difference.de00 <= ACCEPTABILITY_DE00)
    }

    pub(super) fn mark(&self, answer: &BenchAnswer) -> Result<Mark, AnswerError> {
        let most = self.attempts.map_or(usize::MAX, usize::from);
        if answer.attempts.len() > most {
            let (given, most) = (answer.attempts.len(), most);
            let given = count(given, "attempt was", "attempts were");
            let message = format!("{given} given where {most} count");
            return Err(AnswerError::Impossible(message));
        }
        if answer.attempts.is_empty() && !answer.change_plan {
            return Err(AnswerError::Impossible("no attempt was made".to_owned()));
        }
        let mut problems = answer.attempts.iter().flat_map(|r| self.limits.problems(&r.recipe));
        if let Some(problem) = problems.next() {
            return Err(AnswerError::Impossible(problem.to_string()));
        }
        let best = self.best.as_ref();
        let scored = best.filter(|_| self.attempts.is_some());
        let first = answer.attempts.first();
        let regret = first
            .zip(best)
            .map(|(first, best)| (first.difference.de00 - best.difference.de00).max(0.0));
        let can_be_met = self.can_be_met();
        let least = best.map_or(f64::INFINITY, |best| best.difference.de00);
        let is_acceptable = |r: &Reached| match can_be_met {
            Some(true) => accepts(r.difference.de00, least),
            _ => r.difference.de00 <= ACCEPTABILITY_DE00,
        };
        let to_acceptable = answer.attempts.iter().position(is_acceptable);
        // By the first attempt. Where the plan has to be changed, nothing else is right.
        let score = scored.map(|_| match (can_be_met, answer.change_plan) {
            (Some(true), false) => regret.map_or(0.0, score_of_regret),
            (Some(false), true) => 100.0,
            _ => 0.0,
        });
        let truth = json!({
            "best": self.best,
            "masking_needed": self.masking_needed(),
            "masking_chosen": first.map(|first| self.masking_of(first)),
            "attempts_to_acceptable": to_acceptable.map(|i| i + 1),
            "beyond_best_mm": first.and_then(|first| self.beyond_best_mm(&first.recipe)),
        });
        let sentences = self.sentences(answer, to_acceptable);
        Ok(Mark::new(score, regret, sentences, truth))
    }

    /// Chooses among what was searched: the nearest as this learner sees it, first try. With more
    /// attempts the same look is taken again.
    pub(super) fn answer_of(&self, learner: &Learner, stream: &mut impl rand::Rng) -> BenchAnswer {
        let attempts = self.attempts.unwrap_or(1).max(1);
        let mut answer = BenchAnswer { attempts: Vec::new(), change_plan: false };
        if self.reachable.is_empty() {
            answer.change_plan = true;
            return answer;
        }
        for _ in 0..attempts {
            let place = learner.nearest(self.reachable.iter().map(|r| &r.difference), stream);
            let mut reached = self.reachable[place].clone();
            if let Some(best) = self.best.as_ref().filter(|best| best.recipe == reached.recipe) {
                reached.difference = best.difference;
            }
            let seen = learner.seems(&reached.difference, stream);
            answer.attempts.push(reached);
            if seen <= ACCEPTABILITY_DE00 {
                return answer;
            }
        }
        answer.change_plan = true;
        answer
    }
}
