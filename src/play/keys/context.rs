//! What is on screen, as finely as the meaning of keys goes by it.

use crate::play::answer::{Draft, LightStep};

/// What the keyboard means at the moment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeyContext {
    /// Menus: the focused control handles keys; Escape goes back.
    Menu,
    /// Grey adaptation.
    Adaptation,
    /// The answer row is open.
    Response,
    /// A smile that stays until it is searched.
    Searching,
    /// The debrief.
    Debrief,
    /// A rest, after an answer of which nothing is told.
    Rest,
    /// A message about a failure lies over the screen.
    Problem,
    /// Instructions before a round of questions.
    Instructions,
    /// A question is asked.
    Question(Asked),
    /// Free play on the bench.
    FreePlay,
    /// A bench is set up.
    Setup,
    /// The debrief of a question.
    QuestionDebrief,
    /// The pause menu.
    Paused,
    /// Parts of a trial without controls.
    Watching,
    /// Who sits where.
    SeatForm,
    /// The steps of a course.
    CourseStep,
    /// Handing in: the folder's name.
    HandIn,
    /// A lecture between its questions.
    RoomHub,
    /// A lecture that is over.
    RoomOver,
    /// A room is asked about a smile.
    RoomAsked,
    /// A room's question about a smile is closed.
    RoomClosed,
    /// A room is asked about options.
    RoomQuestion,
    /// A room's question about options is closed.
    RoomClosedQuestion,
    /// The room sees the solution of a smile.
    RoomRevealed,
    /// The room sees the solution of a question about options.
    RoomRevealedQuestion,
}

/// What a question asks for next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// Options in the mouth: the best, all that pass, or none.
    Blend,
    /// The order of patches.
    Ladder,
    /// The nearest tab.
    Match,
    /// The best option in one light.
    LightChoice,
    /// Whether it will be kept in the other light.
    LightPrediction,
    /// A recipe.
    Bench,
    /// What the next cement will do.
    CementEffect,
    /// The cement to seat with.
    Seating,
    /// Two options to mill.
    Milling,
    /// Where the teeth lie between the two.
    Placing,
    /// The onlay whose margin disappears.
    Margin,
    /// To accept, or to have it made again.
    Verdict,
}

impl Asked {
    /// All of them.
    pub const ALL: [Self; 12] = [
        Self::Blend,
        Self::Ladder,
        Self::Match,
        Self::LightChoice,
        Self::LightPrediction,
        Self::Bench,
        Self::CementEffect,
        Self::Seating,
        Self::Milling,
        Self::Placing,
        Self::Margin,
        Self::Verdict,
    ];

    /// What an answer under way is asked for.
    #[must_use]
    pub const fn of(draft: &Draft) -> Self {
        match draft {
            Draft::Blend(_) => Self::Blend,
            Draft::Ladder(_) => Self::Ladder,
            Draft::Match(_) => Self::Match,
            Draft::TwoLights(draft) => match draft.step {
                LightStep::First | LightStep::Second => Self::LightChoice,
                LightStep::Predict => Self::LightPrediction,
            },
            Draft::Bench(_) => Self::Bench,
            Draft::TryIn(draft) if draft.may_see() => Self::Seating,
            Draft::TryIn(_) => Self::CementEffect,
            Draft::Bracket(draft) if draft.placing => Self::Placing,
            Draft::Bracket(_) => Self::Milling,
            Draft::Margin(_) => Self::Margin,
            Draft::Verdict => Self::Verdict,
        }
    }
}

impl KeyContext {
    /// All of them, each step of a question by itself.
    pub fn all() -> impl Iterator<Item = Self> {
        let others = [
            Self::Menu,
            Self::Adaptation,
            Self::Response,
            Self::Searching,
            Self::Debrief,
            Self::Rest,
            Self::Problem,
            Self::Instructions,
            Self::FreePlay,
            Self::Setup,
            Self::QuestionDebrief,
            Self::Paused,
            Self::Watching,
            Self::SeatForm,
            Self::CourseStep,
            Self::HandIn,
            Self::RoomHub,
            Self::RoomOver,
            Self::RoomAsked,
            Self::RoomClosed,
            Self::RoomQuestion,
            Self::RoomClosedQuestion,
            Self::RoomRevealed,
            Self::RoomRevealedQuestion,
        ];
        others.into_iter().chain(Asked::ALL.map(Self::Question))
    }
}
