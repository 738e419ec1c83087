//! Everything that can be asked for, as plain data. Keys, buttons and phones end in an intent, and
//! nothing else changes anything.

mod exercise;
mod forms;

pub use exercise::{Act, ExerciseIntent, Page};
pub use forms::{CaseChoice, CourseIntent, FormIntent, RoomIntent, SeatField, SetupIntent};

use crate::psychophysics::Axis;
use crate::scene::Tooth;
use crate::trial::InputDevice;

/// Everything the learner can ask for.
#[derive(Debug, Clone, PartialEq)]
pub enum Intent {
    /// Begin a session of the level with this id.
    StartLevel(String),
    /// Go on with the unfinished session of the level with this id.
    ContinueLevel(String),
    /// Show what can be measured.
    OpenMeasure,
    /// Begin a measurement.
    StartMeasure(MeasureChoice),
    /// Go on with the unfinished measurement of this session.
    ContinueMeasure(i64),
    /// Show the result of the measurement of this session.
    ShowMeasured(i64),
    /// Go on with the unfinished measurement of choosing of this session.
    ContinueChoice(i64),
    /// Show the result of the measurement of choosing of this session.
    ShowChoice(i64),
    /// Set up free play on the bench.
    OpenBenchSetup,
    /// Type a case from the clinic.
    OpenClinicForm,
    /// While a bench is set up.
    Setup(SetupIntent),
    /// In the form for cases.
    Form(FormIntent),
    /// Show cautions, keys and where results are kept.
    OpenAbout,
    /// Back to the level list.
    BackToTitle,
    /// Leave the program.
    Quit,
    /// End the grey adaptation now.
    StartNow,
    /// Move the answer row's cursor by this many cells.
    MoveCursor(i32),
    /// Answer with the cell under the cursor.
    AnswerAtCursor,
    /// Answer with the cell at this place, counted from the viewer's left.
    AnswerPlace(usize),
    /// Answer: this tooth, or `None` for "none is restored".
    Answer(Option<Tooth>, InputDevice),
    /// "I have found it": the smile goes away and the answer row comes.
    Seen,
    /// Show the other of restored and natural.
    ToggleTwin,
    /// Let the picture change by itself, or stop that.
    ToggleAutoBlink,
    /// Show lightness only, or colour again.
    ToggleValueOnly,
    /// Show the map of the difference, or the smile again.
    ToggleMap,
    /// Show the restored tooth beside its twin, or the smile again.
    ToggleSideBySide,
    /// Show or hide the outlines.
    ToggleOutlines,
    /// In an exercise with questions.
    Exercise(ExerciseIntent),
    /// Leave the debrief.
    Continue,
    /// Open the pause menu.
    Pause,
    /// Close the pause menu.
    Resume,
    /// End the session; every answered trial stays.
    StopSession,
    /// Close the message about a failure.
    DismissProblem,
    /// Show the courses.
    OpenCourses,
    /// About a course.
    Course(CourseIntent),
    /// About a lecture.
    Room(RoomIntent),
    /// Fill the screen with the window, or not.
    ToggleFullScreen,
}

impl Intent {
    /// Whether it belongs to a trial: an answer, a step on, the end.
    #[must_use]
    pub const fn is_of_a_trial(&self) -> bool {
        matches!(
            self,
            Self::StartNow
                | Self::MoveCursor(_)
                | Self::AnswerAtCursor
                | Self::AnswerPlace(_)
                | Self::Answer(..)
                | Self::Seen
                | Self::Continue
                | Self::StopSession
        )
    }
}

/// What a learner can ask to be measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MeasureChoice {
    /// Darker and lighter.
    Value,
    /// Darker, lighter, chroma and hue.
    AllAxes,
}

impl MeasureChoice {
    /// The axes.
    #[must_use]
    pub fn axes(self) -> Vec<Axis> {
        match self {
            Self::Value => vec![Axis::Darker, Axis::Lighter],
            Self::AllAxes => Axis::ALL.to_vec(),
        }
    }
}
