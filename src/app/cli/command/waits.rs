//! `frames --waits`: how long a learner waits for the next smile, in a session played in real time.

use crate::app::AppPlugin;
use crate::app::cli::exit::ExitWith;
use crate::app::picture::prepare::PictureSize;
use crate::app::picture::source::ViewportSource;
use crate::app::picture::viewport::error::RendererError;
use crate::app::picture::viewport::offscreen::{make_ready, windowless_app};
use crate::play::content::{ActiveContent, Content};
use crate::play::intents::Intent;
use crate::play::problem::Problem;
use crate::play::records::Records;
use crate::play::session::Session;
use crate::play::start::SessionOptions;
use crate::trial::{InputDevice, Phase};
use bevy::prelude::*;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// Length of a frame.
const FRAME: Duration = Duration::from_micros(16_667);
/// When the simulated learner answers, s after the response window has opened.
const ANSWER_AFTER_S: f64 = 1.5;
/// How long it reads the debrief, s.
const READ_FOR_S: f64 = 2.0;

/// Why waits cannot be measured.
#[derive(Debug, thiserror::Error)]
enum WaitsError {
    #[error(transparent)]
    Renderer(#[from] RendererError),
    #[error("there is no folder for the session's rows: {0}")]
    Folder(#[from] std::io::Error),
    #[error(transparent)]
    Records(#[from] crate::play::records::RecordsError),
    #[error("the session stopped: {0}")]
    Stopped(String),
}

pub(crate) fn run(smiles: u32, size: (u32, u32), content: Arc<dyn Content>) -> ExitWith {
    match play(smiles, size, content) {
        Ok(()) => ExitWith::success(),
        Err(error) => ExitWith::failure(error),
    }
}

fn play(
    smiles: u32,
    (width, height): (u32, u32),
    content: Arc<dyn Content>,
) -> Result<(), WaitsError> {
    let folder = tempfile::tempdir()?;
    let level = content
        .levels()
        .into_iter()
        .map(|level| level.id)
        .rfind(|id| content.plan(id, 1, Some(4)).is_ok())
        .unwrap_or_default();
    let mut app = windowless_app()?;
    app.add_plugins((AppPlugin, ViewportSource))
        .insert_resource(ActiveContent(content))
        .insert_resource(Records::open(Some(folder.path()))?)
        .insert_resource(SessionOptions { adaptation_s: Some(20.0) })
        .insert_resource(PictureSize([width, height]));
    make_ready(&mut app);
    app.world_mut().write_message(Intent::StartLevel(level));
    let mut frames = Vec::new();
    let mut due = Instant::now();
    loop {
        let began = Instant::now();
        let phase_before = app.world().get_resource::<Session>().map(Session::phase);
        app.update();
        if let Some(text) = &app.world().resource::<Problem>().0 {
            return Err(WaitsError::Stopped(text.clone()));
        }
        frames.push((phase_before, began.elapsed()));
        if let Some(session) = app.world().get_resource::<Session>() {
            if session.phase() == Phase::Finished || session.waits_s().len() >= smiles as usize {
                report(session.waits_s(), &frames);
                return Ok(());
            }
            if let Some(intent) = what_the_learner_does(session) {
                app.world_mut().write_message(intent);
            }
        }
        due = (due + FRAME).max(Instant::now());
        std::thread::sleep(due.saturating_duration_since(Instant::now()));
    }
}

fn what_the_learner_does(session: &Session) -> Option<Intent> {
    match session.phase() {
        Phase::Response { .. } if session.in_phase_s() >= ANSWER_AFTER_S => {
            Some(Intent::Answer(None, InputDevice::Simulated))
        }
        Phase::Debrief if session.in_phase_s() >= READ_FOR_S => Some(Intent::Continue),
        _ => None,
    }
}

fn report(waits_s: &[f64], frames: &[(Option<Phase>, Duration)]) {
    let sorted = |mut values: Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values
    };
    let waits = sorted(waits_s.iter().map(|s| 1000.0 * s).collect());
    let late = waits.iter().filter(|ms| **ms > 100.0).count();
    say!(
        "wait for the next smile beyond the planned grey, ms, over {} smiles: median {:.0}, worst \
         {:.0}, above 100: {late}",
        waits.len(),
        waits.get(waits.len() / 2).copied().unwrap_or_default(),
        waits.last().copied().unwrap_or_default(),
    );
    for (name, is_it) in [
        ("exposure", (|phase| matches!(phase, Phase::Exposure)) as fn(Phase) -> bool),
        ("answer awaited", |phase| matches!(phase, Phase::Response { .. })),
        ("debrief", |phase| matches!(phase, Phase::Debrief)),
    ] {
        let times = frames.iter().filter(|(phase, _)| phase.is_some_and(is_it));
        let times = sorted(times.map(|(_, time)| 1000.0 * time.as_secs_f64()).collect());
        say!(
            "work in a frame, ms, {name}: median {:.2}, worst {:.1}, of {} frames",
            times.get(times.len() / 2).copied().unwrap_or_default(),
            times.last().copied().unwrap_or_default(),
            times.len()
        );
    }
}
