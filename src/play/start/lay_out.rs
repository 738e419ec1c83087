//! Looks up what a start needs, and lays it out: seconds of work that can be done on another thread.

use super::error::StartError;
use super::measured::{FIRST_SEED, Measured, check_display};
use crate::bake::Truth;
use crate::course::{Begun, is_cut_off};
use crate::exercise::{CHOICE_ID, ChoiceMeasurement, FreeBench, ResumeError, Round};
use crate::level::course_format::FormEntry;
use crate::material::Library;
use crate::measure::{FIND_ID, FormPlan};
use crate::play::content::{ActiveContent, ContentError};
use crate::play::frames::FrameTimes;
use crate::play::records::Records;
use crate::play::wanted::{BenchWanted, Origin, PartWanted, Start};
use crate::results::StoreError;
use crate::trial::{Plan, Timing};

/// The one exercise with timed trials.
const GLANCE: &str = "glance";

/// What a start is laid out as; trials and questions with the session that they go on with.
#[derive(Debug)]
pub enum LaidOut {
    /// Timed trials.
    Plan(Plan, Option<i64>),
    /// Questions.
    Round(Round, Option<i64>),
    /// A form of a course.
    Form(Box<FormOpened>),
    /// Free play on the bench.
    Free(FreeBench, Origin),
    /// Choosing, measured.
    Choice(Box<ChoiceOpened>),
    /// Glances, measured.
    Measured(Box<Measured>),
}

/// A form that begins or goes on.
#[derive(Debug)]
pub struct FormOpened {
    pub(super) form: FormPlan,
    pub(super) title: String,
    /// The truth of the smile that was cut off.
    pub(super) cut_off: Option<Truth>,
    /// The session that it goes on with.
    pub(super) goes_on: Option<i64>,
}

/// A measurement of choosing that begins or goes on.
#[derive(Debug)]
pub struct ChoiceOpened {
    pub(super) measurement: ChoiceMeasurement,
    /// The session that it goes on with.
    pub(super) goes_on: Option<i64>,
    /// Why what was begun cannot go on.
    pub(super) fault: Option<ChoiceFault>,
}

/// Why a measurement of choosing that was begun cannot go on.
#[derive(Debug, thiserror::Error)]
pub(super) enum ChoiceFault {
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error(transparent)]
    Resume(#[from] ResumeError),
}

/// What lays a start out.
type Work = Box<dyn FnOnce() -> Result<LaidOut, ContentError> + Send>;

/// How far a start is once what it needs was looked up.
pub(super) enum LookedUp {
    /// It needs no plan.
    LaidOut(LaidOut),
    /// It is laid out by this.
    ToDo(Work),
}

/// Looks up what laying out a start needs.
pub(super) fn look_up(
    wanted: &Start,
    content: &ActiveContent,
    records: &Records,
    frames: &FrameTimes,
) -> Result<LookedUp, StartError> {
    let content = content.clone();
    let measured = match wanted {
        Start::Measure(choice) => Measured::new(choice.axes(), None, records, frames)?,
        Start::UnfinishedMeasure(session) => Measured::stored(*session, records, frames)?,
        Start::New(level) if level == CHOICE_ID => {
            return Ok(LookedUp::ToDo(first_choice(content, records)?));
        }
        Start::New(level) => {
            check_search(level, frames)?;
            return level_of((level, None), None, None, content, records).map(LookedUp::ToDo);
        }
        Start::Unfinished(level) => {
            let kept = records.unfinished(level)?;
            check_search(level, frames)?;
            let (goes_on, seed) = (kept.map(|kept| kept.session), kept.map(|kept| kept.seed));
            return level_of((level, None), goes_on, seed, content, records).map(LookedUp::ToDo);
        }
        Start::UnfinishedChoice(session) => {
            return take_up_choice(*session, content, records).map(LookedUp::ToDo);
        }
        Start::Bench(wanted) => {
            let wanted = wanted.clone();
            return Ok(LookedUp::ToDo(Box::new(move || {
                let bench = set_up(&wanted, content.0.library())?;
                Ok(LaidOut::Free(bench, wanted.origin()))
            })));
        }
        Start::Part(part) => match &**part {
            PartWanted::Measure { begun: Some(begun), .. } => {
                Measured::stored(begun.session, records, frames)?
            }
            PartWanted::Measure { axes, minutes, .. } => {
                Measured::new(axes.clone(), Some(*minutes), records, frames)?
            }
            PartWanted::Practice { level, trials, begun, .. } => {
                let goes_on = begun.map(|begun| begun.session);
                let seed = goes_on.map(|session| seed_of(session, records)).transpose()?.flatten();
                let level = (level.as_str(), *trials);
                return level_of(level, goes_on, seed, content, records).map(LookedUp::ToDo);
            }
            PartWanted::Form { form, seat, timing, title, begun, .. } => {
                let form = (form.clone(), *seat, *timing, title.clone());
                return form_of(form, *begun, content, records).map(LookedUp::ToDo);
            }
        },
    };
    Ok(LookedUp::LaidOut(LaidOut::Measured(Box::new(measured))))
}

