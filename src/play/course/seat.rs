//! A learner at a seat: which step is on, what was left, handing in.

use crate::course::{Begun, LearnerId, LearnerIdError, Standing, StandingError};
use crate::level::course_format::{Course, FormEntry, Step};
use crate::play::records::Records;
use crate::play::wanted::PartWanted;
use crate::report::{Feedback, exam_feedback};
use crate::results::{
    HAND_IN_EXTENSION, HandInError, Sitting, SittingEvent, StoreError, create_private_folder,
    refusal,
};
use std::io;
use std::path::{Path, PathBuf};

/// Longest path that is taken.
const MOST_LETTERS: usize = 400;

/// A learner in a course.
#[derive(Debug, Clone, PartialEq)]
pub struct Seat {
    course: Course,
    learner: LearnerId,
    seat: u64,
    response_factor: f64,
    standing: Standing,
    /// The step on screen, from 0; never before that of the standing.
    step: usize,
    hand_in: HandInState,
}

/// How far handing in is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct HandInState {
    /// The folder, as typed.
    pub folder: String,
    /// What went wrong the last time.
    pub fault: Option<String>,
    /// The file that was written.
    pub written: Option<PathBuf>,
    /// What the learner is told afterwards.
    pub feedback: Vec<Feedback>,
}

