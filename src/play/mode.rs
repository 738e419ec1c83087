//! The way that something is played: what is stored of it, what is told, what it may be compared with.
//!
//! Timed trials ([`crate::play::session`]) and questions ([`crate::play::round`]) have it in common.
//! Whatever depends on it is asked here, so that a new way has to say how it does.

use crate::measure::BLOCK_TRIALS;
use crate::play::course::ExamLog;
use crate::play::measuring::Measuring;
use crate::play::records::{EXAM, MEASURE, PRACTICE};
use crate::play::round::{Choosing, FreePlay};
use crate::trial::{Plan, Progress};

/// The way that something is played.
#[derive(Debug)]
pub enum Mode {
    /// Every answer is explained.
    Practice,
    /// Smiles stay until they are searched; nothing is told.
    Find,
    /// The next smile or question follows from the answers before it; nothing is told.
    Measure(Instrument),
    /// A form of a course: nothing is told, and everything around it is written down.
    Exam(ExamLog),
    /// A room answers, and nothing is stored as anyone's answer.
    Room,
    /// Nothing is asked, answered or stored.
    Free(FreePlay),
}

/// What measures.
#[derive(Debug)]
pub enum Instrument {
    /// Of glances.
    Glances(Box<Measuring>),
    /// Of choices.
    Choices(Box<Choosing>),
}

impl Mode {
    /// Of trials laid out beforehand.
    #[must_use]
    pub const fn of_plan(plan: &Plan) -> Self {
        if plan.timing.until_seen { Self::Find } else { Self::Practice }
    }

    /// The mode's name in results.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Exam(_) => EXAM,
            Self::Find | Self::Measure(_) => MEASURE,
            Self::Practice | Self::Room | Self::Free(_) => PRACTICE,
        }
    }

    /// Whether it is told how an answer went. Where it is not, a rest follows some answers and the
    /// next smile or question the others.
    #[must_use]
    pub const fn feeds_back(&self) -> bool {
        match self {
            Self::Practice | Self::Room | Self::Free(_) => true,
            Self::Find | Self::Measure(_) | Self::Exam(_) => false,
        }
    }

    /// Whether answers are stored.
    #[must_use]
    pub const fn is_stored(&self) -> bool {
        match self {
            Self::Practice | Self::Find | Self::Measure(_) | Self::Exam(_) => true,
            Self::Room | Self::Free(_) => false,
        }
    }

    /// Whether a smile may be compared with its natural twin before an answer to it is marked.
    #[must_use]
    pub const fn compares_unmarked(&self) -> bool {
        match self {
            Self::Free(_) => true,
            Self::Practice | Self::Find | Self::Measure(_) | Self::Exam(_) | Self::Room => false,
        }
    }

    /// Whether all options are shown as small smiles before one is looked at.
    #[must_use]
    pub const fn begins_with_sheet(&self) -> bool {
        match self {
            Self::Room => true,
            Self::Practice | Self::Find | Self::Measure(_) | Self::Exam(_) | Self::Free(_) => false,
        }
    }

    /// Whether the instructions have to be left first.
    #[must_use]
    pub const fn instructs(&self) -> bool {
        match self {
            Self::Practice | Self::Find | Self::Measure(_) | Self::Exam(_) => true,
            Self::Room | Self::Free(_) => false,
        }
    }

    /// Whether an answer is followed by the next smile of `plan` without a word. What follows in a
    /// measurement is said by its instrument.
    #[must_use]
    pub fn goes_on(&self, plan: &Plan, Progress { answered, total }: Progress) -> bool {
        let is_at_a_rest = match self {
            Self::Practice | Self::Measure(_) | Self::Room | Self::Free(_) => return false,
            // Forms are laid out in blocks.
            Self::Exam(_) => {
                let block = |index: usize| plan.trials.get(index).map(|trial| trial.block);
                answered > 0 && answered < total && block(answered) != block(answered - 1)
            }
            Self::Find => answered < total && answered.is_multiple_of(BLOCK_TRIALS as usize),
        };
        !is_at_a_rest
    }

    /// Whether smiles stay until they are searched.
    #[must_use]
    pub const fn is_find(&self) -> bool {
        matches!(self, Self::Find)
    }

    /// Whether a room answers.
    #[must_use]
    pub const fn is_room(&self) -> bool {
        matches!(self, Self::Room)
    }

    /// What is written down around a form.
    #[must_use]
    pub const fn exam(&self) -> Option<&ExamLog> {
        match self {
            Self::Exam(log) => Some(log),
            _ => None,
        }
    }

    pub(super) const fn exam_mut(&mut self) -> Option<&mut ExamLog> {
        match self {
            Self::Exam(log) => Some(log),
            _ => None,
        }
    }

    /// The measurement of glances.
    #[must_use]
    pub fn measuring(&self) -> Option<&Measuring> {
        match self {
            Self::Measure(Instrument::Glances(measuring)) => Some(measuring),
            _ => None,
        }
    }

    pub(super) fn measuring_mut(&mut self) -> Option<&mut Measuring> {
        match self {
            Self::Measure(Instrument::Glances(measuring)) => Some(measuring),
            _ => None,
        }
    }

    /// The measurement of choosing.
    #[must_use]
    pub fn choosing(&self) -> Option<&Choosing> {
        match self {
            Self::Measure(Instrument::Choices(choosing)) => Some(choosing),
            _ => None,
        }
    }

    pub(super) fn choosing_mut(&mut self) -> Option<&mut Choosing> {
        match self {
            Self::Measure(Instrument::Choices(choosing)) => Some(choosing),
            _ => None,
        }
    }

    /// Free play.
    #[must_use]
    pub const fn free(&self) -> Option<&FreePlay> {
        match self {
            Self::Free(free) => Some(free),
            _ => None,
        }
    }

    pub(super) const fn free_mut(&mut self) -> Option<&mut FreePlay> {
        match self {
            Self::Free(free) => Some(free),
            _ => None,
        }
    }
}
