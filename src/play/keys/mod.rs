//! What keys mean.

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
    Question,
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
    /// A room is asked about a smile.
    RoomAsked,
    /// A room is asked about options.
    RoomQuestion,
    /// A room's question is closed.
    RoomClosed,
    /// The room sees the solution of a smile.
    RoomRevealed,
    /// The room sees the solution of a question about options.
    RoomRevealedQuestion,
}
