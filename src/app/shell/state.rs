//! Which screen is on, and whether the pause menu lies over it.

use bevy::prelude::*;

/// What is on screen.
#[derive(States, Debug, Default, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Screen {
    /// The level list.
    #[default]
    Title,
    /// A session; its phase says what is shown.
    Trial,
    /// A round of questions.
    Exercise,
    /// Free play on the bench is set up.
    BenchSetup,
    /// A case from the clinic is typed.
    ClinicForm,
    /// How the session or round went.
    Summary,
    /// The courses.
    Courses,
    /// Who sits where, before an exam.
    Seat,
    /// The steps of a course, for a learner at a seat.
    Course,
    /// Handing in, and what is told afterwards.
    HandIn,
    /// A lecture between its questions: joining, talks, the summary.
    Lecture,
    /// What can be measured, and whether this display can.
    MeasureSetup,
    /// What a measurement found.
    Measured,
    /// Cautions, keys, where results are kept.
    About,
}

/// Whether the pause menu lies over the session.
#[derive(States, Debug, Default, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Pause {
    /// No menu.
    #[default]
    Running,
    /// The menu is open.
    Paused,
}
