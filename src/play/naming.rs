//! What teeth are called where a smile is explained, and what is said of an answer.

use crate::level::course_format::ToothNames;
use crate::play::session::Session;
use crate::scene::Tooth;
use crate::trial::{TrialOutcome, Verdict};

/// What teeth are called here, and whose answer is shown.
#[derive(Debug, Clone, Copy)]
pub struct Naming<'a> {
    /// How teeth are named.
    pub names: ToothNames,
    /// In the order of the picture.
    pub teeth: &'a [Tooth],
    /// Whether a room answers.
    pub is_room: bool,
}

impl<'a> Naming<'a> {
    /// In a session.
    #[must_use]
    pub fn of(session: &'a Session) -> Self {
        Self {
            names: session.names(),
            teeth: &session.plan().teeth,
            is_room: session.mode().is_room(),
        }
    }

    /// What a tooth is called.
    #[must_use]
    pub fn name(self, tooth: Tooth) -> String {
        self.names.of(tooth, self.teeth)
    }

    /// A room answers by what it chose most often.
    #[must_use]
    pub const fn answer(self) -> &'static str {
        if self.is_room { "chosen most" } else { "your answer" }
    }
}

/// What was answered and what it was.
#[must_use]
pub fn verdict_in_words(outcome: &TrialOutcome, naming: Naming<'_>) -> String {
    let restored = outcome.restored.map(|tooth| naming.names.explained(tooth, naming.teeth));
    match (outcome.verdict, restored) {
        (Verdict::Found, Some(tooth)) => format!("Found: {tooth}"),
        (Verdict::WrongTooth(answer), Some(tooth)) => {
            format!("You chose {}. The restoration is {tooth}", naming.name(answer))
        }
        (Verdict::Missed, Some(tooth)) => {
            format!("You answered none. The restoration is {tooth}")
        }
        (Verdict::TimedOut, Some(tooth)) => {
            format!("No answer in time. The restoration is {tooth}")
        }
        (Verdict::FalseAlarm(answer), _) => {
            let answer = naming.name(answer);
            format!("You chose {answer}, a natural tooth. This smile has no restoration")
        }
        (Verdict::CorrectlyNone, _) => "Right: this smile has no restoration".to_owned(),
        (_, None) => "No answer in time. This smile has no restoration".to_owned(),
    }
}
