//! Who sits where: asked before a course begins.

use super::seat::SeatError;
use crate::course::LearnerId;
use crate::level::course_format::Course;
use crate::play::around::around;
use crate::play::intents::SeatField;

/// Longest text that a field takes.
const MOST_LETTERS: usize = 32;

/// The form as filled in so far.
#[derive(Debug, Clone, PartialEq)]
pub struct SeatForm {
    course: Course,
    learner: String,
    seat: String,
    time: usize,
    fault: Option<String>,
}

impl SeatForm {
    /// An empty form of a course.
    #[must_use]
    pub const fn new(course: Course) -> Self {
        Self { course, learner: String::new(), seat: String::new(), time: 0, fault: None }
    }

    /// The form with what is known already.
    #[must_use]
    pub fn filled(course: Course, learner: &str, seat: &str, response_factor: f64) -> Self {
        let choices = course.accommodation.choices();
        let time = choices.iter().position(|factor| (factor - response_factor).abs() < 1e-9);
        let mut form = Self::new(course);
        form.write(SeatField::Learner, learner);
        form.write(SeatField::Seat, seat);
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
        }
    }

    /// The first field that is still empty, or the first.
    #[must_use]
    pub const fn first_open(&self) -> SeatField {
        if !self.learner.is_empty() && self.seat.is_empty() {
            SeatField::Seat
        } else {
            SeatField::Learner
        }
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
    pub fn refuse(&mut self, fault: impl std::fmt::Display) {
        self.fault = Some(fault.to_string());
    }

    /// Takes a text into a field, without what cannot be part of it: a learner id is of hexadecimal
    /// digits, the number of a seat of decimal ones.
    pub fn write(&mut self, field: SeatField, text: &str) {
        self.fault = None;
        let (to, fits): (&mut String, fn(&char) -> bool) = match field {
            SeatField::Learner => (&mut self.learner, char::is_ascii_hexdigit),
            SeatField::Seat => (&mut self.seat, char::is_ascii_digit),
        };
        let letters = text.chars().map(|letter| letter.to_ascii_lowercase());
        *to = letters.filter(fits).take(MOST_LETTERS).collect();
    }

    /// Moves on by so many of the times to answer that the course allows, around their ends.
    pub fn accommodate(&mut self, by: i32) {
        self.time = around(self.time, by, self.course.accommodation.choices().len());
        self.fault = None;
    }

    /// The learner and the seat.
    ///
    /// # Errors
    /// [`SeatError`] that says what is wrong with what was entered.
    pub fn read(&self) -> Result<(LearnerId, u64), SeatError> {
        let learner = self.learner.parse()?;
        let seat = self.seat.parse().map_err(|_| SeatError::Number)?;
        Ok((learner, seat))
    }
}
