//! Starts sessions: waits for the refresh rate to be known, lays out the plan in the background.

use crate::app::content::{ActiveContent, ContentError};
use crate::app::exercising::Exercising;
use crate::app::frames::{DisplayCheck, FrameTimes};
use crate::app::measuring::{self, MeasureChoice, Measuring};
use crate::app::persist::{Records, Unfinished};
use crate::app::scenes::Preparation;
use crate::app::session::{AdvanceSession, Session};
use crate::app::{AppSystems, Problem, Screen};
use crate::exercise::{BenchSetup, CHOICE_ID, ChoiceMeasurement, FreeBench, Round};
use crate::level::clinic::ClinicCase;
use crate::material::Library;
use crate::measure::{FIND_ID, MEASURE_ID, Measurement, measure_config};
use crate::results::StoreError;
use crate::trial::Plan;
use bevy::prelude::*;
use bevy::tasks::{AsyncComputeTaskPool, Task, block_on, poll_once};

/// The one exercise with timed trials.
const GLANCE: &str = "glance";
/// Seed of the first measurement in a results file; each later one adds one.
const FIRST_SEED: u64 = 9001;

/// Options that hold for every session.
#[derive(Resource, Debug, Default, Clone, Copy, PartialEq)]
pub struct SessionOptions {
    /// Length of the grey adaptation, s; `None` for the level's own.
    pub adaptation_s: Option<f64>,
}

/// What free play on the bench is to begin with.
#[derive(Debug, Clone, PartialEq)]
pub enum BenchWanted {
    /// What was set up.
    Setup(BenchSetup),
    /// A case from the clinic.
    Case(Box<ClinicCase>),
}

impl BenchWanted {
    fn set_up(&self, library: &Library) -> Result<FreeBench, ContentError> {
        let said = |error: &dyn std::fmt::Display| ContentError::Bake(error.to_string());
        match self {
            Self::Setup(setup) => setup.set_up(library).map_err(|error| said(&error)),
            Self::Case(case) => {
                let prepared = case.prepare(library).map_err(|error| said(&error))?;
                FreeBench::of_case(&prepared, case.light, case.seed.unwrap_or(1), library)
                    .map_err(|error| said(&error))
            }
        }
    }

    /// The screen that it was asked for on.
    const fn back(&self) -> Screen {
        match self {
            Self::Setup(_) => Screen::BenchSetup,
            Self::Case(_) => Screen::ClinicForm,
        }
    }
}

/// A session that waits for the refresh rate to be known.
#[derive(Resource, Debug, Default, Clone, PartialEq)]
pub enum PendingStart {
    /// None waits.
    #[default]
    Nothing,
    /// A new session of this level.
    New(String),
    /// The unfinished session of this level.
    Unfinished(String),
    /// A new measurement.
    Measure(MeasureChoice),
    /// The unfinished measurement of this session.
    UnfinishedMeasure(i64),
    /// The unfinished measurement of choosing of this session.
    UnfinishedChoice(i64),
    /// Free play on the bench.
    Bench(Box<BenchWanted>),
}

/// The plan being laid out for the session that waits: seconds of work, so off the main thread.
#[derive(Resource, Default)]
pub struct Planning(Option<PlanUnderWay>);

struct PlanUnderWay {
    task: Task<Result<LaidOut, ContentError>>,
    unfinished: Option<Unfinished>,
}

/// What a level is laid out as.
enum LaidOut {
    Plan(Plan),
    Round(Round),
    Free(FreeBench, Screen),
    Choice(Box<ChoiceOpened>),
}

/// A measurement of choosing that begins or goes on.
struct ChoiceOpened {
    measurement: ChoiceMeasurement,
    /// The session that it goes on with.
    session: Option<i64>,
    /// Why what was begun cannot go on.
    reason: Option<String>,
}

impl Planning {
    /// Whether a plan is being laid out.
    #[must_use]
    pub const fn is_under_way(&self) -> bool {
        self.0.is_some()
    }
}

pub(super) fn plugin(app: &mut App) {
    app.init_resource::<SessionOptions>()
        .init_resource::<PendingStart>()
        .init_resource::<Planning>()
        .add_systems(
            Update,
            start_pending
                .run_if(not(resource_equals(PendingStart::Nothing)))
                .in_set(AppSystems::Advance)
                .after(AdvanceSession),
        );
}