/// A search is timed: it needs a display that keeps up.
fn check_search(level: &str, frames: &FrameTimes) -> Result<(), StartError> {
    if level == FIND_ID {
        check_display(frames)?;
    }
    Ok(())
}

fn seed_of(session: i64, records: &Records) -> Result<Option<u64>, StoreError> {
    let sessions = records.sessions()?;
    Ok(sessions.iter().find(|stored| stored.session == session).map(|stored| stored.info.seed))
}

/// A level with so many trials or questions; of its own number where none is given. `goes_on` and
/// `seed` are those of the session that it goes on with.
fn level_of(
    (level, trials): (&str, Option<u32>),
    goes_on: Option<i64>,
    seed: Option<u64>,
    content: ActiveContent,
    records: &Records,
) -> Result<Work, StartError> {
    let seed = match seed {
        Some(seed) => seed,
        // A new seed for every session, yet the same one on every machine with this history.
        None => content.0.level_seed(level)?.wrapping_add(records.sessions_of(level)?),
    };
    let level = level.to_owned();
    Ok(Box::new(move || {
        if content.0.exercise(&level)? == GLANCE {
            content.0.plan(&level, seed, trials).map(|plan| LaidOut::Plan(plan, goes_on))
        } else {
            content.0.round(&level, seed, trials).map(|round| LaidOut::Round(round, goes_on))
        }
    }))
}

/// A form in the order of a seat, with this timing and title.
fn form_of(
    (form, seat, timing, title): (FormEntry, u64, Timing, String),
    begun: Option<Begun>,
    content: ActiveContent,
    records: &Records,
) -> Result<Work, StartError> {
    let log = match begun {
        Some(begun) => records.sitting_log(begun.session)?,
        None => Vec::new(),
    };
    let next = begun.map_or(0, |begun| begun.answered);
    let is_cut_off = is_cut_off(&log, next);
    Ok(Box::new(move || {
        let form = content.0.form(&form, seat, timing)?;
        let cut_off = match form.plan.trials.get(next as usize) {
            Some(planned) if is_cut_off => content.0.bake(&planned.case)?.truth,
            _ => None,
        };
        let goes_on = begun.map(|begun| begun.session);
        Ok(LaidOut::Form(Box::new(FormOpened { form, title, cut_off, goes_on })))
    }))
}

fn set_up(wanted: &BenchWanted, library: &Library) -> Result<FreeBench, ContentError> {
    let said = |error: &dyn std::fmt::Display| ContentError::Bake(error.to_string());
    match wanted {
        BenchWanted::Setup(setup) => setup.set_up(library).map_err(|error| said(&error)),
        BenchWanted::Case(case) => {
            let prepared = case.prepare(library).map_err(|error| said(&error))?;
            FreeBench::of_case(&prepared, case.light, case.seed.unwrap_or(1), library)
                .map_err(|error| said(&error))
        }
    }
}

fn first_choice(content: ActiveContent, records: &Records) -> Result<Work, StoreError> {
    let seed = FIRST_SEED.wrapping_add(records.sessions_of(CHOICE_ID)?);
    Ok(Box::new(move || {
        let measurement = content.0.choice_measurement(seed)?;
        let opened = ChoiceOpened { measurement, goes_on: None, fault: None };
        Ok(LaidOut::Choice(Box::new(opened)))
    }))
}

/// Replays a measurement of choosing from what is stored; where that cannot be done, a new one with
/// the reason.
fn take_up_choice(
    session: i64,
    content: ActiveContent,
    records: &Records,
) -> Result<Work, StartError> {
    let seed = seed_of(session, records)?.ok_or(StoreError::NoSession(session))?;
    let new_seed = FIRST_SEED.wrapping_add(records.sessions_of(CHOICE_ID)?);
    let rows = records.answers(session);
    Ok(Box::new(move || {
        let start = content.0.choice_measurement(seed)?;
        let replayed = rows.map_err(ChoiceFault::from).and_then(|rows| {
            let measurement = start.resumed(&rows)?;
            measurement.check(&rows, content.0.library())?;
            Ok(measurement)
        });
        let opened = match replayed {
            Ok(measurement) => ChoiceOpened { measurement, goes_on: Some(session), fault: None },
            Err(fault) => {
                let measurement = content.0.choice_measurement(new_seed)?;
                ChoiceOpened { measurement, goes_on: None, fault: Some(fault) }
            }
        };
        Ok(LaidOut::Choice(Box::new(opened)))
    }))
}
