//! A measurement as it runs: which smile comes next, what was really shown, what to keep.
//!
//! The instrument ([`crate::psychophysics::instrument`]) asks for a difference in a direction on a
//! tooth; a [`SmileRequest`] turns that into a patient and a [stimulus](solve) which the layered
//! model confirms, and [`Measurement::take`] turns the trial's outcome into the instrument's next
//! step and the row to store. A [`Rehearsal`] does all of it with a simulated observer.
//!
//! # How a measurement runs
//! The instrument asks for a tooth, a direction and a difference. [`SmileRequest`] draws a patient
//! for the running number of the smile and solves the difference ([`solve`]); the app does that in
//! the background as soon as the answer is in, appends the trial to an open-ended engine, and the
//! rest is as in practice without a debrief. [`Measurement::take`] judges the exposure (off by two
//! refresh periods, or a frame above 50 ms: void, marked, its place is shown again as another
//! smile), and [`Store::append_measured`](crate::results::Store::append_measured) writes the
//! trial's row, the instrument's record and the posterior in one transaction. To go on, the records
//! are replayed and must lead to the stored posterior, byte for byte.
//! `tests/core/measure/measuring.rs` kills a process in the middle of a trial.
//!
//! "Find it" is an ordinary plan ([`find_plan`]) whose smiles stay until the press;
//! [`SearchTimes`](crate::psychophysics::SearchTimes) fits its hazard. Its smiles are not repeated
//! when a frame stood too long, they are left out.
//!
//! # Stimuli
//! A stimulus is a layered build-up that copies the tooth ([`BuildUp`](crate::scene::BuildUp)):
//! enamel and dentin in the tooth's own anatomy, from a cervical, a body and an incisal mass with
//! another share of pigment and opacifier. σs′ and σa of a mass are the tooth's own times
//! exp(±f/2), f a level, a tilt and a dip at 545 nm; nine numbers, solved by Newton's method
//! through the tables so that each third differs by just the wanted amount on one signed axis. It
//! is checked on the baked maps: size within 1 %, at most 0.15 ΔE00 off the axis in every third by
//! itself, nothing beyond the display. Where no such masses are found, the tooth's reflectance is
//! multiplied by the same kind of spectrum ([`SpectralShift`](crate::scene::SpectralShift)).
//!
//! In a survey of 288 stimuli (six directions, 0.3 to 6 ΔE00, incisors, canines and premolars of L
//! 72-79, C 13-19) a build-up met every one, at most 0.136 ΔE00 off the axis, with 90 % of the face
//! within 9.1 % of the size (`cargo test --no-default-features --test core -- --ignored
//! survey_of_stimuli`, a quarter to half an hour); a short form of it runs with the other tests.
//! Its 36 stimuli are all build-ups, at most 0.055 ΔE00 off the axis and 0.076 in the worst third.
//!
//! # Why
//! - **A build-up, not a crown.** Crowns and veneers bring gradients of their own: no shade of a
//!   block keeps every third within 0.15 ΔE00 of the axis. A build-up in the tooth's own layers
//!   keeps them. Measured restorations are therefore better copies than practice shows; that is
//!   what a pure difference is.
//! - **Three numbers a third.** One factor for the whole tooth is another colour difference at the
//!   neck than at the edge: with a shift of 1 ΔE00 in chroma, thirds left the axis by 0.16 ΔE00.

mod find;
mod form_plan;
mod rehearsal;
mod session;
mod stimulus;

pub use find::{FIND_CAP_S, FIND_ID, FIND_TRIALS, FindError, FindResult, find_plan};
pub use form_plan::{FormPlan, FormPlanError, form_plan};
pub use rehearsal::{Rehearsal, RehearsalError, Rehearsed};
pub use session::{
    BLOCK_TRIALS, ComposedSmile, MEASURE_ID, MeasureError, Measurement, SmileRequest, Taken,
    measure_config, missed_exposure,
};
pub use stimulus::{
    AxisStimulus, Canvas, MOST_OFF_AXIS_DE00, Means, StimulusError, off_axis_de00, solve, solve_by,
    thirds_off_axis_de00,
};
