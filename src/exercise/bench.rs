//! Bench: compose a restoration over a given prepared tooth and see it in place.

use super::cases::Layout;
use super::recipe::{Recipe, RecipeLimits};
use super::{AnswerError, ExerciseError, Learner, Mark, Question};
use crate::bake::{BakeError, ZoneDifference, bake};
use crate::material::Library;
use crate::scene::{Case, Preparation, Tooth};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// A recipe and what it comes to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reached {
    /// The recipe.
    pub recipe: Recipe,
    /// Difference to the twin, zone-weighted, from the baked maps.
    pub difference: ZoneDifference,
}

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
    /// The best of every class, translucency and cement that was searched, nearest first.
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

/// How chosen masking follows needed masking over a round.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compensation {
    /// Slope of chosen on needed masking: 1 is right, below 1 lets the prepared tooth through.
    pub slope: f64,
    /// Standard error of the slope; `None` with two answers.
    pub standard_error: Option<f64>,
    /// Answers it rests on.
    pub answers: usize,
}

impl BenchAnswer {
    pub(super) fn to_json(&self) -> Value {
        json!(self)
    }
}

impl BenchTask {
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
        let scene = bake(&self.case_with(recipe), library)?;
        let difference = scene.truth.map_or_else(Default::default, |truth| truth.difference);
        Ok(Reached { recipe: recipe.clone(), difference })
    }

    pub(super) fn mark(&self, _answer: &BenchAnswer) -> Result<Mark, AnswerError> {
        Err(AnswerError::Impossible("this exercise is not built yet".to_owned()))
    }

    pub(super) fn answer_of(
        &self,
        _learner: &Learner,
        _stream: &mut impl rand::Rng,
    ) -> BenchAnswer {
        BenchAnswer { attempts: Vec::new(), change_plan: true }
    }
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    Err(ExerciseError::NoCase {
        level: layout.level.id.clone(),
        number: 0,
        why: "this exercise is not built yet".to_owned(),
    })
}

/// How chosen masking follows needed masking over answered questions; `None` where too few differ in
/// what they need.
#[must_use]
pub fn compensation(_answered: &[(&BenchTask, &BenchAnswer)]) -> Option<Compensation> {
    None
}
