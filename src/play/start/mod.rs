//! Starts whatever can run: waits for the refresh rate to be known, lays out the plan in the
//! background. There is one request at a time, for every kind of start: what was asked for last.

use crate::exercise::{BenchSetup, CHOICE_ID, ChoiceMeasurement, FreeBench, Round};
use crate::level::clinic::ClinicCase;
use crate::level::course_format::ToothNames;
use crate::material::Library;
use crate::measure::{FIND_ID, MEASURE_ID, Measurement, measure_config};
use crate::play::content::{ActiveContent, ContentError};
use crate::play::course::{PartWanted, Seat, part};
use crate::play::frames::{DisplayCheck, FrameTimes};
use crate::play::intents::MeasureChoice;
use crate::play::lecture::Lecture;
use crate::play::measuring::{self, Measuring};
use crate::play::problem::Problem;
use crate::play::records::{Records, Unfinished};
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::work::{Work, Workers};
use crate::results::StoreError;
use crate::trial::Plan;

/// The one exercise with timed trials.
const GLANCE: &str = "glance";
/// Seed of the first measurement in a results file; each later one adds one.
const FIRST_SEED: u64 = 9001;

/// Options that hold for every session.
#[derive(Debug, Default, Clone, Copy, PartialEq)]
pub struct SessionOptions {
    /// Length of the grey adaptation, s; `None` for the level's own.
    pub adaptation_s: Option<f64>,
}

/// Where free play was asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Origin {
    /// Where a bench is set up.
    Setup,
    /// In the form for cases.
    Case,
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

    const fn origin(&self) -> Origin {
        match self {
            Self::Setup(_) => Origin::Setup,
            Self::Case(_) => Origin::Case,
        }
    }
}

/// What can be started.
#[derive(Debug, Clone, PartialEq)]
pub enum Start {
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
    /// A step of a course.
    Part(Box<PartWanted>),
}

/// The one start that is waited for: what was asked for last. It waits for the refresh rate to be
/// known and for its plan, seconds of work off the main thread. Its work lies in the request itself,
/// so that no result of an earlier one can open.
#[derive(Debug, Default)]
pub struct PendingStart {
    request: Option<Request>,
}

#[derive(Debug)]
struct Request {
    wanted: Start,
    work: Option<Work<Result<LaidOut, ContentError>>>,
}

/// What a start is laid out as.
enum LaidOut {
    Plan(Plan, Option<Unfinished>),
    Round(Round, Option<Unfinished>),
    Free(FreeBench, Origin),
    Choice(Box<ChoiceOpened>),
    Part(part::LaidOut),
}

/// A measurement of choosing that begins or goes on.
struct ChoiceOpened {
    measurement: ChoiceMeasurement,
    /// The session that it goes on with.
    session: Option<i64>,
    /// Why what was begun cannot go on.
    reason: Option<String>,
}

impl PendingStart {
    /// Asks for a start; an earlier one that has not opened yet is forgotten. Asking for the same
    /// again changes nothing.
    pub fn ask(&mut self, wanted: Start) {
        if self.wanted() != Some(&wanted) {
            self.withdraw();
            self.request = Some(Request { wanted, work: None });
        }
    }

    /// Forgets what was asked for.
    pub fn withdraw(&mut self) {
        self.request = None;
    }

    /// What was asked for and has not opened yet.
    #[must_use]
    pub fn wanted(&self) -> Option<&Start> {
        self.request.as_ref().map(|request| &request.wanted)
    }

    /// Whether a start is waited for.
    #[must_use]
    pub const fn waits(&self) -> bool {
        self.request.is_some()
    }

    /// Whether its plan is being laid out.
    #[must_use]
    pub fn is_under_way(&self) -> bool {
        self.request.as_ref().is_some_and(|request| request.work.is_some())
    }
}