fn start_pending(
    mut commands: Commands,
    mut pending: ResMut<PendingStart>,
    mut planning: ResMut<Planning>,
    frames: Res<FrameTimes>,
    content: Res<ActiveContent>,
    options: Res<SessionOptions>,
    records: Res<Records>,
    mut preparation: ResMut<Preparation>,
    mut problem: ResMut<Problem>,
    mut screen: ResMut<NextState<Screen>>,
) {
    let Some(refresh_hz) = frames.refresh_hz() else { return };
    if matches!(*pending, PendingStart::Measure(_) | PendingStart::UnfinishedMeasure(_)) {
        let wanted = std::mem::take(&mut *pending);
        let display = frames.display_check();
        // The rule that a learner is told on the way here: no measuring on a display that cannot.
        if let Some(fault) = display.and_then(|check| check.fault()) {
            problem.report(format!("This display cannot hold the exposures now. {fault}"));
            return;
        }
        match open_measurement(&wanted, display, refresh_hz, *options, &records) {
            Ok(session) => {
                preparation.clear();
                commands.remove_resource::<Exercising>();
                commands.insert_resource(session);
                screen.set(Screen::Trial);
            }
            Err(error) => problem.report(error),
        }
        return;
    }
    if let PendingStart::New(level) | PendingStart::Unfinished(level) = &*pending
        && level == FIND_ID
        && planning.0.is_none()
        && let Some(fault) = frames.display_check().and_then(|check| check.fault())
    {
        *pending = PendingStart::Nothing;
        problem.report(format!("This display cannot hold the exposures now. {fault}"));
        return;
    }
    let Some(under_way) = &mut planning.0 else {
        match begin_planning(&pending, &content, &records) {
            Ok(under_way) => planning.0 = under_way,
            Err(error) => {
                *pending = PendingStart::Nothing;
                problem.report(error.to_string());
            }
        }
        return;
    };
    let Some(laid_out) = block_on(poll_once(&mut under_way.task)) else { return };
    let unfinished = under_way.unfinished;
    planning.0 = None;
    *pending = PendingStart::Nothing;
    let opened = match laid_out {
        Ok(LaidOut::Plan(plan)) => open_session(plan, unfinished, refresh_hz, *options, &records)
            .map(|session| {
                commands.remove_resource::<Exercising>();
                commands.insert_resource(session);
                Screen::Trial
            }),
        Ok(LaidOut::Round(round)) => open_round(round, unfinished, refresh_hz, &records).map(|e| {
            commands.remove_resource::<Session>();
            commands.insert_resource(e);
            Screen::Exercise
        }),
        Ok(LaidOut::Choice(opened)) => {
            if let Some(reason) = &opened.reason {
                problem.report(format!(
                    "The measurement of choosing that was begun cannot go on: {reason}. Its answers \
                     are kept. A new one begins."
                ));
            }
            open_choice(*opened, refresh_hz, &records).map(|exercising| {
                commands.remove_resource::<Session>();
                commands.insert_resource(exercising);
                Screen::Exercise
            })
        }
        Ok(LaidOut::Free(bench, back)) => {
            commands.remove_resource::<Session>();
            commands.insert_resource(Exercising::free(bench, back, refresh_hz));
            Ok(Screen::Exercise)
        }
        Err(error) => Err(error.into()),
    };
    match opened {
        Ok(next) => {
            preparation.clear();
            screen.set(next);
        }
        Err(error) => problem.report(error.to_string()),
    }
}

