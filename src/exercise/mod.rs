//! Exercises with questions instead of timed trials: what is shown, what is asked, and how an answer
//! is marked.
//!
//! A [`Round`] is laid out from a level before it starts, like a plan of trials. Every [`Question`]
//! holds the smiles that can be looked at and the truth, computed through the layered model; it
//! marks answers and never draws, waits or saves. Screens show sights and hand answers in.

mod bench;
mod blend;
mod bracket;
mod cases;
mod ladder;
mod margin;
mod matching;
mod round;
mod try_in;
mod two_lights;
mod verdict;

pub use bench::{BenchAnswer, BenchTask};
pub use blend::{BlendAnswer, BlendTask};
pub use bracket::{BracketAnswer, BracketTask};
pub use ladder::{LadderAnswer, LadderTask};
pub use margin::{MarginAnswer, MarginTask};
pub use matching::{MatchAnswer, MatchTask};
pub use round::{
    Answer, AnswerError, ExerciseError, Learner, Mark, Question, Round, Sight, Task, lay_out,
};
pub use try_in::{TryInAnswer, TryInTask};
pub use two_lights::{TwoLightsAnswer, TwoLightsTask};
pub use verdict::{VerdictAnswer, VerdictTask};
