//! Rounds of questions, whatever is asked.

use super::cases::Layout;
use super::errors::ExerciseError;
use super::question::Question;
use super::{bench, blend, bracket, ladder, margin, matching, try_in, two_lights, verdict};
use crate::level::format::{Exercise, Level};
use crate::material::Library;

/// A session of questions laid out before it starts.
#[derive(Debug, Clone, PartialEq)]
pub struct Round {
    /// The level's id.
    pub level_id: String,
    /// The level's title.
    pub title: String,
    /// What the level teaches.
    pub teaches: String,
    /// The exercise's name in results, such as `blend`.
    pub exercise: &'static str,
    /// The session's seed.
    pub seed: u64,
    /// The questions in order.
    pub questions: Vec<Question>,
}

/// Lays out a round of `level`: `questions` of them, or as many as the level says.
///
/// A pure function of its arguments; the library's caches do not change the result.
///
/// # Errors
/// [`ExerciseError`].
pub fn lay_out(
    level: &Level,
    library: &Library,
    seed: u64,
    questions: Option<u32>,
) -> Result<Round, ExerciseError> {
    let layout = Layout::new(level, library, seed, questions)?;
    let questions = match &level.exercise {
        Exercise::Glance { .. } => return Err(ExerciseError::Timed(level.id.clone())),
        Exercise::Blend { .. } => blend::lay_out(&layout),
        Exercise::Ladder { .. } => ladder::lay_out(&layout),
        Exercise::Match { .. } => matching::lay_out(&layout),
        Exercise::TwoLights { .. } => two_lights::lay_out(&layout),
        Exercise::Bench { .. } => bench::lay_out(&layout),
        Exercise::TryIn { .. } => try_in::lay_out(&layout),
        Exercise::Bracket { .. } => bracket::lay_out(&layout),
        Exercise::Margin { .. } => margin::lay_out(&layout),
        Exercise::Verdict { .. } => verdict::lay_out(&layout),
    }?;
    Ok(Round {
        level_id: level.id.clone(),
        title: level.title.clone(),
        teaches: level.teaches.clone(),
        exercise: level.exercise.name(),
        seed,
        questions,
    })
}
