//! The measuring instrument: chooses what to show, learns from each answer, says when to stop and
//! what was found.
//!
//! ```
//! use second_glance::psychophysics::instrument::{Answer, Config, Instrument, Shown};
//! use second_glance::psychophysics::Axis;
//! use second_glance::scene::Tooth;
//!
//! let config = Config::new(Tooth::arch(10), vec![Axis::Darker, Axis::Lighter]);
//! let mut instrument = Instrument::new(config, 42)?;
//! let elapsed_s = 0.0; // the caller's clock
//! while instrument.is_done(elapsed_s).is_none() {
//!     let Some(stimulus) = instrument.next_stimulus() else { break };
//!     // Show it: `stimulus.signal` is `None` on a catch trial. Then say what was really shown.
//!     let shown = Shown {
//!         de00: stimulus.signal.map_or(0.0, |signal| signal.de00),
//!         residuals_de00: vec![0.0; 10],
//!         exposure_s: 2.5,
//!     };
//!     // Here every answer is "none"; a dropped exposure would be `Answer::Void`.
//!     instrument.record(shown, Answer::None)?;
//!     // Save after every trial: `Instrument::resume` goes on exactly here.
//!     let saved = instrument.saved();
//!     # if saved.records.len() == 3 { break }
//! }
//! let estimate = instrument.estimate()?;
//! assert!(!estimate.axes[0].measured); // three answers say nothing yet
//! # Ok::<(), second_glance::psychophysics::instrument::InstrumentError>(())
//! ```
//!
//! [`next_stimulus`](Instrument::next_stimulus) has no side effect: it answers the same until
//! [`record`](Instrument::record) is called. Blocks hold 20 trials, exactly 5 of them catch
//! trials; positions come from [`trial::schedule`](crate::trial::schedule); axes take turns in
//! random order, equally often. The difference to show is chosen by expected information on the
//! axis whose turn it is; one signal trial in ten is an easy one. A void trial is shown again, with
//! another scene, at the end of its block.
//!
//! The posterior used for choosing has a simple observer in it. What is reported is the posterior
//! of the full observer given all trials, because the simple one overstates thresholds when
//! natural variation, side bias or distance from the midline matter. Every figure is its median and
//! its middle 95 %.
//!
//! # What its gates allow
//! `tests/gates` sends simulated observers through the instrument; their parameters must come back.
//! The short gates add two standard errors of the simulation to every gate; the long ones (400 runs
//! a cell, `tests/gates/recovery.md`) add nothing. Speed (`cargo bench --no-default-features
//! --bench measure`): beside seventeen other processes on two cores, learning and choosing on four
//! axes 2.6 ms (at most 4), report of 160 trials on four axes 1.4 s (at most 2), 0.33 s of
//! processor time; on a quieter machine choosing took 0.37 ms.
//!
//! **What 60 trials can tell of the criterion.** Its gate was 0.20. The posterior under the very
//! law that the simulated learners are drawn from, the best estimate there is, has an RMSE of 0.194
//! (mean variance over 200 runs; 0.219 found in them, where the report has 0.221), and 400 runs are
//! uncertain by 0.007: even it would miss 0.20 in one seed of five. Who knew threshold, exponent,
//! confusion and lapses would have 0.130. The gate is 0.194 and two standard errors, 0.208; the
//! report has 0.202.

mod config;
mod estimate;
mod online;
mod places;
mod report;
mod session;

pub use config::{
    Answer, Config, InstrumentError, Record, Saved, Shown, Signal, Stimulus, StopReason, StopRule,
};
pub use estimate::{AxisEstimate, Counts, Estimate, FalseAlarms, Interval, ValueAsymmetry};
pub use online::OnlineModel;
pub use session::{AxisProgress, Instrument};
