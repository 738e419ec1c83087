//! Why a level makes no round, and why an answer cannot be marked.

use crate::bake::BakeError;
use crate::material::LibraryError;
use crate::scene::ToothNumberError;
use thiserror::Error;

/// Why a level makes no round.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum ExerciseError {
    /// The level is of the timed exercise.
    #[error("level `{0}` has timed trials instead of questions")]
    Timed(String),
    /// A case cannot be baked.
    #[error("level `{level}`, question {number}: {source}")]
    Bake {
        /// Level id.
        level: String,
        /// 0-based question.
        number: u32,
        /// Why.
        source: BakeError,
    },
    /// A material is missing.
    #[error("level `{level}`: {source}")]
    Library {
        /// Level id.
        level: String,
        /// Why.
        source: LibraryError,
    },
    /// A listed tooth does not exist.
    #[error("level `{level}`: {source}")]
    Tooth {
        /// Level id.
        level: String,
        /// Why.
        source: ToothNumberError,
    },
    /// The level's ranges leave no case of the kind that is asked for.
    #[error("level `{level}`, question {number}: {why}")]
    NoCase {
        /// Level id.
        level: String,
        /// 0-based question.
        number: u32,
        /// What was looked for and not found, with values.
        why: String,
    },
}

/// Why an answer cannot be marked. The screens never hand in such an answer.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum AnswerError {
    /// The answer belongs to another exercise.
    #[error("an answer of {given} was given to a question of {asked}")]
    OtherExercise {
        /// The exercise asked.
        asked: &'static str,
        /// The exercise of the answer.
        given: &'static str,
    },
    /// The answer names something that is not there.
    #[error("{0}")]
    Impossible(String),
}
