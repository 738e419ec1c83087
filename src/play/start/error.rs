//! Why something cannot start.

use crate::play::content::ContentError;
use crate::play::measuring::StoredMeasuringError;
use crate::results::StoreError;

/// Why something cannot start.
#[derive(Debug, thiserror::Error)]
pub enum StartError {
    /// The level or course cannot be had.
    #[error(transparent)]
    Content(#[from] ContentError),
    /// The results cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The measurement cannot begin or go on.
    #[error(transparent)]
    Measuring(#[from] StoredMeasuringError),
    /// The display's fault, in words.
    #[error("This display cannot hold the exposures now. {0}")]
    Display(String),
}
