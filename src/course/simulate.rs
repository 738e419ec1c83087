//! A whole course with simulated learners whose thresholds are known.
//!
//! The learners answer through [`SimulatedObserver`], which
//! shares no code with the estimates, and their sittings are stored, handed in and gathered like
//! anyone's. Differences are those that the forms ask for; nothing is drawn.

use super::form::{Form, FormError};
use super::form_item::{EXAM_SPACE, Item, TEETH};
use super::simulated_learner::{RESIDUAL_SD_DE00, SimulatedLearner};
use crate::bake::ZoneDifference;
use crate::level::course_format::{Course, Phase};
use crate::psychophysics::instrument::Answer;
use crate::psychophysics::{SeenDifference, Sight, SimulatedObserver};
use crate::random::{Purpose, StreamKey};
use crate::results::{
    AnswerRow, HandInError, HandInRequest, SessionInfo, Sitting, Store, StoreError, TrialRow,
};
use crate::scene::Tooth;
use crate::trial::{Exposure, InputDevice, Onsets, Response, TrialKind, TrialOutcome, Verdict};
use rand::RngExt;
use rand::distr::Open01;
use statrs::distribution::{ContinuousCDF, Normal};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use thiserror::Error;

const REFRESH_HZ: f64 = 60.0;

/// Why a simulated course fails.
#[derive(Debug, Error)]
pub enum SimulationError {
    /// A form cannot be made.
    #[error(transparent)]
    Form(#[from] FormError),
    /// Results cannot be stored.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A hand-in cannot be written.
    #[error(transparent)]
    HandIn(#[from] HandInError),
}

/// Natural residuals of an item's smile, the same at every seat.
fn residuals(form: &Form, item: &Item) -> Vec<f64> {
    let mut rng = StreamKey {
        form: "simulated-course",
        seed: form.seed,
        purpose: Purpose::Scene,
        block: 0,
        trial: item.number,
    }
    .stream();
    let normal = Normal::standard();
    (0..TEETH)
        .map(|_| {
            let value = RESIDUAL_SD_DE00 * normal.inverse_cdf(rng.sample::<f64, _>(Open01));
            (value * 1e4).round() / 1e4
        })
        .collect()
}

/// One sitting as rows of the trial table.
///
/// # Errors
/// [`FormError`] when the seat has no order.
pub fn simulated_sitting(
    learner: &SimulatedLearner,
    phase: usize,
    form: &Form,
    seed: u64,
) -> Result<Vec<TrialRow>, FormError> {
    let observer = learner.observer(phase);
    let order = form.order(learner.seat)?.into_iter().zip(0..);
    let rows = order.map(|(shown, trial)| {
        let mut rng = StreamKey {
            form: learner.learner.as_str(),
            seed,
            purpose: Purpose::Observer,
            block: 1 + phase as u32,
            trial,
        }
        .stream();
        row(form, shown, trial, &observer, &mut rng)
    });
    Ok(rows.collect())
}

/// An exposure that held.
const HELD: Exposure = Exposure {
    requested_frames: 150,
    shown_frames: 150,
    longest_frame_ms: 1000.0 / REFRESH_HZ,
    dropped_frames: 0,
    refresh_hz: REFRESH_HZ,
};

const fn response_of(answer: Answer) -> Response {
    match answer {
        Answer::Tooth(tooth) => Response::Tooth(tooth),
        Answer::None => Response::None,
        Answer::TimedOut | Answer::Void => Response::Timeout,
    }
}

/// One trial of a sitting: the item shown in a block, answered.
fn row(
    form: &Form,
    (block, item): (u32, Item),
    trial: u32,
    observer: &SimulatedObserver,
    rng: &mut impl rand::Rng,
) -> TrialRow {
    let item = &item;
    let teeth = Tooth::arch(TEETH);
    let position =
        |tooth: Tooth| teeth.iter().position(|t| *t == tooth).map_or(0, |i| i as u32 + 1);
    let residuals_de00 = residuals(form, item);
    let sight = Sight {
        teeth: teeth.clone(),
        residuals_de00: residuals_de00.clone(),
        signal: item.signal.map(|s| SeenDifference::on_axis(s.tooth, s.direction, s.de00)),
        exposure_s: 2.5,
        trial,
    };
    let response = response_of(observer.answer(&sight, rng));
    let seconds = 0.8 + 1.4 * rng.random::<f64>();
    let restored = item.signal.map(|s| s.tooth);
    let onset = f64::from(trial) * 8.0 + 0.75;
    let difference = sight.signal.map(|s| ZoneDifference {
        de00: item.signal.map_or(0.0, |s| s.de00),
        dl00: s.value,
        dc00: s.chroma,
        dh00: s.hue,
    });
    TrialRow {
        outcome: TrialOutcome {
            trial,
            block,
            kind: if restored.is_some() { TrialKind::Signal } else { TrialKind::Catch },
            restored,
            response,
            verdict: Verdict::of(restored, response),
            response_time_s: Some(seconds),
            exposure: HELD,
            input_device: Some(InputDevice::Simulated),
            onsets: Onsets {
                fixation_s: onset - 0.75,
                onset_s: onset,
                mask_s: onset + 2.5,
                response_s: Some(onset + 2.5 + seconds),
            },
        },
        task: "glance".to_owned(),
        mode: "exam".to_owned(),
        level: EXAM_SPACE.to_owned(),
        seed_key: form.seed_key(block, item),
        scene_seed: form.seed ^ u64::from(item.number),
        n_teeth: TEETH as u32,
        target_pos: restored.map_or(0, position),
        response_pos: match response {
            Response::Tooth(tooth) => Some(position(tooth)),
            Response::None | Response::Timeout => None,
        },
        difference,
        drawn_de00: None,
        shown: None,
        zones_de00: difference.map(|d| [d.de00; 3]),
        percentiles_de00: None,
        contralateral_de00: None,
        residuals_de00,
        recipe: None,
        light: "D65".to_owned(),
    }
}

/// Seats that hand in: one hand-in file per learner in `folder`. `progress` is told how many
/// learners are done.
///
/// # Errors
/// [`SimulationError`] when a form cannot be made or a file not be written.
pub fn simulate_hand_ins(
    course: &Course,
    learners: &[SimulatedLearner],
    day: &str,
    folder: &Path,
    progress: &mut dyn FnMut(usize),
) -> Result<Vec<PathBuf>, SimulationError> {
    simulate_hand_ins_with_answers(course, learners, &|_| Vec::new(), day, folder, progress)
}

/// As [`simulate_hand_ins`], and each learner answers questions too: `answers` gives the rows of one
/// learner's round of practice, which they agree to hand in.
///
/// # Errors
/// As [`simulate_hand_ins`].
pub fn simulate_hand_ins_with_answers(
    course: &Course,
    learners: &[SimulatedLearner],
    answers: &dyn Fn(&SimulatedLearner) -> Vec<AnswerRow>,
    day: &str,
    folder: &Path,
    progress: &mut dyn FnMut(usize),
) -> Result<Vec<PathBuf>, SimulationError> {
    let mut forms: BTreeMap<&str, Form> = BTreeMap::new();
    for entry in &course.forms {
        forms.insert(&entry.id, Form::new(entry.seed, entry.per_cell)?);
    }
    let build = env!("CARGO_PKG_VERSION");
    let mut files = Vec::new();
    for (done, learner) in learners.iter().enumerate() {
        progress(done);
        let seat = tempfile::TempDir::new_in(folder).map_err(|source| {
            SimulationError::HandIn(HandInError::Io { path: folder.to_owned(), source })
        })?;
        let store = Store::open(seat.path())?;
        for (phase_index, phase) in course.phases().into_iter().enumerate() {
            let Some(entry) = course.form_of(phase, learner.seat) else { continue };
            let Some(form) = forms.get(entry.id.as_str()) else { continue };
            let sitting = sitting(course, learner, phase, &entry.id);
            let rows = simulated_sitting(learner, phase_index, form, course.forms[0].seed)?;
            let info = SessionInfo {
                started_at: format!("{day}T09:{:02}:00Z", 20 * phase_index),
                build: build.to_owned(),
                task: "glance".to_owned(),
                mode: "exam".to_owned(),
                level: EXAM_SPACE.to_owned(),
                seed: form.seed,
                refresh_hz: REFRESH_HZ,
                planned_trials: rows.len() as u32,
                settings: sitting.in_settings(serde_json::json!({ "simulated": true })),
            };
            let recording = store.begin(&info)?;
            store.append_all(recording, &rows)?;
            store.finish(recording, &format!("{day}T09:{:02}:00Z", 20 * phase_index + 10))?;
        }
        let rows = answers(learner);
        store_round(&store, course, learner, &rows, day)?;
        let file = folder.join(format!("{}.handin", learner.learner));
        let request = HandInRequest {
            learner: learner.learner.as_str(),
            course: &course.id,
            day,
            build,
            with_practice: !rows.is_empty(),
        };
        store.hand_in(&request, &file)?;
        files.push(file);
    }
    progress(learners.len());
    Ok(files)
}

/// Keeps a round of questions as a session of the course's practice.
fn store_round(
    store: &Store,
    course: &Course,
    learner: &SimulatedLearner,
    rows: &[AnswerRow],
    day: &str,
) -> Result<(), SimulationError> {
    let Some(first) = rows.first() else { return Ok(()) };
    let sitting = Sitting { phase: None, form: None, ..sitting(course, learner, Phase::Only, "") };
    let recording = store.begin(&SessionInfo {
        started_at: format!("{day}T09:15:00Z"),
        build: env!("CARGO_PKG_VERSION").to_owned(),
        task: first.task.clone(),
        mode: "practice".to_owned(),
        level: first.level.clone(),
        seed: learner.seat,
        refresh_hz: REFRESH_HZ,
        planned_trials: rows.len() as u32,
        settings: sitting.in_settings(serde_json::json!({ "simulated": true })),
    })?;
    for row in rows {
        store.append_answer(recording, row)?;
    }
    store.finish(recording, &format!("{day}T09:19:00Z"))?;
    Ok(())
}

fn sitting(course: &Course, learner: &SimulatedLearner, phase: Phase, form: &str) -> Sitting {
    Sitting {
        course: course.id.clone(),
        learner: learner.learner.to_string(),
        seat: learner.seat,
        phase: Some(phase.name().to_owned()),
        form: Some(form.to_owned()),
        step: None,
        response_factor: 1.0,
    }
}
