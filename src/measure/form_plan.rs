//! A form as a session: every item's smile, in the order of a seat.

use super::session::{ComposedSmile, MeasureError, SmileRequest};
use crate::course::{EXAM_SPACE, Form, FormError, Item};
use crate::material::Library;
use crate::scene::Tooth;
use crate::trial::{Plan, PlannedTrial, Timing};
use rayon::prelude::*;
use thiserror::Error;

/// A form laid out for one seat.
#[derive(Debug, Clone, PartialEq)]
pub struct FormPlan {
    /// The smiles in the seat's order; trials are numbered by that order.
    pub plan: Plan,
    /// What is stored as each trial's seed key: it names the item, the same at every seat.
    pub seed_keys: Vec<String>,
}

/// Why a form cannot be laid out.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum FormPlanError {
    /// There is no such form.
    #[error(transparent)]
    Form(#[from] FormError),
    /// A smile cannot be made.
    #[error(transparent)]
    Smile(#[from] MeasureError),
}

/// Lays out the form of `form_seed` with `per_cell` items of each axis and level for a seat. The
/// smiles are the same at every seat; the order is the seat's own.
///
/// # Errors
/// [`FormPlanError`].
pub fn form_plan(
    library: &Library,
    form_seed: u64,
    per_cell: u8,
    seat: u64,
    timing: Timing,
) -> Result<FormPlan, FormPlanError> {
    let form = Form::new(form_seed, per_cell)?;
    let order = form.order(seat)?;
    let trials = order
        .par_iter()
        .enumerate()
        .map(|(trial, (block, item))| planned(&form, *block, item, trial as u32, library))
        .collect::<Result<Vec<PlannedTrial>, MeasureError>>()?;
    let seed_keys = order.iter().map(|(block, item)| form.seed_key(*block, item)).collect();
    let plan = Plan {
        level_id: EXAM_SPACE.to_owned(),
        title: "Form".to_owned(),
        teaches: String::new(),
        seed: form.seed,
        teeth: Tooth::arch(crate::course::TEETH),
        timing,
        trials,
    };
    Ok(FormPlan { plan, seed_keys })
}

fn planned(
    form: &Form,
    block: u32,
    item: &Item,
    trial: u32,
    library: &Library,
) -> Result<PlannedTrial, MeasureError> {
    let request = SmileRequest::exam(form.stimulus(block, item), form.seed);
    let ComposedSmile { planned, .. } = request.compose(library)?;
    Ok(PlannedTrial { trial, ..planned })
}
