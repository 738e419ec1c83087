//! Lays out a step of a course, and opens it when its turn comes ([`crate::play::start`]).

use super::ExamLog;
use crate::bake::Truth;
use crate::course::{Begun, cut_off_outcome, is_cut_off};
use crate::exercise::Round;
use crate::level::course_format::{FormEntry, ToothNames};
use crate::measure::{FormPlan, MEASURE_ID, Measurement, measure_config};
use crate::play::content::{Content, ContentError};
use crate::play::measuring::{self, Measuring};
use crate::play::mode::Mode;
use crate::play::records::{EXAM, Records};
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::start::{Opened, Opening, Place, StartError};
use crate::psychophysics::Axis;
use crate::results::{Recording, Sitting, SittingEvent, TrialRow};
use crate::trial::{Plan, Timing};
use std::sync::Arc;

/// The one exercise with timed trials.
const GLANCE: &str = "glance";
/// Seed of the first measurement in a course; each later one adds one.
const FIRST_SEED: u64 = 9001;

/// What is to be laid out.
#[derive(Debug, Clone, PartialEq)]
pub enum PartWanted {
    /// A form; `sitting` is `None` for a room.
    Form {
        /// The form.
        form: FormEntry,
        /// Whose order.
        seat: u64,
        /// How long everything lasts.
        timing: Timing,
        /// What stands above.
        title: String,
        /// Whose it is.
        sitting: Option<Sitting>,
        /// What was begun.
        begun: Option<Begun>,
    },
    /// A level.
    Practice {
        /// Its id.
        level: String,
        /// Number of smiles or questions; `None` for the level's own.
        trials: Option<u32>,
        /// Whose it is.
        sitting: Option<Sitting>,
        /// What was begun.
        begun: Option<Begun>,
    },
    /// A measurement.
    Measure {
        /// The axes.
        axes: Vec<Axis>,
        /// When to stop at the latest, minutes.
        minutes: f64,
        /// Whose it is.
        sitting: Sitting,
        /// What was begun.
        begun: Option<Begun>,
    },
}

#[derive(Debug)]
pub(crate) enum LaidOut {
    /// The form, and the truth of the smile that was cut off.
    Form(Box<FormPlan>, Option<Truth>),
    Plan(Plan),
    Round(Round),
}

/// What lays out a part; it can be done on another thread.
pub(crate) type LayOut = Box<dyn FnOnce() -> Result<LaidOut, ContentError> + Send>;

/// Looks up what laying out a part needs.
pub(crate) fn lay_out(
    wanted: &PartWanted,
    content: &Arc<dyn Content>,
    records: &Records,
) -> Result<LayOut, String> {
    let text = |error: &dyn std::fmt::Display| error.to_string();
    let content = content.clone();
    Ok(match wanted.clone() {
        PartWanted::Form { form, seat, timing, begun, .. } => {
            let log = match begun {
                Some(begun) => records.sitting_log(begun.session).map_err(|e| text(&e))?,
                None => Vec::new(),
            };
            let next = begun.map_or(0, |begun| begun.answered);
            let cut_off = is_cut_off(&log, next);
            Box::new(move || {
                let laid_out = content.form(&form, seat, timing)?;
                let truth = match laid_out.plan.trials.get(next as usize) {
                    Some(planned) if cut_off => content.bake(&planned.case)?.truth,
                    _ => None,
                };
                Ok(LaidOut::Form(Box::new(laid_out), truth))
            })
        }
        PartWanted::Practice { level, trials, begun, .. } => {
            let sessions = records.sessions().map_err(|e| text(&e))?;
            let stored = begun.and_then(|b| sessions.iter().find(|s| s.session == b.session));
            let seed = match stored {
                Some(stored) => stored.info.seed,
                None => {
                    let before = sessions.iter().filter(|s| s.info.level == level).count();
                    let base = content.level_seed(&level).map_err(|e| text(&e))?;
                    base.wrapping_add(before as u64)
                }
            };
            Box::new(move || {
                if content.exercise(&level)? == GLANCE {
                    content.plan(&level, seed, trials).map(LaidOut::Plan)
                } else {
                    content.round(&level, seed, trials).map(LaidOut::Round)
                }
            })
        }
        PartWanted::Measure { .. } => return Err("a measurement is not laid out".to_owned()),
    })
}

/// Opens what was laid out, with the names of teeth that the course wants.
pub(crate) fn open(
    opening: &Opening<'_>,
    wanted: PartWanted,
    laid_out: LaidOut,
    place: Place,
) -> Result<Opened, StartError> {
    Ok(match opening.part(wanted, laid_out, place.in_room)? {
        Opened::Session(session) => Opened::Session(Box::new((*session).with_names(place.names))),
        Opened::Round(round) => Opened::Round(Box::new((*round).with_names(place.names))),
    })
}

/// Opens a measurement, which is not laid out.
pub(crate) fn measurement(
    opening: &Opening<'_>,
    wanted: &PartWanted,
    names: ToothNames,
) -> Result<Session, StartError> {
    Ok(opening.measured_part(wanted.clone())?.with_names(names))
}