impl PendingStart {
    /// Goes on with what was asked for: lays it out, and opens it once that is done.
    pub fn advance(
        &mut self,
        opening: &Opening<'_>,
        (content, workers): (&ActiveContent, &Workers),
        place: Place,
        problem: &mut Problem,
    ) -> Option<Opened> {
        let request = self.request.as_mut()?;
        let opened = if let Some(work) = &mut request.work {
            let laid_out = work.take()?;
            let wanted = request.wanted.clone();
            laid_out
                .map_err(StartError::from)
                .and_then(|laid_out| opening.open(wanted, laid_out, place, problem))
        } else {
            match opening.begin(&request.wanted, content, workers, place.names) {
                Ok(Begun::Work(work)) => {
                    request.work = Some(work);
                    return None;
                }
                Ok(Begun::Opened(opened)) => Ok(opened),
                Err(error) => Err(error),
            }
        };
        self.request = None;
        opened.map_err(|error| problem.report(error.to_string())).ok()
    }
}

/// What runs once a start has opened.
#[derive(Debug)]
pub enum Opened {
    /// Timed trials.
    Session(Box<Session>),
    /// Questions.
    Round(Box<Exercising>),
}

/// Why a session cannot start.
#[derive(Debug, thiserror::Error)]
pub enum StartError {
    /// The level or course cannot be had.
    #[error(transparent)]
    Content(#[from] ContentError),
    /// The results cannot be read.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// In words already.
    #[error("{0}")]
    Said(String),
}

impl From<String> for StartError {
    fn from(words: String) -> Self {
        Self::Said(words)
    }
}

/// What the beginning of a start came to.
enum Begun {
    Work(Work<Result<LaidOut, ContentError>>),
    /// A measurement needs no plan.
    Opened(Opened),
}

/// Where a start opens: alone, at a seat in a course, or before a room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// How teeth are named there.
    pub names: ToothNames,
    /// Whether a room answers.
    pub in_room: bool,
}

impl Place {
    /// The place of whoever sits, or of the lecture that is on.
    #[must_use]
    pub fn of(lecture: Option<&Lecture>, seat: Option<&Seat>) -> Self {
        let course = lecture.map(Lecture::course).or_else(|| seat.map(Seat::course));
        Self {
            names: course.map_or(ToothNames::Iso3950, |course| course.tooth_names),
            in_room: lecture.is_some(),
        }
    }
}

/// What a start is opened with.
pub struct Opening<'a> {
    /// The display's measured refresh rate, Hz.
    pub refresh_hz: f64,
    /// What holds for every session.
    pub options: SessionOptions,
    /// What was done before.
    pub records: &'a Records,
    /// How long frames last.
    pub frames: &'a FrameTimes,
}

