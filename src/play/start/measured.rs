//! A measurement of glances that begins or goes on. It needs no plan: its smiles follow from the
//! answers.

use super::error::StartError;
use crate::measure::{MEASURE_ID, Measurement, measure_config};
use crate::play::frames::{DisplayCheck, FrameTimes};
use crate::play::measuring::{Measuring, StoredMeasuringError, resumed};
use crate::play::records::Records;
use crate::psychophysics::Axis;
use crate::results::Recording;

/// Seed of the first measurement in a results file; each later one adds one.
pub(super) const FIRST_SEED: u64 = 9001;

/// A measurement of glances, with the rows that it goes on with.
#[derive(Debug)]
pub struct Measured {
    pub(super) measuring: Measuring,
    pub(super) recording: Option<Recording>,
}

impl Measured {
    /// One along these axes that ends after so many minutes at the latest.
    pub(super) fn new(
        axes: Vec<Axis>,
        minutes: Option<f64>,
        records: &Records,
        frames: &FrameTimes,
    ) -> Result<Self, StartError> {
        let display = check_display(frames)?;
        let before = records.sessions_of(MEASURE_ID)?;
        let mut config = measure_config(axes);
        if let Some(minutes) = minutes {
            config.stop.max_elapsed_s = 60.0 * minutes;
        }
        let measurement = Measurement::new(config, FIRST_SEED.wrapping_add(before))
            .map_err(StoredMeasuringError::from)?;
        Ok(Self { measuring: Measuring::new(measurement, display, 0.0), recording: None })
    }

    /// The one that is stored as this session.
    pub(super) fn stored(
        session: i64,
        records: &Records,
        frames: &FrameTimes,
    ) -> Result<Self, StartError> {
        let display = check_display(frames)?;
        let (measurement, recording, elapsed_s) = resumed(records, session)?;
        let measuring = Measuring::new(measurement, display, elapsed_s);
        Ok(Self { measuring, recording: Some(recording) })
    }
}

/// The rule that a learner is told on the way here: no measuring on a display that cannot.
pub(super) fn check_display(frames: &FrameTimes) -> Result<Option<DisplayCheck>, StartError> {
    let display = frames.display_check();
    match display.and_then(|check| check.fault()) {
        Some(fault) => Err(StartError::Display(fault)),
        None => Ok(display),
    }
}
