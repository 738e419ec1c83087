//! `rehearse`: a whole session with a simulated observer, without a window.

use crate::app::cli::arguments::{ObserverKind, Options, Rehearse};
use crate::app::cli::command::draw::{DrawError, draw_trials};
use crate::app::cli::exit::ExitWith;
use crate::bake::Truth;
use crate::play::content::{Content, ContentError};
use crate::play::records::{Records, SessionStart};
use crate::psychophysics::{GlanceSummary, PooledGlance, Sight, run_simulated};
use crate::report;
use crate::results::TrialRow;
use crate::trial::Plan;
use std::path::Path;

/// The exercise with timed trials.
pub(crate) const GLANCE: &str = "glance";
/// Smiles that get a picture.
const PICTURES: usize = 3;
/// Size of those pictures, pixels.
const PICTURE_SIZE: (u32, u32) = (1280, 600);
/// Refresh rate of the simulated display, Hz.
const REFRESH_HZ: f64 = 60.0;

pub(crate) fn run(arguments: &Rehearse, options: &Options, content: &dyn Content) -> ExitWith {
    let (level, seed) = match level_and_seed(arguments, content) {
        Ok(found) => found,
        Err(error) => return ExitWith::failure(error),
    };
    match content.exercise(&level) {
        Ok(GLANCE) => {}
        Ok(_) => {
            return crate::app::cli::command::rounds::rehearse(
                &level, seed, arguments, options, content,
            );
        }
        Err(error) => return ExitWith::failure(error),
    }
    let plan = match content.plan(&level, seed, arguments.trials) {
        Ok(plan) => plan,
        Err(error) => return ExitWith::failure(error),
    };
    let truths = match truths(&plan, content) {
        Ok(truths) => truths,
        Err(error) => return ExitWith::failure(error),
    };
    let observer = crate::app::cli::command::measured::simulated(arguments.observer);
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
            Some(TrialRow::glance(&plan, "rehearsal", planned, outcome, truth))
        })
        .collect();
    let summary = GlanceSummary::new(&outcomes);
    say!("{}\nseed {}, observer: {}\n", plan.title, plan.seed, in_words(arguments.observer));
    say!("{}", report::session_summary(&summary, &PooledGlance::of_one(summary)));
    if options.data_dir.is_some()
        && let Err(error) = keep(&plan, &rows, options)
    {
        return ExitWith::failure(error);
    }
    pictures(&plan, &arguments.out, content)
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

pub(crate) const fn in_words(kind: ObserverKind) -> &'static str {
    match kind {
        ObserverKind::Noisy => "sees through noise",
        ObserverKind::Biased => "sees through noise, with biases",
        ObserverKind::DarkOnly => "sees only what is too dark",
        ObserverKind::Shortcut => "reads everything but colour",
        ObserverKind::AlwaysCentral => "always names a central incisor",
        ObserverKind::Learner => "sees through noise, and learns",
        ObserverKind::Tiring => "sees through noise, and tires",
        ObserverKind::Ideal => "sees through very little noise",
        ObserverKind::AlwaysRight => "always right",
        ObserverKind::Random => "names any tooth",
        ObserverKind::AlwaysNone => "always says none",
    }
}

/// Stores a rehearsal where a folder was named. A learner's own results are never mixed with
/// simulated ones by default.
fn keep(plan: &Plan, rows: &[TrialRow], options: &Options) -> Result<(), String> {
    let records = Records::open(options.data_dir.as_deref()).map_err(|e| e.to_string())?;
    let start = SessionStart {
        plan,
        mode: "rehearsal",
        refresh_hz: REFRESH_HZ,
        adapted_s: plan.timing.adaptation_s,
        cut_short: false,
        sitting: None,
    };
    let stored = records.begin(&start).and_then(|recording| {
        for row in rows {
            records.append(recording, row)?;
        }
        records.finish(recording)
    });
    stored.map_err(|error| error.to_string())?;
    say!("stored in {}", records.location());
    Ok(())
}

/// Pictures are an extra: without an adapter the rehearsal still counts.
fn pictures(plan: &Plan, dir: &Path, content: &dyn Content) -> ExitWith {
    let first = &plan.trials[..plan.trials.len().min(PICTURES)];
    match draw_trials(first, PICTURE_SIZE, dir, content) {
        Ok(count) => {
            say!("{count} pictures in {}", crate::printable::path(dir));
            ExitWith::success()
        }
        Err(DrawError::Renderer(error)) => {
            say!("No pictures: {error}.");
            ExitWith::success()
        }
        Err(error) => ExitWith::failure(error),
    }
}
