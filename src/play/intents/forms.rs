//! What can be asked for where something is set up or typed: courses, lectures, benches, cases.

use crate::exercise::SetupPart;
use crate::level::clinic::{CaseField, CeramicChoice};
use std::path::PathBuf;

/// What can be asked for about courses.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CourseIntent {
    /// This course, by its id or the path of its file.
    Choose(String),
    /// This text into a field of the seat form.
    Write(SeatField, String),
    /// This folder for the hand-in.
    Folder(String),
    /// So many choices on in the time to answer.
    Accommodate(i32),
    /// The seat is filled in.
    Enter,
    /// Begin or take up the present step; for a talk, go on.
    Begin,
    /// Leave the present step out, where it may be.
    Skip,
    /// Write the hand-in.
    HandIn,
}

/// A field of the form for a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum SeatField {
    /// The learner's random id.
    Learner,
    /// The number of the seat.
    Seat,
}

/// What the instructor can ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RoomIntent {
    /// Begin the step on screen; for a talk, go on; at the end, back to the level list.
    Begin,
    /// Take no more answers.
    Close,
    /// Show the solution and how the room answered.
    Reveal,
    /// Serve the page for phones at any free port.
    OtherPort,
    /// Write the questions and their counts to a file.
    Save,
    /// To the summary.
    End,
}

/// What a learner can ask for while a bench is set up.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SetupIntent {
    /// Go to the part before or after.
    Step(i32),
    /// Change the part that the keys are at by steps.
    Move(i32),
    /// Change a part by steps.
    Change(SetupPart, i32),
    /// Set a part that is a number.
    Set(SetupPart, f64),
    /// Everything as at first.
    Reset,
    /// To the bench.
    Start,
}

/// What a learner can ask for in the form.
#[derive(Debug, Clone, PartialEq)]
pub enum FormIntent {
    /// Set a text.
    Type(CaseField, String),
    /// Change a choice by steps.
    Choose(CaseChoice, i32),
    /// Offer a ceramic, or no longer.
    ToggleCeramic(CeramicChoice),
    /// Invented numbers to try the form with.
    Example,
    /// A blank form.
    Clear,
    /// Say what is wrong.
    Check,
    /// To the bench with it.
    Bench,
    /// Keep it as a file and a level.
    Save,
    /// List the cases of one's own, or no longer.
    List,
    /// Open a case.
    Open(PathBuf),
    /// Do what was asked about.
    Yes,
    /// Save under another name instead.
    UnderAnotherName,
    /// Do nothing.
    No,
}

/// A choice of the form.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum CaseChoice {
    /// The tooth to be restored.
    Tooth,
    /// Veneer or crown.
    Preparation,
    /// The cement.
    Cement,
    /// Teeth in view.
    Arch,
    /// The light.
    Light,
    /// What is in the frame.
    Framing,
    /// What the level does.
    Exercise,
}

impl CaseChoice {
    /// All choices in the order of the form.
    pub const ALL: [Self; 7] = [
        Self::Tooth,
        Self::Preparation,
        Self::Cement,
        Self::Arch,
        Self::Light,
        Self::Framing,
        Self::Exercise,
    ];

    /// Plain words.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tooth => "tooth to be restored",
            Self::Preparation => "restoration",
            Self::Cement => "cement",
            Self::Arch => "teeth in view",
            Self::Light => "light",
            Self::Framing => "framing",
            Self::Exercise => "exercise of the level",
        }
    }

    /// The path of the case file that it sets.
    #[must_use]
    pub const fn path(self) -> &'static str {
        match self {
            Self::Tooth => "tooth",
            Self::Preparation => "preparation",
            Self::Cement => "cement",
            Self::Arch => "arch",
            Self::Light => "light",
            Self::Framing => "framing",
            Self::Exercise => "exercise",
        }
    }
}