impl Opening<'_> {
    fn part(&self, wanted: PartWanted, laid_out: LaidOut, in_room: bool) -> Result<Opened, String> {
        let (sitting, begun, title) = match wanted {
            PartWanted::Form { sitting, begun, title, .. } => (sitting, begun, Some(title)),
            PartWanted::Practice { sitting, begun, .. } => (sitting, begun, None),
            PartWanted::Measure { .. } => return Err("a measurement is not laid out".to_owned()),
        };
        let recording = match begun {
            Some(begun) => {
                Some(self.records.resume(begun.session).map_err(|error| error.to_string())?)
            }
            None => None,
        };
        match laid_out {
            LaidOut::Round(round) if in_room => {
                Ok(Opened::Round(Box::new(Exercising::in_room(round, self.refresh_hz))))
            }
            LaidOut::Round(round) => {
                let round = Exercising::new(round, self.refresh_hz, recording);
                Ok(Opened::Round(Box::new(round.in_course(sitting))))
            }
            LaidOut::Plan(plan) => self.session(plan, recording, sitting, in_room),
            LaidOut::Form(form, _) if in_room => {
                self.session(titled(form.plan, title), None, None, true)
            }
            LaidOut::Form(form, truth) => self.form(*form, title, truth, recording, sitting),
        }
    }

    fn session(
        &self,
        mut plan: Plan,
        recording: Option<Recording>,
        sitting: Option<Sitting>,
        in_room: bool,
    ) -> Result<Opened, String> {
        if in_room {
            // A room does not settle its eyes: the instructor says when the first smile comes.
            plan.timing.adaptation_s = 0.0;
        } else if let Some(adaptation_s) = self.options.adaptation_s {
            plan.timing.adaptation_s = adaptation_s;
        }
        let session = Session::new(&plan, self.refresh_hz, recording).in_course(sitting);
        let session = if in_room { session.in_mode(Mode::Room) } else { session };
        Ok(Opened::Session(Box::new(session)))
    }

    fn form(
        &self,
        form: FormPlan,
        title: Option<String>,
        truth: Option<Truth>,
        recording: Option<Recording>,
        sitting: Option<Sitting>,
    ) -> Result<Opened, String> {
        let text = |error: crate::results::StoreError| error.to_string();
        let FormPlan { plan, seed_keys } = form;
        let mut plan = titled(plan, title);
        if let Some(adaptation_s) = self.options.adaptation_s {
            plan.timing.adaptation_s = adaptation_s;
        }
        let mut recording = recording;
        let log = match &mut recording {
            None => ExamLog::new(seed_keys),
            Some(recording) => {
                let lines = self.records.sitting_log(recording.session).map_err(text)?;
                let log =
                    ExamLog::resumed(seed_keys, &lines, *recording, self.records).map_err(text)?;
                if is_cut_off(&lines, recording.next_trial) {
                    self.store_cut_off(&plan, &log, truth.as_ref(), recording)?;
                }
                log
            }
        };
        let session = Session::new(&plan, self.refresh_hz, recording).in_course(sitting);
        Ok(Opened::Session(Box::new(session.in_mode(Mode::Exam(log)))))
    }

    /// A smile that was on when the program ended is not shown again: no answer came in time.
    fn store_cut_off(
        &self,
        plan: &Plan,
        log: &ExamLog,
        truth: Option<&Truth>,
        recording: &mut Recording,
    ) -> Result<(), String> {
        let trial = recording.next_trial;
        let Some(planned) = plan.trials.get(trial as usize) else { return Ok(()) };
        let outcome = cut_off_outcome(planned, plan.timing.exposure_s, self.refresh_hz);
        let mut row = TrialRow::glance(plan, EXAM, planned, &outcome, truth);
        if let Some(key) = log.seed_key(trial) {
            key.clone_into(&mut row.seed_key);
        }
        let stored = self.records.append(*recording, &row).and_then(|()| {
            self.records.log(recording.session, SittingEvent::CutOff, Some(trial), None)
        });
        stored.map_err(|error| error.to_string())?;
        recording.next_trial += 1;
        Ok(())
    }

    fn measured_part(&self, wanted: PartWanted) -> Result<Session, StartError> {
        let PartWanted::Measure { axes, minutes, sitting, begun } = wanted else {
            return Err("no measurement was asked for".to_owned().into());
        };
        let display = self.check_display()?;
        let (measurement, recording, elapsed_s) = if let Some(begun) = begun {
            let (measurement, recording, elapsed_s) =
                measuring::resumed(self.records, begun.session)?;
            (measurement, Some(recording), elapsed_s)
        } else {
            let before = self.records.sessions_of(MEASURE_ID).map_err(|e| e.to_string())?;
            let mut config = measure_config(axes);
            config.stop.max_elapsed_s = 60.0 * minutes;
            let new = Measurement::new(config, FIRST_SEED.wrapping_add(before));
            (new.map_err(|error| error.to_string())?, None, 0.0)
        };
        let measuring = Measuring::new(measurement, display, elapsed_s);
        let session =
            Session::measure(measuring, self.options.adaptation_s, self.refresh_hz, recording);
        Ok(session.in_course(Some(sitting)))
    }
}

fn titled(plan: Plan, title: Option<String>) -> Plan {
    Plan { title: title.unwrap_or(plan.title), ..plan }
}
