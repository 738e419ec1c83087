//! What rehearsals of timed trials and of questions share: where they are stored, and their pictures.

use crate::app::cli::arguments::Options;
use crate::app::cli::command::pictures::{DrawError, written};
use crate::exercise::AnswerError;
use crate::play::content::ContentError;
use crate::play::records::{Records, RecordsError};
use crate::results::StoreError;
use std::path::Path;

/// The mode of rehearsals in results.
pub(crate) const MODE: &str = "rehearsal";
/// Refresh rate of the simulated display, Hz.
pub(crate) const REFRESH_HZ: f64 = 60.0;
/// Size of the pictures of a rehearsal, pixels.
pub(crate) const PICTURE_SIZE: (u32, u32) = (1280, 600);

/// Why nothing was rehearsed, or not to its end.
#[derive(Debug, thiserror::Error)]
pub(crate) enum RehearseError {
    #[error(transparent)]
    Content(#[from] ContentError),
    #[error(
        "this observer answers timed levels only; for questions choose noisy, biased, ideal, \
         always-right or random"
    )]
    TimedOnly,
    #[error(transparent)]
    Answer(#[from] AnswerError),
    #[error(transparent)]
    Records(#[from] RecordsError),
    #[error(transparent)]
    Draw(DrawError),
}

/// Stores a rehearsal where a folder was named. A learner's own results are never mixed with
/// simulated ones by default.
pub(crate) fn keep(
    options: &Options,
    store: impl FnOnce(&Records) -> Result<(), StoreError>,
) -> Result<(), RecordsError> {
    let Some(folder) = options.data_dir.as_deref() else { return Ok(()) };
    let records = Records::open(Some(folder))?;
    store(&records)?;
    say!("stored in {}", records.location());
    Ok(())
}

/// Says what was drawn into `dir`. Pictures are an extra: without an adapter the rehearsal still
/// counts.
pub(crate) fn pictured(drawn: Result<usize, DrawError>, dir: &Path) -> Result<(), RehearseError> {
    match drawn {
        Ok(0) => {}
        Ok(count) => say!("{}", written(count, dir)),
        Err(DrawError::Renderer(error)) => say!("No pictures: {error}."),
        Err(error) => return Err(RehearseError::Draw(error)),
    }
    Ok(())
}
