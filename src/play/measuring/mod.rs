//! A measurement under way: composes the next smile in the background, takes answers in, says when to
//! rest and when to stop.

mod foresight;
mod stored;

pub use foresight::kinds_of_answer;
pub use stored::{StoredMeasuringError, report_of};

pub(crate) use stored::resumed;

use self::foresight::{Composing, Foresight, Found};
use crate::bake::Truth;
use crate::measure::{ComposedSmile, MeasureError, Measurement};
use crate::play::content::{ActiveContent, ContentError};
use crate::play::frames::DisplayCheck;
use crate::play::work::Workers;
use crate::psychophysics::instrument::StopReason;
use crate::results::{MeasuredTrial, StoreError, TrialRow};
use crate::scene::Case;
use crate::trial::{Phase, TrialOutcome};

/// So many of the latest smiles are looked at for missed exposures, and so many may be missed
/// before the measurement ends. Design choices.
const LATEST: usize = 10;
const MOST_MISSED: usize = 5;

/// The measurement of the session under way.
pub struct Measuring {
    measurement: Measurement,
    /// How the display did before the start.
    display: Option<DisplayCheck>,
    /// Time spent measuring, s: not adaptation, rests and pauses.
    elapsed_s: f64,
    composing: Option<Composing>,
    /// The next smile, composed beforehand.
    found: Option<ComposedSmile>,
    /// The smile that was composed last: the one under way or next.
    smile: Option<ComposedSmile>,
    /// What may come after the answer that is awaited.
    foresight: Foresight,
    /// Whether each of the latest exposures was missed.
    latest_missed: Vec<bool>,
    missed: usize,
    ended: Option<Ended>,
}

impl std::fmt::Debug for Measuring {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Measuring").field("elapsed_s", &self.elapsed_s).finish_non_exhaustive()
    }
}

/// Why a measurement is over.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// The instrument is done.
    Done(StopReason),
    /// Too many exposures were missed.
    Display,
}

impl Ended {
    /// The name stored with results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Done(StopReason::Precise) => "precise",
            Self::Done(StopReason::Trials) => "trials",
            Self::Done(StopReason::Time) => "time",
            Self::Done(StopReason::Learner) => "learner",
            Self::Display => "display",
        }
    }

    /// In plain words.
    #[must_use]
    pub const fn in_words(self) -> &'static str {
        match self {
            Self::Done(StopReason::Precise) => "Ended: precise enough.",
            Self::Done(StopReason::Trials) => "Ended: the most smiles were shown.",
            Self::Done(StopReason::Time) => "Ended: the time was up.",
            Self::Done(StopReason::Learner) => "Ended by you.",
            Self::Display => {
                "Ended because the display did not hold the exposures. Close other programs and \
                 try again; practice works on any display."
            }
        }
    }
}

/// What follows from an answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AfterAnswer {
    /// The next smile.
    GoOn,
    /// The block is over: a rest.
    Rest,
    /// The measurement is over.
    End,
}

impl Measuring {
    /// A measurement that begins, or goes on after `elapsed_s` seconds of measuring.
    #[must_use]
    pub fn new(measurement: Measurement, display: Option<DisplayCheck>, elapsed_s: f64) -> Self {
        Self {
            measurement,
            display,
            elapsed_s,
            composing: None,
            found: None,
            smile: None,
            foresight: Foresight::default(),
            latest_missed: Vec::new(),
            missed: 0,
            ended: None,
        }
    }

    /// The measurement so far.
    #[must_use]
    pub const fn measurement(&self) -> &Measurement {
        &self.measurement
    }

    /// How the display did before the start.
    #[must_use]
    pub const fn display(&self) -> Option<DisplayCheck> {
        self.display
    }

    /// Time spent measuring, s.
    #[must_use]
    pub const fn elapsed_s(&self) -> f64 {
        self.elapsed_s
    }

    /// Exposures missed in this run.
    #[must_use]
    pub const fn missed(&self) -> usize {
        self.missed
    }

    /// Why it is over, or that the learner ended it.
    #[must_use]
    pub fn ended(&self) -> Ended {
        self.ended.unwrap_or(Ended::Done(StopReason::Learner))
    }

