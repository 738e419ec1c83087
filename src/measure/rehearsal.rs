//! A measurement with a simulated observer, through the same engine as a learner's.

use super::session::{ComposedSmile, MeasureError, Measurement, Taken};
use crate::material::Library;
use crate::psychophysics::Sight;
use crate::psychophysics::SimulatedObserver;
use crate::psychophysics::instrument::{Answer, Shown, StopReason};
use crate::random::{Purpose, StreamKey};
use crate::results::TrialRow;
use crate::trial::{
    Engine, Event, Input, InputDevice, Phase, Plan, Response, Timing, TrialOutcome,
};
use thiserror::Error;

/// Refresh rate of the simulated display, Hz.
const REFRESH_HZ: f64 = 60.0;

/// Why a rehearsal cannot go on.
#[derive(Debug, Error)]
pub enum RehearsalError {
    /// The measurement cannot go on.
    #[error(transparent)]
    Measure(#[from] MeasureError),
    /// The observer could not look.
    #[error("the observer could not look: {0}")]
    Look(#[from] Box<dyn std::error::Error + Send + Sync>),
    /// The engine showed nothing. No trial is known to cause this.
    #[error("the trial engine showed nothing")]
    Stuck,
}

/// A measurement answered by a simulated observer on a simulated 60 Hz display that drops nothing.
#[derive(Debug, Clone)]
pub struct Rehearsal {
    measurement: Measurement,
    engine: Engine,
    elapsed_s: f64,
}

/// One rehearsed trial, ready to be stored.
#[derive(Debug, Clone, PartialEq)]
pub struct Rehearsed {
    /// The row of the trial. The difference to the tooth opposite is not known: only the tooth
    /// that differs was baked.
    pub row: TrialRow,
    /// What is stored beside it.
    pub taken: Taken,
}

impl Rehearsal {
    /// A rehearsal from where `measurement` is.
    #[must_use]
    pub fn new(measurement: Measurement) -> Self {
        let plan = measurement.plan();
        let plan = Plan { timing: Timing { adaptation_s: 0.0, ..plan.timing }, ..plan };
        let records = measurement.instrument().records().len() as f64;
        // As long as a trial takes in a session: grey, cross, picture and a quick answer.
        let elapsed_s = records * (plan.timing.gap_s + 0.7 + plan.timing.exposure_s);
        Self { engine: Engine::open_ended(&plan, REFRESH_HZ), measurement, elapsed_s }
    }

    /// The measurement so far.
    #[must_use]
    pub const fn measurement(&self) -> &Measurement {
        &self.measurement
    }

    /// Whether the measurement is over, and why.
    #[must_use]
    pub fn is_done(&self) -> Option<StopReason> {
        self.measurement.is_done(self.elapsed_s)
    }

    /// One trial. `look` says what the observer sees: it gets the truth and may put in its place
    /// what a picture shows. The observer's noise has a stream of its own for each trial.
    ///
    /// # Errors
    /// [`RehearsalError`] when no smile can be made or looked at.
    pub fn step(
        &mut self,
        library: &Library,
        observer: &SimulatedObserver,
        look: &mut dyn FnMut(
            &ComposedSmile,
            Sight,
        ) -> Result<Sight, Box<dyn std::error::Error + Send + Sync>>,
    ) -> Result<Option<Rehearsed>, RehearsalError> {
        let Some(request) = self.measurement.next_smile() else { return Ok(None) };
        let smile = request.compose(library)?;
        let truth = smile.made.as_ref().map(|made| made.truth.clone());
        let config = self.measurement.instrument().config();
        let residual = |tooth: &crate::scene::Tooth| {
            let natural = smile.planned.case.patient.teeth.iter().find(|t| t.tooth == *tooth);
            natural.map_or(0.0, |t| t.residual_de00)
        };
        let shown = Shown {
            de00: truth.as_ref().map_or(0.0, |truth| truth.difference.de00),
            residuals_de00: config.teeth.iter().map(residual).collect(),
            exposure_s: config.exposure_s,
        };
        let sight = look(&smile, Sight::new(&config.teeth, request.stimulus(), &shown))?;
        let key = StreamKey {
            form: super::MEASURE_ID,
            seed: self.measurement.plan().seed,
            purpose: Purpose::Observer,
            block: smile.planned.block,
            trial: smile.planned.trial,
        };
        let answer = observer.answer(&sight, &mut key.stream());
        let outcome = self.show(&smile, answer)?;
        let plan = self.measurement.plan();
        let mut row =
            TrialRow::glance(&plan, "rehearsal", &smile.planned, &outcome, truth.as_ref());
        row.contralateral_de00 = None;
        let taken =
            self.measurement.take(&smile, truth.as_ref(), &outcome, REFRESH_HZ, self.elapsed_s)?;
        Ok(Some(Rehearsed { row, taken }))
    }

    /// Takes the engine through one trial.
    fn show(
        &mut self,
        smile: &ComposedSmile,
        answer: Answer,
    ) -> Result<TrialOutcome, RehearsalError> {
        let response = Response::from(answer);
        self.engine.append(smile.planned.clone());
        // No phase lasts longer than the response window; ten times all of them is plenty.
        let limit_s = 600.0;
        let mut spent_s = 0.0;
        while spent_s < limit_s {
            let input = match self.engine.phase() {
                Phase::Debrief => Input::Continue,
                Phase::Preparing => Input::PictureReady,
                Phase::Response { .. } if response != Response::Timeout => {
                    Input::Answer(response, InputDevice::Simulated)
                }
                _ => Input::FrameShown { duration_s: 1.0 / REFRESH_HZ },
            };
            let mut events = self.engine.handle(input);
            if !matches!(input, Input::FrameShown { .. }) {
                // A grey gap also passes in frames.
                events
                    .extend(self.engine.handle(Input::FrameShown { duration_s: 1.0 / REFRESH_HZ }));
            }
            spent_s += 1.0 / REFRESH_HZ;
            let completed = events.iter().find_map(|event| match event {
                Event::Completed(outcome) => Some(*outcome),
                Event::Entered(_) => None,
            });
            if let Some(outcome) = completed {
                self.elapsed_s += spent_s;
                self.engine.handle(Input::Continue);
                return Ok(outcome);
            }
        }
        Err(RehearsalError::Stuck)
    }
}
