//! Opens what was laid out: alone, as a step of a course, or before a room.

use super::error::StartError;
use super::lay_out::{ChoiceOpened, FormOpened, LaidOut};
use super::measured::Measured;
use crate::bake::Truth;
use crate::course::{cut_off_outcome, is_cut_off};
use crate::exercise::Round;
use crate::level::course_format::ToothNames;
use crate::measure::FormPlan;
use crate::play::course::{ExamLog, Seat};
use crate::play::frames::FrameTimes;
use crate::play::lecture::Lecture;
use crate::play::mode::Mode;
use crate::play::problem::Problem;
use crate::play::records::{EXAM, Records};
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::wanted::Start;
use crate::results::{Recording, Sitting, SittingEvent, StoreError, TrialRow};
use crate::trial::Plan;

/// Options that hold for every session.
#[derive(Debug, Default, Clone, Copy, PartialEq)]
pub struct SessionOptions {
    /// Length of the grey adaptation, s; `None` for the level's own.
    pub adaptation_s: Option<f64>,
}

/// What runs once a start has opened.
#[derive(Debug)]
pub enum Opened {
    /// Timed trials.
    Session(Box<Session>),
    /// Questions.
    Round(Box<Exercising>),
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
    /// Nobody's seat, and no room.
    const ALONE: Self = Self { names: ToothNames::Iso3950, in_room: false };

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
    /// Opens what was laid out. Only steps of a course are opened in a place; all else is alone.
    pub(crate) fn open(
        &self,
        wanted: &Start,
        laid_out: LaidOut,
        place: Place,
        problem: &mut Problem,
    ) -> Result<Opened, StartError> {
        let (sitting, place) = match wanted {
            Start::Part(part) => (part.sitting().cloned(), place),
            Start::New(_)
            | Start::Unfinished(_)
            | Start::Measure(_)
            | Start::UnfinishedMeasure(_)
            | Start::UnfinishedChoice(_)
            | Start::Bench(_) => (None, Place::ALONE),
        };
        Ok(match laid_out {
            LaidOut::Plan(plan, goes_on) => {
                let mode = if place.in_room { Mode::Room } else { Mode::of_plan(&plan) };
                self.session(plan, mode, self.resumed(goes_on)?, sitting, place)
            }
            LaidOut::Form(opened) if place.in_room => {
                let FormOpened { form, title, .. } = *opened;
                self.session(Plan { title, ..form.plan }, Mode::Room, None, None, place)
            }
            LaidOut::Form(opened) => self.form(*opened, sitting, place)?,
            LaidOut::Measured(measured) => {
                let Measured { measuring, recording } = *measured;
                let (adaptation_s, refresh_hz) = (self.options.adaptation_s, self.refresh_hz);
                let session = Session::measure(measuring, adaptation_s, refresh_hz, recording);
                Opened::Session(Box::new(session.in_course(sitting).with_names(place.names)))
            }
            LaidOut::Round(round, goes_on) => {
                Opened::Round(Box::new(self.round(round, goes_on, sitting, place)?))
            }
            LaidOut::Choice(opened) => Opened::Round(Box::new(self.choice(*opened, problem)?)),
            LaidOut::Free(bench, back) => {
                Opened::Round(Box::new(Exercising::free(bench, back, self.refresh_hz)))
            }
        })
    }

    fn resumed(&self, session: Option<i64>) -> Result<Option<Recording>, StoreError> {
        session.map(|session| self.records.resume(session)).transpose()
    }

    fn session(
        &self,
        mut plan: Plan,
        mode: Mode,
        recording: Option<Recording>,
        sitting: Option<Sitting>,
        place: Place,
    ) -> Opened {
        if place.in_room {
            // A room does not settle its eyes: the instructor says when the first smile comes.
            plan.timing.adaptation_s = 0.0;
        } else if let Some(adaptation_s) = self.options.adaptation_s {
            plan.timing.adaptation_s = adaptation_s;
        }
        let session = Session::new(&plan, self.refresh_hz, recording).in_mode(mode);
        Opened::Session(Box::new(session.in_course(sitting).with_names(place.names)))
    }

    fn round(
        &self,
        round: Round,
        goes_on: Option<i64>,
        sitting: Option<Sitting>,
        place: Place,
    ) -> Result<Exercising, StoreError> {
        let recording = self.resumed(goes_on)?;
        let round = if place.in_room {
            Exercising::in_room(round, self.refresh_hz)
        } else {
            Exercising::new(round, self.refresh_hz, recording).in_course(sitting)
        };
        Ok(round.with_names(place.names))
    }

    fn choice(
        &self,
        opened: ChoiceOpened,
        problem: &mut Problem,
    ) -> Result<Exercising, StoreError> {
        if let Some(fault) = &opened.fault {
            problem.report(format!(
                "The measurement of choosing that was begun cannot go on: {fault}. Its answers are \
                 kept. A new one begins."
            ));
        }
        let recording = self.resumed(opened.goes_on)?;
        Ok(Exercising::choosing(opened.measurement, self.refresh_hz, recording))
    }

    fn form(
        &self,
        opened: FormOpened,
        sitting: Option<Sitting>,
        place: Place,
    ) -> Result<Opened, StoreError> {
        let mut recording = self.resumed(opened.goes_on)?;
        let FormPlan { plan, seed_keys } = opened.form;
        let plan = Plan { title: opened.title, ..plan };
        let log = match &mut recording {
            None => ExamLog::new(seed_keys),
            Some(recording) => {
                let lines = self.records.sitting_log(recording.session)?;
                let log = ExamLog::resumed(seed_keys, &lines, *recording, self.records)?;
                if is_cut_off(&lines, recording.next_trial) {
                    self.store_cut_off(&plan, &log, opened.cut_off.as_ref(), recording)?;
                }
                log
            }
        };
        Ok(self.session(plan, Mode::Exam(log), recording, sitting, place))
    }

    /// A smile that was on when the program ended is not shown again: no answer came in time.
    fn store_cut_off(
        &self,
        plan: &Plan,
        log: &ExamLog,
        truth: Option<&Truth>,
        recording: &mut Recording,
    ) -> Result<(), StoreError> {
        let trial = recording.next_trial;
        let Some(planned) = plan.trials.get(trial as usize) else { return Ok(()) };
        let outcome = cut_off_outcome(planned, plan.timing.exposure_s, self.refresh_hz);
        let mut row = TrialRow::glance(plan, EXAM, planned, &outcome, truth);
        if let Some(key) = log.seed_key(trial) {
            key.clone_into(&mut row.seed_key);
        }
        self.records.append(*recording, &row)?;
        self.records.log(recording.session, SittingEvent::CutOff, Some(trial), None)?;
        recording.next_trial += 1;
        Ok(())
    }
}
