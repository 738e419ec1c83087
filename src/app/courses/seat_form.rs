//! Who sits where: asked before a course begins.

use crate::course::{LearnerId, LearnerIdError};
use crate::level::course_format::Course;
use bevy::prelude::Resource;

/// Longest text that a field takes.
const MOST_LETTERS: usize = 32;

/// A field of the form.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeatField {
    /// The learner's random id.
    Learner,
    /// The number of the seat.
    Seat,
    /// Longer time to answer.
    Time,
}

/// The form as filled in so far.
#[derive(Resource, Debug, Clone, PartialEq)]
pub struct SeatForm {
    course: Course,
    learner: String,
    seat: String,
    time: usize,
    field: SeatField,
    fault: Option<String>,
}

impl SeatForm {
    /// An empty form of a course.
    #[must_use]
    pub const fn new(course: Course) -> Self {
        Self {
            course,
            learner: String::new(),
            seat: String::new(),
            time: 0,
            field: SeatField::Learner,
            fault: None,
        }
    }

    /// The form with what is known already.
    #[must_use]
    pub fn filled(course: Course, learner: &str, seat: &str, response_factor: f64) -> Self {
        let choices = course.accommodation.choices();
        let time = choices.iter().position(|factor| (factor - response_factor).abs() < 1e-9);
        let mut form = Self::new(course);
        for letter in learner.chars() {
            form.enter(letter);
        }
        form.field = SeatField::Seat;
        for letter in seat.chars() {
            form.enter(letter);
        }
        form.field = if learner.is_empty() { SeatField::Learner } else { SeatField::Seat };
        if time.is_none() {
            form.fault = Some(format!("the course grants no factor {response_factor}"));
        }
        Self { time: time.unwrap_or(0), ..form }
    }

    /// The course.
    #[must_use]
    pub const fn course(&self) -> &Course {
        &self.course
    }

    /// The text of a field.
    #[must_use]
    pub fn text(&self, field: SeatField) -> &str {
        match field {
            SeatField::Learner => &self.learner,
            SeatField::Seat => &self.seat,
            SeatField::Time => "",
        }
    }

    /// The field under the cursor.
    #[must_use]
    pub const fn field(&self) -> SeatField {
        self.field
    }

    /// The factor chosen on the time to answer; 0 is unlimited.
    #[must_use]
    pub fn response_factor(&self) -> f64 {
        self.course.accommodation.choices().get(self.time).copied().unwrap_or(1.0)
    }

    /// What is wrong with what was entered.
    #[must_use]
    pub fn fault(&self) -> Option<&str> {
        self.fault.as_deref()
    }

    /// Says what is wrong.
    pub fn refuse(&mut self, fault: String) {
        self.fault = Some(fault);
    }

    pub(super) fn enter(&mut self, letter: char) {
        self.fault = None;
        let letter = letter.to_ascii_lowercase();
        let (text, fits) = match self.field {
            SeatField::Learner => (&mut self.learner, letter.is_ascii_hexdigit()),
            SeatField::Seat => (&mut self.seat, letter.is_ascii_digit()),
            SeatField::Time => return,
        };
        if fits && text.len() < MOST_LETTERS {
            text.push(letter);
        }
    }

    pub(super) fn erase(&mut self) {
        match self.field {
            SeatField::Learner => self.learner.pop(),
            SeatField::Seat => self.seat.pop(),
            SeatField::Time => None,
        };
    }

    pub(super) const fn go_to(&mut self, field: SeatField) {
        self.field = field;
    }

    pub(super) fn next_field(&mut self, by: i32) {
        const FIELDS: [SeatField; 3] = [SeatField::Learner, SeatField::Seat, SeatField::Time];
        let at = FIELDS.iter().position(|field| *field == self.field).unwrap_or(0);
        self.field = FIELDS[(at as i32 + by).rem_euclid(3) as usize];
    }

    pub(super) fn accommodate(&mut self, by: i32) {
        let count = self.course.accommodation.choices().len().max(1);
        self.time = (self.time as i32 + by).rem_euclid(count as i32) as usize;
        self.fault = None;
    }

    /// The learner and the seat, or what is wrong.
    pub(super) fn read(&self) -> Result<(LearnerId, u64), String> {
        let learner = self.learner.parse().map_err(|error: LearnerIdError| error.to_string())?;
        let seat = self.seat.parse().map_err(|_| "Enter the number of your seat".to_owned())?;
        Ok((learner, seat))
    }
}
