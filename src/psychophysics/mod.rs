//! Observer models and signal detection: who answers, and what their answers say.

mod glance;
mod observer;
mod signal_detection;
mod simulate;

pub use glance::GlanceSummary;
pub use observer::{AlwaysNone, GlanceEvidence, Ideal, Noisy, Observer, RandomTooth};
pub use signal_detection::{Proportion, SignalDetection};
pub use simulate::run_simulated;

/// Colour difference that half of all observers see, CIEDE2000.
///
/// # References
/// Paravina et al., J Esthet Restor Dent 2015;27 Suppl 1:S1-S9 (perceptibility 0.8; the value
/// itself from memory).
pub const PERCEPTIBILITY_DE00: f64 = 0.8;

/// Colour difference that half of all observers accept, CIEDE2000.
///
/// # References
/// Paravina et al., J Esthet Restor Dent 2015;27 Suppl 1:S1-S9 (acceptability 1.8).
pub const ACCEPTABILITY_DE00: f64 = 1.8;
