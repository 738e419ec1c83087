//! Bench: compose a restoration over a given prepared tooth and see it in place.

use super::at_hand::Offered;
use super::cases::Layout;
use super::choosing::{OneTooth, kind_by_share};
use super::mark::{accepts, score_of_regret};
use super::reach::{self, Desk};
use super::recipe::Recipe;
use super::recipe_limits::RecipeLimits;
use super::recipe_part::{HEIGHTS, RecipePart, at, map_of};
use super::{AnswerError, ExerciseError, Learner, Mark, Question, Sight, Task};
use crate::bake::{BakeError, ZoneDifference};
use crate::colorimetry::ACCEPTABILITY_DE00;
use crate::level::format::{BenchThickness, Exercise};
use crate::material::Library;
use crate::random::Purpose;
use crate::scene::{Case, Preparation, Thickness, Tooth};
use crate::words::{Part, count, de00, signed};
use rand::RngExt;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

/// One question in this many cannot be met: about 15 %.
const UNREACHABLE_ONE_IN: u32 = 7;
/// The best of a question that can be met is at most this, and of one that cannot at least that
/// much more than acceptable, ΔE00; what lies between would hang on the model's own error.
const CLEAR_DE00: f64 = 0.3;
/// Draws until a question is of the wanted kind.
const DRAWS: u32 = 12;

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

    fn sentences(&self, answer: &BenchAnswer, to_acceptable: Option<usize>) -> Vec<String> {
        let mut sentences = Vec::new();
        if let Some(first) = answer.attempts.first() {
            let d = &first.difference;
            let against = self.best.as_ref().map_or_else(String::new, |best| {
                format!("; the best that can be reached here is {}", de00(best.difference.de00))
            });
            sentences.push(format!(
                "Your first attempt differs by {}, {}{against}.",
                de00(d.de00),
                Part::Value.differs(d.dl00)
            ));
        }
        let came_to = match (self.can_be_met(), answer.change_plan, to_acceptable) {
            (Some(false), true, _) => "Nothing at hand is acceptable over this prepared tooth in this \
                                       space: changing the plan is right."
                .to_owned(),
            (Some(false), false, _) => "Nothing at hand is acceptable here: more space, whitening the \
                                        prepared tooth first or a darker aim would have to be agreed on."
                .to_owned(),
            (Some(true), true, _) => "This could have been met as planned.".to_owned(),
            (_, _, Some(0)) => "It is acceptable at once.".to_owned(),
            (_, _, Some(n)) => format!("Attempt {} is acceptable.", n + 1),
            (_, _, None) => "No attempt is acceptable.".to_owned(),
        };
        // Whether the plan holds comes first: the attempts count only where it does.
        let plan_is_the_matter = answer.change_plan || self.can_be_met() == Some(false);
        sentences.insert(if plan_is_the_matter { 0 } else { sentences.len() }, came_to);
        if let Some(best) = &self.best {
            sentences.push(format!("What would have worked: {}.", self.in_words(&best.recipe)));
            if self.thickness_is_free() {
                sentences.push(to_be_prepared(&best.recipe));
            }
        }
        let (Some(first), Some(_)) = (answer.attempts.first(), &self.best) else {
            return sentences;
        };
        let (needed, chosen) = (self.masking_needed(), self.masking_of(first));
        if needed.abs() >= 0.3 {
            sentences.push(format!(
                "In the tooth's own shade it would be {}; the best makes up for {} ΔL00, your recipe for {}.",
                Part::Value.compared(self.uncompensated.dl00, "the tooth"),
                signed(needed),
                signed(chosen)
            ));
        }
        if let Some(beyond) = self.beyond_best_mm(&first.recipe) {
            let thicker: Vec<String> = HEIGHTS
                .iter()
                .filter(|part| at(&beyond, **part) > 0.025)
                .map(|part| format!("{:.2} mm at the {}", at(&beyond, *part), part.name()))
                .collect();
            if !thicker.is_empty() {
                let where_ = thicker.join(", ");
                sentences.push(format!(
                    "It is thicker than needed: {where_}. So much more tooth would be prepared."
                ));
            }
        }
        sentences
    }

    /// A recipe in one line of plain words.
    #[must_use]
    pub fn in_words(&self, recipe: &Recipe) -> String {
        let ceramic = &recipe.ceramic;
        let class = self.limits.classes.iter().find(|class| class.id == ceramic.class);
        let class = class.map_or(ceramic.class.as_str(), |class| class.name.as_str());
        let block = if ceramic.graded {
            "graded block".to_owned()
        } else {
            format!("{} translucency", super::translucency_name(ceramic.translucency))
        };
        let cement = self.limits.cements.iter().find(|cement| cement.id == recipe.cement);
        let cement = cement.map_or(recipe.cement.as_str(), |cement| cement.name.as_str());
        format!(
            "{class}, {block}, shade {}, {:.2} mm in the middle, {cement} cement",
            ceramic.shade.name(),
            recipe.thickness.body_mm
        )
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

/// How much tooth a recipe needs removed: ceramic and cement together.
fn to_be_prepared(recipe: &Recipe) -> String {
    let heights: Vec<String> = HEIGHTS
        .iter()
        .map(|part| {
            let removed_mm = at(&recipe.thickness, *part) + recipe.cement_film_mm;
            format!("{removed_mm:.2} mm at the {}", part.name())
        })
        .collect();
    format!("With its cement that needs a preparation of {}.", heights.join(", "))
}

/// How chosen masking follows needed masking over answered questions: least squares with an
/// intercept on first attempts.
///
/// Masking is value made up for, ΔL00, against the tooth's own shade at medium translucency on clear
/// cement in full thickness: needed is what the best makes up for, chosen what the first attempt
/// does. `None` where fewer than two questions differ
/// in what they need.
#[must_use]
pub fn compensation(answered: &[(&BenchTask, &BenchAnswer)]) -> Option<Compensation> {
    let points: Vec<(f64, f64)> = answered
        .iter()
        .filter_map(|(task, answer)| {
            let first = answer.attempts.first()?;
            Some((task.masking_needed(), task.masking_of(first)))
        })
        .collect();
    let n = points.len() as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / n;
    let (x, y) = (mean(|p| p.0), mean(|p| p.1));
    let spread: f64 = points.iter().map(|p| (p.0 - x).powi(2)).sum();
    if points.len() < 2 || spread < 1e-6 {
        return None;
    }
    let slope = points.iter().map(|p| (p.0 - x) * (p.1 - y)).sum::<f64>() / spread;
    let rest: f64 = points.iter().map(|p| (p.1 - y - slope * (p.0 - x)).powi(2)).sum();
    let standard_error = (points.len() > 2).then(|| (rest / (n - 2.0) / spread).sqrt());
    Some(Compensation { slope, standard_error, answers: points.len() })
}

pub(super) fn lay_out(layout: &Layout<'_>) -> Result<Vec<Question>, ExerciseError> {
    let Exercise::Bench { attempts, thickness, .. } = layout.level.exercise else {
        return Ok(Vec::new());
    };
    (0..layout.questions).map(|number| question(layout, number, attempts, thickness)).collect()
}

/// Whether a question is one of those that cannot be met: one in every run of so many, at a place
/// of its own.
fn unreachable(layout: &Layout<'_>, number: u32) -> bool {
    let run = number / UNREACHABLE_ONE_IN;
    let mut stream = layout.stream(Purpose::Schedule, run);
    number % UNREACHABLE_ONE_IN == stream.random_range(0..UNREACHABLE_ONE_IN)
}

fn question(
    layout: &Layout<'_>,
    number: u32,
    attempts: u8,
    thickness: BenchThickness,
) -> Result<Question, ExerciseError> {
    if layout.level.is_stated() {
        return stated(layout, number, attempts);
    }
    let wrap = |source| ExerciseError::Bake { level: layout.level.id.clone(), number, source };
    let library = layout.library;
    let hopeless = unreachable(layout, number);
    let natural = layout.natural_case(number)?;
    let mut stream = layout.stream(Purpose::Restoration, number);
    let darkest = || {
        let prepared = library.tissues().prepared_teeth.iter();
        prepared.min_by(|a, b| a.colour.l.total_cmp(&b.colour.l)).map(|p| p.id.clone())
    };
    let mut last: Option<BenchTask> = None;
    for draw in 0..DRAWS {
        let (tooth, kind) = kind_by_share(layout, number, &mut stream)?;
        let film = kind.cement_film_mm;
        // A question that cannot be met has the darkest prepared tooth and ever less space.
        let (prepared, scale) = if hopeless {
            let scale = 0.7 - 0.05 * f64::from(draw);
            (darkest().unwrap_or_else(|| kind.prepared_tooth.clone()), scale)
        } else {
            // Ever more space until it can be met.
            (kind.prepared_tooth.clone(), 1.0 + 0.08 * f64::from(draw))
        };
        let reduction = map_of(|part| at(&kind.thickness_mm, part) * scale + film);
        let mut task = BenchTask::free(
            natural.clone(),
            tooth,
            kind.preparation,
            &prepared,
            reduction,
            library,
        )
        .map_err(wrap)?;
        // What was removed has to be filled; only where thickness is asked, less may be removed.
        let limits = task.limits.clone();
        let limits = match thickness {
            BenchThickness::Prepared => limits.filled(film),
            BenchThickness::Free => limits.on_film(film),
        };
        task.hold(limits, film, library).map_err(wrap)?;
        task.attempts = Some(attempts);
        task.find_best(library).map_err(wrap)?;
        let Some(best) = &task.best else { continue };
        let off = best.difference.de00 - ACCEPTABILITY_DE00;
        let clear = if hopeless { off >= CLEAR_DE00 } else { off <= -CLEAR_DE00 };
        task.start = start(&task, &mut stream);
        last = Some(task);
        if clear {
            break;
        }
    }
    let Some(task) = last else {
        let why = "no recipe was found at all".to_owned();
        return Err(ExerciseError::NoCase { level: layout.level.id.clone(), number, why });
    };
    Ok(asked(layout, number, task))
}

/// A case as it was measured: its own prepared tooth and room whatever comes of it, and the
/// ceramics that it offers. That nothing at hand is acceptable is an answer, too.
fn stated(layout: &Layout<'_>, number: u32, attempts: u8) -> Result<Question, ExerciseError> {
    let wrap = |source| ExerciseError::Bake { level: layout.level.id.clone(), number, source };
    let library = layout.library;
    let natural = layout.natural_case(number)?;
    let mut stream = layout.stream(Purpose::Restoration, number);
    let (tooth, kind) = kind_by_share(layout, number, &mut stream)?;
    let film = kind.cement_film_mm;
    let reduction = map_of(|part| at(&kind.thickness_mm, part) + film);
    let prepared = &kind.prepared_tooth;
    let mut task = BenchTask::free(natural, tooth, kind.preparation, prepared, reduction, library)
        .map_err(wrap)?;
    let alike = layout.kinds_for(tooth).into_iter().filter(|other| {
        let room = (other.thickness_mm, other.cement_film_mm, other.preparation);
        other.prepared_tooth == *prepared
            && room == (kind.thickness_mm, kind.cement_film_mm, kind.preparation)
    });
    let offered: Vec<Offered> = alike.map(Offered::from).collect();
    task.offer(&offered, film, library).map_err(wrap)?;
    // In a level nothing else can be tried either, or an attempt could be better than the best.
    task.limits = task.limits.filled(film);
    task.attempts = Some(attempts);
    task.find_best(library).map_err(wrap)?;
    if task.best.is_none() {
        let why = "none of its ceramics can be made".to_owned();
        return Err(ExerciseError::NoCase { level: layout.level.id.clone(), number, why });
    }
    task.start = start(&task, &mut stream);
    task.start.cement.clone_from(&kind.cement);
    Ok(asked(layout, number, task))
}

fn asked(layout: &Layout<'_>, number: u32, task: BenchTask) -> Question {
    let natural = Sight { name: "Natural".to_owned(), case: task.natural.clone() };
    let start = Sight { name: "As it stands".to_owned(), case: task.case_with(&task.start) };
    Question {
        number,
        seed_key: layout.seed_key(number),
        catch: task.can_be_met() == Some(false),
        sights: vec![start, natural],
        task: Task::Bench(task),
    }
}

/// A recipe to begin with: two to four value steps off the best, in another translucency.
fn start(task: &BenchTask, stream: &mut impl rand::Rng) -> Recipe {
    let Some(best) = &task.best else { return task.start.clone() };
    let steps = 2 * stream.random_range(2..=4);
    let up = stream.random::<bool>();
    let towards = |steps: i32| best.recipe.stepped(RecipePart::Lightness, steps, &task.limits);
    let mut recipe = towards(if up { steps } else { -steps });
    // At the end of the shades there may be no room that way.
    if (recipe.ceramic.shade.l - best.recipe.ceramic.shade.l).abs() < 3.0 {
        recipe = towards(if up { -steps } else { steps });
    }
    let class = stream.random_range(0..task.limits.classes.len().max(1));
    if let Some(class) = task.limits.classes.get(class) {
        recipe.ceramic.class.clone_from(&class.id);
        recipe.ceramic.graded = false;
    }
    recipe.held(&task.limits)
}
