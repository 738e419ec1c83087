//! Choosing, measured: nothing is fed back, the next question is laid out after each answer, and
//! grey separates the options.

use crate::exercise::{
    Answer, ChoiceMeasurement, ChoiceReport, Question, RoundTally, StoredChoiceError,
};
use crate::play::content::{ActiveContent, ContentError};
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::work::{Work, Workers};
use crate::results::StoreError;

/// Grey between two options, s: without it the change itself would catch the eye.
pub const OPTION_GAP_S: f64 = 0.25;

/// What a measurement of choosing found, in lines, from all that is stored of it.
///
/// # Errors
/// [`ChoiceResultError`] when the file or an answer cannot be read.
pub fn choice_result(records: &Records, session: i64) -> Result<String, ChoiceResultError> {
    let rows = records.answers(session)?;
    let report = ChoiceReport::of(&rows)?;
    Ok([RoundTally::of(&rows).sentences(), report.sentences()].concat().join("\n"))
}

/// Why it cannot be said what a measurement of choosing found.
#[derive(Debug, thiserror::Error)]
pub enum ChoiceResultError {
    /// The file cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A stored answer cannot be read.
    #[error("An answer of this measurement cannot be read: {0}.")]
    Answer(#[from] StoredChoiceError),
}

/// A measurement of choosing under way.
#[derive(Debug)]
pub struct Choosing {
    measurement: ChoiceMeasurement,
    next: Option<Work<Result<Question, ContentError>>>,
    /// The option in view, and how much grey is left before it, s.
    in_view: usize,
    gap_s: f64,
}

impl Choosing {
    /// A measurement at its start.
    #[must_use]
    pub const fn new(measurement: ChoiceMeasurement) -> Self {
        Self { measurement, next: None, in_view: 0, gap_s: 0.0 }
    }

    /// The measurement.
    #[must_use]
    pub const fn measurement(&self) -> &ChoiceMeasurement {
        &self.measurement
    }

    /// Whether grey stands between two options.
    #[must_use]
    pub fn is_gap(&self) -> bool {
        self.gap_s > 0.0
    }

    /// Lets a frame pass with this option in view.
    pub(crate) fn pass(&mut self, in_view: usize, duration_s: f64) {
        self.gap_s = (self.gap_s - duration_s).max(0.0);
        if in_view != self.in_view {
            (self.in_view, self.gap_s) = (in_view, OPTION_GAP_S);
        }
    }

    /// Learns from an answer. Returns whether more is to be asked.
    pub(crate) fn learn(&mut self, question: &Question, answer: &Answer) -> bool {
        self.measurement.record(question, answer);
        (self.in_view, self.gap_s) = (0, 0.0);
        self.measurement.is_done().is_none()
    }

    /// Goes on laying out the next question; the question, once. An error says why there is none.
    pub(crate) fn lay_out(
        &mut self,
        content: &ActiveContent,
        workers: &Workers,
        problem: &mut Problem,
    ) -> Option<Result<Question, ()>> {
        let work = self.next.get_or_insert_with(|| {
            let (measurement, content) = (self.measurement.clone(), content.0.clone());
            workers.begin(move || {
                measurement
                    .lay_out(content.library())
                    .map_err(|error| ContentError::Invalid(error.to_string()))
            })
        });
        let found = work.take()?;
        self.next = None;
        Some(found.map_err(|error| problem.report(error)))
    }
}