/// Why nobody sits, or cannot sit there.
#[derive(Debug, thiserror::Error)]
pub enum SeatError {
    /// What was entered names no learner.
    #[error(transparent)]
    Learner(#[from] LearnerIdError),
    /// What was entered names no seat.
    #[error("Enter the number of your seat")]
    Number,
    /// The stored sessions do not go with this seat.
    #[error(transparent)]
    Standing(#[from] StandingError),
    /// The results cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// What to do where a hand-in cannot be written.
const ADVICE: &str = "Name another folder, or try again. Your answers are safe in the results.";

/// Why a hand-in was not written, or what failed after it was.
#[derive(Debug, thiserror::Error)]
enum NotHandedIn {
    #[error("The hand-in was not written: {}. {ADVICE}", refusal("make the folder", folder, error))]
    Folder { folder: PathBuf, error: io::Error },
    #[error("The hand-in was not written: {0}. {ADVICE}")]
    File(HandInError),
    #[error("{0}. {ADVICE}")]
    Log(StoreError),
    #[error(transparent)]
    Feedback(StoreError),
}

impl Seat {
    /// A learner who takes a seat. One who handed in before sees the feedback again.
    ///
    /// # Errors
    /// [`SeatError`] when the stored sessions do not go with this seat or cannot be read.
    pub fn take(
        course: Course,
        learner: LearnerId,
        seat: u64,
        response_factor: f64,
        folder: &Path,
        records: &Records,
    ) -> Result<Self, SeatError> {
        let standing = standing(&course, &learner, seat, response_factor, records)?;
        let hand_in =
            HandInState { folder: folder.display().to_string(), ..HandInState::default() };
        let step = standing.step;
        Ok(Self { course, learner, seat, response_factor, standing, step, hand_in })
    }

    /// The course.
    #[must_use]
    pub const fn course(&self) -> &Course {
        &self.course
    }

    /// The learner.
    #[must_use]
    pub const fn learner(&self) -> &LearnerId {
        &self.learner
    }

    /// The seat's number.
    #[must_use]
    pub const fn number(&self) -> u64 {
        self.seat
    }

    /// The factor on the time to answer; 0 is unlimited.
    #[must_use]
    pub const fn response_factor(&self) -> f64 {
        self.response_factor
    }

    /// The step on screen, from 0; the number of steps when all are done.
    #[must_use]
    pub const fn step(&self) -> usize {
        self.step
    }

    /// The step on screen.
    #[must_use]
    pub fn current(&self) -> Option<&Step> {
        self.course.steps.get(self.step)
    }

    /// What was begun of the step on screen.
    #[must_use]
    pub fn begun(&self) -> Option<Begun> {
        self.standing.begun.filter(|_| self.step == self.standing.step)
    }

    /// Whether all forms are sat, so that handing in is due.
    #[must_use]
    pub fn may_hand_in(&self) -> bool {
        !self.standing.form_sessions.is_empty() && self.standing.has_sat_all_forms(&self.course)
    }

    /// Handing in.
    #[must_use]
    pub const fn hand_in(&self) -> &HandInState {
        &self.hand_in
    }

    /// The form that this seat sits at a step.
    #[must_use]
    pub fn form_at(&self, step: usize) -> Option<&FormEntry> {
        match self.course.steps.get(step)? {
            Step::Form { phase, .. } => self.course.form_of(*phase, self.seat),
            _ => None,
        }
    }

    /// Reads from the results where the learner stands.
    ///
    /// # Errors
    /// [`SeatError`] when the stored sessions do not go with this seat or cannot be read.
    pub fn look_up(&mut self, records: &Records) -> Result<(), SeatError> {
        self.standing =
            standing(&self.course, &self.learner, self.seat, self.response_factor, records)?;
        self.step = match self.standing.begun {
            Some(_) => self.standing.step,
            None => self.step.max(self.standing.step),
        };
        Ok(())
    }

    /// Leaves a talk, or practice that is not wanted.
    pub fn pass_over(&mut self) {
        if !matches!(self.current(), Some(Step::Form { .. }) | None) {
            self.step += 1;
            self.standing.begun = None;
        }
    }

    /// What is to be laid out for the step on screen; `None` for talks.
    #[must_use]
    pub fn wanted(&self) -> Option<PartWanted> {
        let begun = self.begun();
        let sitting = |phase: Option<&str>, form: Option<&str>| Sitting {
            course: self.course.id.clone(),
            learner: self.learner.to_string(),
            seat: self.seat,
            phase: phase.map(str::to_owned),
            form: form.map(str::to_owned),
            step: Some(self.step as u32),
            response_factor: self.response_factor,
        };
        Some(match self.current()? {
            Step::Talk { .. } => return None,
            Step::Form { phase, .. } => {
                let form = self.form_at(self.step)?.clone();
                let sitting = sitting(Some(phase.name()), Some(&form.id));
                PartWanted::Form {
                    form,
                    seat: self.seat,
                    timing: self.course.timing(self.response_factor),
                    title: self.course.title.clone(),
                    sitting: Some(sitting),
                    begun,
                }
            }
            Step::Practice { level, trials } => PartWanted::Practice {
                level: level.clone(),
                trials: *trials,
                sitting: Some(sitting(None, None)),
                begun,
            },
            Step::Measure { axes, minutes } => PartWanted::Measure {
                axes: axes.clone(),
                minutes: *minutes,
                sitting: sitting(None, None),
                begun,
            },
            Step::FindIt { .. } => PartWanted::Practice {
                level: crate::measure::FIND_ID.to_owned(),
                trials: None,
                sitting: Some(sitting(None, None)),
                begun,
            },
        })
    }

    /// Takes the folder for the hand-in as typed, until one is written.
    pub fn set_folder(&mut self, folder: &str) {
        if self.hand_in.written.is_none() {
            self.hand_in.folder = folder.chars().take(MOST_LETTERS).collect();
        }
    }

    /// Writes the hand-in, and only then says how it went.
    pub fn write_hand_in(&mut self, records: &Records) {
        let folder = PathBuf::from(self.hand_in.folder.trim());
        match self.try_hand_in(&folder, records) {
            Ok(file) => {
                self.hand_in.written = Some(file);
                self.hand_in.fault = None;
            }
            Err(error) => self.hand_in.fault = Some(error.to_string()),
        }
    }

    fn try_hand_in(&mut self, folder: &Path, records: &Records) -> Result<PathBuf, NotHandedIn> {
        create_private_folder(folder)
            .map_err(|error| NotHandedIn::Folder { folder: folder.to_owned(), error })?;
        let name = format!("{}-{}.{HAND_IN_EXTENSION}", self.course.id, self.learner);
        let file = folder.join(name);
        records
            .hand_in(self.learner.as_str(), &self.course.id, &file)
            .map_err(NotHandedIn::File)?;
        for session in &self.standing.form_sessions {
            records.log(*session, SittingEvent::HandedIn, None, None).map_err(NotHandedIn::Log)?;
        }
        let data = records.course_data(&self.course.id).map_err(NotHandedIn::Feedback)?;
        self.hand_in.feedback = exam_feedback(&data, &self.course, self.learner.as_str());
        // The full path: it may be named to the instructor.
        Ok(std::path::absolute(&file).unwrap_or(file))
    }
}

fn standing(
    course: &Course,
    learner: &LearnerId,
    seat: u64,
    response_factor: f64,
    records: &Records,
) -> Result<Standing, SeatError> {
    let sessions = records.sessions()?;
    Ok(Standing::of(course, learner, seat, response_factor, &sessions)?)
}
