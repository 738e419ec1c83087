//! What can be started, as it is asked for: plain data, laid out and opened by [`crate::play::start`].

use crate::course::Begun;
use crate::exercise::BenchSetup;
use crate::level::clinic::ClinicCase;
use crate::level::course_format::FormEntry;
use crate::play::intents::MeasureChoice;
use crate::psychophysics::Axis;
use crate::results::Sitting;
use crate::trial::Timing;

/// Where free play was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Where a bench is set up.
    Setup,
    /// In the form for cases.
    Case,
}

/// What free play on the bench is to begin with.
#[derive(Debug, Clone, PartialEq)]
pub enum BenchWanted {
    /// What was set up.
    Setup(BenchSetup),
    /// A case from the clinic.
    Case(Box<ClinicCase>),
}

/// What can be started.
#[derive(Debug, Clone, PartialEq)]
pub enum Start {
    /// A new session of this level.
    New(String),
    /// The unfinished session of this level.
    Unfinished(String),
    /// A new measurement.
    Measure(MeasureChoice),
    /// The unfinished measurement of this session.
    UnfinishedMeasure(i64),
    /// The unfinished measurement of choosing of this session.
    UnfinishedChoice(i64),
    /// Free play on the bench.
    Bench(Box<BenchWanted>),
    /// A step of a course.
    Part(Box<PartWanted>),
}

/// A step of a course that can be started.
#[derive(Debug, Clone, PartialEq)]
pub enum PartWanted {
    /// A form; `sitting` is `None` for a room.
    Form {
        /// The form.
        form: FormEntry,
        /// Whose order.
        seat: u64,
        /// How long everything lasts.
        timing: Timing,
        /// What stands above.
        title: String,
        /// Whose it is.
        sitting: Option<Sitting>,
        /// What was begun.
        begun: Option<Begun>,
    },
    /// A level.
    Practice {
        /// Its id.
        level: String,
        /// Number of smiles or questions; `None` for the level's own.
        trials: Option<u32>,
        /// Whose it is.
        sitting: Option<Sitting>,
        /// What was begun.
        begun: Option<Begun>,
    },
    /// A measurement.
    Measure {
        /// The axes.
        axes: Vec<Axis>,
        /// When to stop at the latest, minutes.
        minutes: f64,
        /// Whose it is.
        sitting: Sitting,
        /// What was begun.
        begun: Option<Begun>,
    },
}

impl BenchWanted {
    /// Where it was asked for.
    #[must_use]
    pub const fn origin(&self) -> Origin {
        match self {
            Self::Setup(_) => Origin::Setup,
            Self::Case(_) => Origin::Case,
        }
    }
}

impl PartWanted {
    /// Whose it is; `None` for a room.
    #[must_use]
    pub const fn sitting(&self) -> Option<&Sitting> {
        match self {
            Self::Form { sitting, .. } | Self::Practice { sitting, .. } => sitting.as_ref(),
            Self::Measure { sitting, .. } => Some(sitting),
        }
    }
}
