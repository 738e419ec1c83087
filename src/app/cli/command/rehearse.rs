//! `rehearse`: a whole session with a simulated observer, without a window.

use crate::app::cli::arguments::{Options, Rehearse};
use crate::app::cli::command::draw::{GLANCE, draw_trials};
use crate::app::cli::command::observers::{in_words, simulated};
use crate::app::cli::command::rehearsal::{
    MODE, PICTURE_SIZE, REFRESH_HZ, RehearseError, keep, pictured,
};
use crate::app::cli::command::rounds;
use crate::app::cli::exit::ExitWith;
use crate::bake::Truth;
use crate::play::content::{Content, ContentError};
use crate::play::records::{Records, SessionStart};
use crate::psychophysics::{GlanceSummary, PooledGlance, Sight, run_simulated};
use crate::report;
use crate::results::{StoreError, TrialRow};
use crate::trial::Plan;

/// Smiles that get a picture.
const PICTURES: usize = 3;

pub(crate) fn run(arguments: &Rehearse, options: &Options, content: &dyn Content) -> ExitWith {
    match rehearse(arguments, options, content) {
        Ok(()) => ExitWith::success(),
        Err(error) => ExitWith::failure(error),
    }
}

fn rehearse(
    arguments: &Rehearse,
    options: &Options,
    content: &dyn Content,
) -> Result<(), RehearseError> {
    let (level, seed) = level_and_seed(arguments, content)?;
    if content.exercise(&level)? != GLANCE {
        return rounds::rehearse(&level, seed, arguments, options, content);
    }
    let plan = content.plan(&level, seed, arguments.trials)?;
    let truths = truths(&plan, content)?;
    let observer = simulated(arguments.observer);
    let outcomes = run_simulated(&plan, &observer, |planned| {
        let truth = truths.get(planned.trial as usize).and_then(Option::as_ref);
        Sight::planned(&plan.teeth, planned, truth, plan.timing.exposure_s)
    });
    let rows: Vec<TrialRow> = outcomes
        .iter()
        .filter_map(|outcome| {
            let index = outcome.trial as usize;
            let planned = plan.trials.get(index)?;
            let truth = truths.get(index)?.as_ref();
            Some(TrialRow::glance(&plan, MODE, planned, outcome, truth))
        })
        .collect();
    let summary = GlanceSummary::new(&outcomes);
    say!("{}\nseed {}, observer: {}\n", plan.title, plan.seed, in_words(arguments.observer));
    say!("{}", report::session_summary(&summary, &PooledGlance::of_one(summary)));
    keep(options, |records| store(&plan, &rows, records))?;
    let first = &plan.trials[..plan.trials.len().min(PICTURES)];
    pictured(draw_trials(first, PICTURE_SIZE, &arguments.out, content), &arguments.out)
}

/// The level asked for, or the easiest with timed trials, and the seed.
fn level_and_seed(
    arguments: &Rehearse,
    content: &dyn Content,
) -> Result<(String, u64), ContentError> {
    let level = match &arguments.level {
        Some(level) => level.clone(),
        None => {
            let easiest = content.levels().into_iter().find(|level| level.exercise == GLANCE);
            easiest.map(|level| level.id).unwrap_or_default()
        }
    };
    let seed = match arguments.seed {
        Some(seed) => seed,
        None => content.level_seed(&level)?,
    };
    Ok((level, seed))
}

fn truths(plan: &Plan, content: &dyn Content) -> Result<Vec<Option<Truth>>, ContentError> {
    plan.trials.iter().map(|trial| Ok(content.bake(&trial.case)?.truth)).collect()
}

fn store(plan: &Plan, rows: &[TrialRow], records: &Records) -> Result<(), StoreError> {
    let recording = records.begin(&SessionStart {
        plan,
        mode: MODE,
        refresh_hz: REFRESH_HZ,
        adapted_s: plan.timing.adaptation_s,
        cut_short: false,
        sitting: None,
    })?;
    for row in rows {
        records.append(recording, row)?;
    }
    records.finish(recording)
}
