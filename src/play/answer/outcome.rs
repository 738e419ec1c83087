//! What came of an act.

use crate::exercise::Answer;

/// What an act led to.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// Nothing further.
    Nothing,
    /// Something is missing: what, in words.
    Missing(&'static str),
    /// The answer.
    Answer(Answer),
    /// A recipe is to be tried for good, as an attempt.
    Attempt,
    /// The best that can be reached is to be looked for.
    FindBest,
}