    /// Whether it is over by its own rules.
    #[must_use]
    pub const fn is_over(&self) -> bool {
        self.ended.is_some()
    }

    /// Counts a frame.
    pub(crate) fn pass(&mut self, phase: Phase, duration_s: f64) {
        let counts = !matches!(phase, Phase::Adaptation { .. } | Phase::Debrief | Phase::Finished);
        self.elapsed_s += if counts { duration_s } else { 0.0 };
    }

    /// Takes an outcome in and stores it.
    pub(crate) fn take(
        &mut self,
        row: &TrialRow,
        truth: Option<&Truth>,
        outcome: &TrialOutcome,
        refresh_hz_now: f64,
        store: impl FnOnce(&TrialRow, &MeasuredTrial, &[u8]) -> Result<(), StoreError>,
    ) -> Result<AfterAnswer, TakeError> {
        let Some(smile) = self.smile.take() else { return Ok(AfterAnswer::GoOn) };
        let taken =
            self.measurement.take(&smile, truth, outcome, refresh_hz_now, self.elapsed_s)?;
        let posterior = self.measurement.instrument().posterior_bytes();
        let stored = store(row, &taken.measured, &posterior);
        let missed = taken.measured.missed.is_some();
        self.missed += usize::from(missed);
        self.latest_missed.push(missed);
        let latest = self.latest_missed.iter().rev().take(LATEST);
        if latest.filter(|missed| **missed).count() > MOST_MISSED {
            self.ended = Some(Ended::Display);
        } else if let Some(reason) = self.measurement.is_done(self.elapsed_s) {
            self.ended = Some(Ended::Done(reason));
        }
        stored?;
        Ok(match (self.ended, taken.block_is_over) {
            (Some(_), _) => AfterAnswer::End,
            (None, true) => AfterAnswer::Rest,
            (None, false) => AfterAnswer::GoOn,
        })
    }

    /// Whether every smile that may follow the answer awaited is composed.
    #[must_use]
    pub fn foresees_all(&self) -> bool {
        self.foresight.is_complete()
    }

    /// Cases of smiles that may follow the answer awaited, the likeliest first.
    pub(crate) fn foreseen(&self) -> Vec<&Case> {
        self.foresight.cases()
    }

    /// Composes what may follow, given what each kind of answer would make of the trial under way.
    pub(crate) fn foresee(
        &mut self,
        truth: Option<&Truth>,
        outcomes: impl FnOnce() -> Vec<TrialOutcome>,
        content: &ActiveContent,
        workers: &Workers,
    ) {
        if let Some(smile) = &self.smile
            && !self.foresight.has_begun()
        {
            self.foresight.begin(&self.measurement, smile, truth, outcomes(), workers);
        }
        self.foresight.advance(content, workers);
    }

    /// Starts on the next smile unless it is there. Work under way on other smiles is dropped.
    pub(crate) fn begin_composing(&mut self, content: &ActiveContent, workers: &Workers) {
        if self.composing.is_some()
            || self.found.is_some()
            || self.smile.is_some()
            || self.ended.is_some()
        {
            return;
        }
        let Some(request) = self.measurement.next_smile() else { return };
        match self.foresight.take(&request) {
            Found::Composed(smile) => self.found = Some(*smile),
            Found::Composing(work) => self.composing = Some(work),
            Found::Nothing => {
                self.composing = Some(foresight::compose(request, content, workers));
            }
        }
    }

    pub(crate) fn finish_composing(&mut self) -> Option<Result<ComposedSmile, ContentError>> {
        let composed = match self.found.take() {
            Some(smile) => Ok(smile),
            None => self.composing.as_mut()?.take()?,
        };
        self.composing = None;
        if let Ok(smile) = &composed {
            self.smile = Some(smile.clone());
        }
        Some(composed)
    }
}

/// Why an answer was not taken in.
#[derive(Debug, thiserror::Error)]
pub(crate) enum TakeError {
    #[error(transparent)]
    Measure(#[from] MeasureError),
    #[error(transparent)]
    Store(#[from] StoreError),
}
