//! `rehearse --measure`: a whole measurement with a simulated observer, without a window.

use crate::app::cli::arguments::{MeasureKind, Options, Rehearse};
use crate::app::cli::command::observers::{in_words, is_made_of_parameters, simulated, truth};
use crate::app::cli::command::rehearsal::{MODE, REFRESH_HZ};
use crate::app::cli::exit::ExitWith;
use crate::app::picture::eyes;
use crate::app::picture::viewport::offscreen::OffscreenRenderer;
use crate::measure::{ComposedSmile, Measurement, Rehearsal, measure_config};
use crate::play::content::Content;
use crate::play::content::shipped::Shipped;
use crate::play::intents::MeasureChoice;
use crate::play::measuring::Ended;
use crate::play::records::{Records, SessionStart};
use crate::psychophysics::instrument::{Estimate, StopReason};
use crate::psychophysics::{GlanceParameters, Sight};
use crate::report::{MeasurementReport, axis_in_words};
use crate::results::{MeasuredTrial, StoredMeasurement};
use std::error::Error;
use std::sync::Arc;

/// Seed of a rehearsed measurement unless another is given.
const SEED: u64 = 9001;

pub(crate) fn run(
    kind: MeasureKind,
    arguments: &Rehearse,
    options: &Options,
    content: &Shipped,
) -> ExitWith {
    ExitWith::of(rehearse(kind, arguments, options, content))
}

fn rehearse(
    kind: MeasureKind,
    arguments: &Rehearse,
    options: &Options,
    content: &Shipped,
) -> Result<String, Box<dyn Error + Send + Sync>> {
    let choice = match kind {
        MeasureKind::Value => MeasureChoice::Value,
        MeasureKind::All => MeasureChoice::AllAxes,
    };
    let seed = arguments.seed.unwrap_or(SEED);
    let measurement = Measurement::new(measure_config(choice.axes()), seed)?;
    let observer = simulated(arguments.observer);
    let store = match &options.data_dir {
        Some(dir) => Some(Records::open(Some(dir))?),
        None => None,
    };
    let plan = measurement.plan();
    let start = SessionStart {
        plan: &plan,
        mode: MODE,
        refresh_hz: REFRESH_HZ,
        adapted_s: 0.0,
        cut_short: false,
        sitting: None,
    };
    let recording = match &store {
        Some(records) => Some(records.begin_measurement(&start, &measurement, None)?),
        None => None,
    };
    let mut renderer = if arguments.look { Some(OffscreenRenderer::new()?) } else { None };
    let mut look = |smile: &ComposedSmile, sight: Sight| match &mut renderer {
        Some(renderer) => look_at(renderer, smile, sight, content),
        None => Ok(sight),
    };
    let mut rehearsal = Rehearsal::new(measurement);
    let most = arguments.trials.unwrap_or(u32::MAX);
    let mut trials: Vec<MeasuredTrial> = Vec::new();
    let ended = loop {
        if let Some(reason) = rehearsal.is_done() {
            break Ended::Done(reason);
        }
        if rehearsal.measurement().instrument().trials() >= most {
            break Ended::Done(StopReason::Learner);
        }
        let Some(done) = rehearsal.step(content.library(), &observer, &mut look)? else {
            break Ended::Done(StopReason::Trials);
        };
        if let (Some(records), Some(recording)) = (&store, recording) {
            let posterior = rehearsal.measurement().instrument().posterior_bytes();
            records.append_measured(recording, &done.row, &done.taken.measured, &posterior)?;
        }
        trials.push(done.taken.measured);
    };
    if let (Some(records), Some(recording)) = (&store, recording) {
        records.end_measurement(recording, ended.name())?;
    }
    let instrument = rehearsal.measurement().instrument();
    let estimate = instrument.estimate()?;
    let stored = StoredMeasurement {
        saved: instrument.saved(),
        trials,
        posterior: instrument.posterior_bytes(),
        ended_because: Some(ended.name().to_owned()),
    };
    let report = MeasurementReport::new(&estimate, &stored).text();
    let reads = if arguments.look { "the drawn pictures" } else { "the truth" };
    let true_values = if is_made_of_parameters(arguments.observer) {
        comparison(&truth(arguments.observer), &estimate)
    } else {
        "This observer has no thresholds to recover.\n".to_owned()
    };
    let stored_in =
        store.map(|records| format!("\nstored in {}", records.location())).unwrap_or_default();
    let name = in_words(arguments.observer);
    Ok(format!(
        "Measure\nseed {seed}, observer: {name}; it reads {reads}\n{}\n\n{report}\n{true_values}{stored_in}",
        ended.in_words(),
    ))
}

/// True against recovered values, a line each.
fn comparison(truth: &GlanceParameters, estimate: &Estimate) -> String {
    let mut text = String::from("                     true   found  95 %\n");
    let mut line = |name: &str, truth: f64, found: f64, low: f64, high: f64| {
        text += &format!("{name:<19} {truth:>6.2}  {found:>6.2}  {low:.2} to {high:.2}\n");
    };
    for axis in &estimate.axes {
        let found = axis.threshold_de00;
        let of_axis = truth.thresholds_de00.iter().find(|(a, _)| *a == axis.axis);
        let name = format!("threshold {}", axis_in_words(axis.axis));
        line(&name, of_axis.map_or(f64::NAN, |(_, t)| *t), found.value, found.low, found.high);
    }
    for (name, truth, found) in [
        ("criterion", truth.criterion, estimate.criterion),
        ("lapse rate", truth.lapse, estimate.lapse),
        ("confusion", truth.confusion, estimate.confusion),
        ("side bias", truth.side_bias, estimate.side_bias),
    ] {
        line(name, truth, found.value, found.low, found.high);
    }
    text
}

/// Puts what the pictures show in the place of the truth. A smile without a change has no twin to
/// differ from: its two pictures are the same.
fn look_at(
    renderer: &mut OffscreenRenderer,
    smile: &ComposedSmile,
    sight: Sight,
    content: &Shipped,
) -> Result<Sight, Box<dyn Error + Send + Sync>> {
    if smile.made.is_none() {
        return Ok(sight);
    }
    let scene = content.bake(&smile.planned.case)?;
    Ok(Sight { signal: eyes::seen(renderer, &Arc::new(scene))?, ..sight })
}
