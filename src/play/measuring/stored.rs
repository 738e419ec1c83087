//! A measurement read again from what is stored: its report, and going on with it.

use crate::measure::{MeasureError, Measurement};
use crate::play::records::Records;
use crate::psychophysics::instrument::InstrumentError;
use crate::report::MeasurementReport;
use crate::results::{Recording, StoreError};

/// Why a measurement cannot be had, or not be gone on with.
#[derive(Debug, thiserror::Error)]
pub enum StoredMeasuringError {
    /// The file cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// Nothing was measured in the session.
    #[error("this session is no measurement")]
    NoMeasurement,
    /// It cannot begin, or does not follow from its answers.
    #[error(transparent)]
    Measure(#[from] MeasureError),
    /// Nothing can be estimated from it.
    #[error(transparent)]
    Instrument(#[from] InstrumentError),
}

/// The report of a session's measurement, from what is stored.
///
/// # Errors
/// [`StoredMeasuringError`] when the file cannot be read or nothing was measured.
pub fn report_of(
    records: &Records,
    session: i64,
) -> Result<MeasurementReport, StoredMeasuringError> {
    let stored = records.measurement(session)?.ok_or(StoredMeasuringError::NoMeasurement)?;
    let measurement = Measurement::resume(stored.saved.clone(), &stored.posterior)?;
    let estimate = measurement.instrument().estimate()?;
    Ok(MeasurementReport::new(&estimate, &stored))
}

/// A measurement made again from what is stored, with its recording and the time spent measuring, s.
///
/// # Errors
/// [`StoredMeasuringError`] when it cannot go on.
pub(crate) fn resumed(
    records: &Records,
    session: i64,
) -> Result<(Measurement, Recording, f64), StoredMeasuringError> {
    let stored = records.measurement(session)?.ok_or(StoredMeasuringError::NoMeasurement)?;
    let elapsed_s = stored.trials.last().map_or(0.0, |trial| trial.elapsed_s);
    let measurement = Measurement::resume(stored.saved, &stored.posterior)?;
    let recording = records.resume(session)?;
    Ok((measurement, recording, elapsed_s))
}