/// Why a session cannot start.
#[derive(Debug, thiserror::Error)]
enum StartError {
    #[error(transparent)]
    Content(#[from] ContentError),
    #[error(transparent)]
    Store(#[from] StoreError),
}

fn begin_planning(
    wanted: &PendingStart,
    content: &ActiveContent,
    records: &Records,
) -> Result<Option<PlanUnderWay>, StartError> {
    let (level, unfinished) = match wanted {
        PendingStart::Nothing | PendingStart::Measure(_) | PendingStart::UnfinishedMeasure(_) => {
            return Ok(None);
        }
        PendingStart::Bench(wanted) => {
            let (content, wanted) = (content.0.clone(), wanted.clone());
            let task = AsyncComputeTaskPool::get().spawn(async move {
                let bench = wanted.set_up(content.library())?;
                Ok(LaidOut::Free(bench, wanted.back()))
            });
            return Ok(Some(PlanUnderWay { task, unfinished: None }));
        }
        PendingStart::New(level) if level == CHOICE_ID => {
            let seed = FIRST_SEED.wrapping_add(records.sessions_of(CHOICE_ID)?);
            let content = content.0.clone();
            let task = AsyncComputeTaskPool::get().spawn(async move {
                let measurement = content.choice_measurement(seed)?;
                let opened = ChoiceOpened { measurement, session: None, reason: None };
                Ok(LaidOut::Choice(Box::new(opened)))
            });
            return Ok(Some(PlanUnderWay { task, unfinished: None }));
        }
        PendingStart::UnfinishedChoice(session) => {
            return take_up_choice(*session, content, records).map(Some);
        }
        PendingStart::New(level) => (level, None),
        PendingStart::Unfinished(level) => (level, records.unfinished(level)?),
    };
    let seed = match &unfinished {
        Some(session) => session.seed,
        // A new seed for every session, yet the same one on every machine with this history.
        None => {
            let base = content.0.level_seed(level)?;
            base.wrapping_add(records.sessions_of(level)?)
        }
    };
    let (content, level) = (content.0.clone(), level.clone());
    let task = AsyncComputeTaskPool::get().spawn(async move {
        if content.exercise(&level)? == GLANCE {
            content.plan(&level, seed, None).map(LaidOut::Plan)
        } else {
            content.round(&level, seed, None).map(LaidOut::Round)
        }
    });
    Ok(Some(PlanUnderWay { task, unfinished }))
}

/// Replays a measurement of choosing from what is stored; where that cannot be done, a new one with
/// the reason.
fn take_up_choice(
    session: i64,
    content: &ActiveContent,
    records: &Records,
) -> Result<PlanUnderWay, StartError> {
    let kept = records.sessions()?.into_iter().find(|stored| stored.session == session);
    let seed = kept.ok_or(StoreError::NoSession(session))?.info.seed;
    let new_seed = FIRST_SEED.wrapping_add(records.sessions_of(CHOICE_ID)?);
    let rows = records.answers(session).map_err(|error| error.to_string());
    let content = content.0.clone();
    let task = AsyncComputeTaskPool::get().spawn(async move {
        let start = content.choice_measurement(seed)?;
        let replayed = rows.and_then(|rows| {
            let replayed = start.resumed(&rows).and_then(|measurement| {
                measurement.check(&rows, content.library()).map(|()| measurement)
            });
            replayed.map_err(|error| error.to_string())
        });
        let opened = match replayed {
            Ok(measurement) => ChoiceOpened { measurement, session: Some(session), reason: None },
            Err(reason) => {
                let measurement = content.choice_measurement(new_seed)?;
                ChoiceOpened { measurement, session: None, reason: Some(reason) }
            }
        };
        Ok(LaidOut::Choice(Box::new(opened)))
    });
    Ok(PlanUnderWay { task, unfinished: None })
}

fn open_choice(
    opened: ChoiceOpened,
    refresh_hz: f64,
    records: &Records,
) -> Result<Exercising, StartError> {
    let recording = match opened.session {
        Some(session) => Some(records.resume(session)?),
        None => None,
    };
    Ok(Exercising::choosing(opened.measurement, refresh_hz, recording))
}

fn open_measurement(
    wanted: &PendingStart,
    display: Option<DisplayCheck>,
    refresh_hz: f64,
    options: SessionOptions,
    records: &Records,
) -> Result<Session, String> {
    let (measurement, recording, elapsed_s) = match wanted {
        PendingStart::UnfinishedMeasure(session) => {
            let (measurement, recording, elapsed_s) = measuring::resumed(records, *session)?;
            (measurement, Some(recording), elapsed_s)
        }
        PendingStart::Measure(choice) => {
            let before = records.sessions_of(MEASURE_ID).map_err(|error| error.to_string())?;
            let config = measure_config(choice.axes());
            let new = Measurement::new(config, FIRST_SEED.wrapping_add(before));
            (new.map_err(|error| error.to_string())?, None, 0.0)
        }
        _ => return Err("no measurement was asked for".to_owned()),
    };
    let measuring = Measuring::new(measurement, display, elapsed_s);
    Ok(Session::measure(measuring, options.adaptation_s, refresh_hz, recording))
}

fn open_session(
    mut plan: Plan,
    unfinished: Option<Unfinished>,
    refresh_hz: f64,
    options: SessionOptions,
    records: &Records,
) -> Result<Session, StartError> {
    if let Some(adaptation_s) = options.adaptation_s {
        plan.timing.adaptation_s = adaptation_s;
    }
    let recording = match unfinished {
        Some(session) => Some(records.resume(session.session)?),
        None => None,
    };
    Ok(Session::new(&plan, refresh_hz, recording))
}

fn open_round(
    round: Round,
    unfinished: Option<Unfinished>,
    refresh_hz: f64,
    records: &Records,
) -> Result<Exercising, StartError> {
    let recording = match unfinished {
        Some(session) => Some(records.resume(session.session)?),
        None => None,
    };
    Ok(Exercising::new(round, refresh_hz, recording))
}