impl Opening<'_> {
    /// The rule that a learner is told on the way here: no measuring on a display that cannot.
    pub(crate) fn check_display(&self) -> Result<Option<DisplayCheck>, StartError> {
        let display = self.frames.display_check();
        match display.and_then(|check| check.fault()) {
            Some(fault) => {
                Err(format!("This display cannot hold the exposures now. {fault}").into())
            }
            None => Ok(display),
        }
    }

    /// Opens what needs no plan, and begins to lay out the others.
    fn begin(
        &self,
        wanted: &Start,
        content: &ActiveContent,
        workers: &Workers,
        names: ToothNames,
    ) -> Result<Begun, StartError> {
        let records = self.records;
        let (level, unfinished) = match wanted {
            Start::Measure(_) | Start::UnfinishedMeasure(_) => {
                let session = self.measurement(wanted)?;
                return Ok(Begun::Opened(Opened::Session(Box::new(session))));
            }
            Start::Part(part) => {
                if let PartWanted::Measure { .. } = **part {
                    let session = part::measurement(self, part, names)?;
                    return Ok(Begun::Opened(Opened::Session(Box::new(session))));
                }
                let lay_out = part::lay_out(part, &content.0, records)?;
                return Ok(Begun::Work(workers.begin(move || lay_out().map(LaidOut::Part))));
            }
            Start::Bench(wanted) => {
                let (content, wanted) = (content.0.clone(), wanted.clone());
                return Ok(Begun::Work(workers.begin(move || {
                    let bench = wanted.set_up(content.library())?;
                    Ok(LaidOut::Free(bench, wanted.origin()))
                })));
            }
            Start::New(level) if level == CHOICE_ID => {
                let seed = FIRST_SEED.wrapping_add(records.sessions_of(CHOICE_ID)?);
                let content = content.0.clone();
                return Ok(Begun::Work(workers.begin(move || {
                    let measurement = content.choice_measurement(seed)?;
                    let opened = ChoiceOpened { measurement, session: None, reason: None };
                    Ok(LaidOut::Choice(Box::new(opened)))
                })));
            }
            Start::UnfinishedChoice(session) => {
                return take_up_choice(*session, content, workers, records).map(Begun::Work);
            }
            Start::New(level) => (level, None),
            Start::Unfinished(level) => (level, records.unfinished(level)?),
        };
        if level == FIND_ID {
            self.check_display()?;
        }
        let seed = match &unfinished {
            Some(session) => session.seed,
            // A new seed for every session, yet the same one on every machine with this history.
            None => content.0.level_seed(level)?.wrapping_add(records.sessions_of(level)?),
        };
        let (content, level) = (content.0.clone(), level.clone());
        Ok(Begun::Work(workers.begin(move || {
            if content.exercise(&level)? == GLANCE {
                content.plan(&level, seed, None).map(|plan| LaidOut::Plan(plan, unfinished))
            } else {
                content.round(&level, seed, None).map(|round| LaidOut::Round(round, unfinished))
            }
        })))
    }

    /// Opens what was laid out.
    fn open(
        &self,
        wanted: Start,
        laid_out: LaidOut,
        place: Place,
        problem: &mut Problem,
    ) -> Result<Opened, StartError> {
        let resumed = |unfinished: Option<Unfinished>| {
            unfinished.map(|session| self.records.resume(session.session)).transpose()
        };
        let exercising = match laid_out {
            LaidOut::Part(laid_out) => {
                let Start::Part(part) = wanted else {
                    return Err("no step of a course was asked for".to_owned().into());
                };
                return part::open(self, *part, laid_out, place);
            }
            LaidOut::Plan(mut plan, unfinished) => {
                if let Some(adaptation_s) = self.options.adaptation_s {
                    plan.timing.adaptation_s = adaptation_s;
                }
                let session = Session::new(&plan, self.refresh_hz, resumed(unfinished)?);
                return Ok(Opened::Session(Box::new(session)));
            }
            LaidOut::Round(round, unfinished) => {
                Exercising::new(round, self.refresh_hz, resumed(unfinished)?)
            }
            LaidOut::Choice(opened) => {
                if let Some(reason) = &opened.reason {
                    problem.report(format!(
                        "The measurement of choosing that was begun cannot go on: {reason}. Its \
                         answers are kept. A new one begins."
                    ));
                }
                let recording = match opened.session {
                    Some(session) => Some(self.records.resume(session)?),
                    None => None,
                };
                Exercising::choosing(opened.measurement, self.refresh_hz, recording)
            }
            LaidOut::Free(bench, back) => Exercising::free(bench, back, self.refresh_hz),
        };
        Ok(Opened::Round(Box::new(exercising)))
    }

    fn measurement(&self, wanted: &Start) -> Result<Session, StartError> {
        let display = self.check_display()?;
        let (measurement, recording, elapsed_s) = match wanted {
            Start::UnfinishedMeasure(session) => {
                let (measurement, recording, elapsed_s) =
                    measuring::resumed(self.records, *session)?;
                (measurement, Some(recording), elapsed_s)
            }
            Start::Measure(choice) => {
                let before = self.records.sessions_of(MEASURE_ID)?;
                let config = measure_config(choice.axes());
                let new = Measurement::new(config, FIRST_SEED.wrapping_add(before));
                (new.map_err(|error| error.to_string())?, None, 0.0)
            }
            _ => return Err("no measurement was asked for".to_owned().into()),
        };
        let measuring = Measuring::new(measurement, display, elapsed_s);
        Ok(Session::measure(measuring, self.options.adaptation_s, self.refresh_hz, recording))
    }
}

/// Replays a measurement of choosing from what is stored; where that cannot be done, a new one with
/// the reason.
fn take_up_choice(
    session: i64,
    content: &ActiveContent,
    workers: &Workers,
    records: &Records,
) -> Result<Work<Result<LaidOut, ContentError>>, StartError> {
    let kept = records.sessions()?.into_iter().find(|stored| stored.session == session);
    let seed = kept.ok_or(StoreError::NoSession(session))?.info.seed;
    let new_seed = FIRST_SEED.wrapping_add(records.sessions_of(CHOICE_ID)?);
    let rows = records.answers(session).map_err(|error| error.to_string());
    let content = content.0.clone();
    Ok(workers.begin(move || {
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
    }))
}
