//! A measurement as it runs: which smile comes next, what was really shown, what to keep.
//!
//! The instrument ([`crate::psychophysics::instrument`]) asks for a difference in a direction on a
//! tooth; a [`SmileRequest`] turns that into a patient and a [stimulus](solve) which the layered
//! model confirms, and [`Measurement::take`] turns the trial's outcome into the instrument's next
//! step and the row to store. A [`Rehearsal`] does all of it with a simulated observer.

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
