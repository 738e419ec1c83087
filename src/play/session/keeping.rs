//! What a session writes down: rows as answers come, and what happened around them.

use super::{Desk, Session};
use crate::play::measuring::AfterAnswer;
use crate::play::problem::Problem;
use crate::play::records::{Records, SessionStart};
use crate::results::{SittingEvent, TrialRow};
use crate::trial::{Event, Input, Phase, Progress, TrialOutcome};

/// Stores what the engine completed and resets what a new phase resets.
pub(crate) fn take_in(
    session: &mut Session,
    events: &[Event],
    desk: &Desk<'_>,
    problem: &mut Problem,
) {
    let records = desk.records;
    for event in events {
        match event {
            Event::Entered(phase) => {
                let lasted_s = std::mem::take(&mut session.in_phase_s);
                if matches!(phase, Phase::Fixation) {
                    if session.last.is_some() {
                        let gap_s = session.plan().timing.gap_s;
                        session.waits_s.push((lasted_s - gap_s).max(0.0));
                    }
                    session.cursor = session.plan().teeth.len() / 2;
                    begin_recording(session, records, problem);
                    note_shown(session, records, problem);
                }
            }
            Event::Completed(outcome) => {
                session.last = Some(*outcome);
                if session.mode.measuring().is_some() {
                    measure(session, outcome, desk, problem);
                } else {
                    store(session, outcome, desk, problem);
                    if session.mode.goes_on(session.plan(), session.progress()) {
                        session.engine.handle(Input::Continue);
                    }
                }
            }
        }
    }
}

/// Begins the session's rows with its first fixation: only now is it known how long the eyes
/// adapted, and a session left before its first smile leaves no trace.
fn begin_recording(session: &mut Session, records: &Records, problem: &mut Problem) {
    if session.recording.is_some() || !session.mode.is_stored() {
        return;
    }
    let start = SessionStart {
        plan: session.plan(),
        mode: session.mode.name(),
        refresh_hz: session.refresh_hz,
        adapted_s: session.adapted_s,
        cut_short: session.cut_short,
        sitting: session.course.as_ref(),
    };
    let begun = match session.mode.measuring() {
        Some(m) => records.begin_measurement(&start, m.measurement(), m.display()),
        None => records.begin(&start),
    };
    match begun {
        Ok(recording) => {
            session.recording = Some(recording);
            if let Some(log) = session.mode.exam_mut()
                && let Err(error) = log.start(recording, records)
            {
                problem.report(format!("The start was not stored: {error}"));
            }
        }
        Err(error) => problem.report(format!("This session is not being stored: {error}")),
    }
}

/// Writes down, in an exam, that a smile's cross came. Whoever leaves from here on has seen it.
fn note_shown(session: &Session, records: &Records, problem: &mut Problem) {
    let (Some(_), Some(recording)) = (session.mode.exam(), session.recording) else { return };
    if let Err(error) = records.log(recording.session, SittingEvent::Shown, session.trial(), None) {
        problem.report(format!("The start of this smile was not stored: {error}"));
    }
}

fn store(session: &mut Session, outcome: &TrialOutcome, desk: &Desk<'_>, problem: &mut Problem) {
    let Some(shown) = session.shown.clone() else { return };
    let Some(planned) = session.plan().trials.get(outcome.trial as usize).cloned() else { return };
    if session.mode.feeds_back() {
        session.cause = desk.content.0.cause(&planned.case, &shown.scene, outcome.response);
    }
    let Some(recording) = session.recording else { return };
    let truth = shown.scene.truth.as_ref();
    let pictures = truth.and_then(|t| shown.restored.difference_to(&shown.twin, t.tooth));
    let mut row = TrialRow::glance(session.plan(), session.mode.name(), &planned, outcome, truth)
        .with_pictures(pictures);
    if let Some(log) = session.mode.exam()
        && let Some(key) = log.seed_key(outcome.trial)
    {
        key.clone_into(&mut row.seed_key);
    }
    if let Err(error) = desk.records.append(recording, &row) {
        problem.report(format!("This answer was not stored: {error}"));
    }
}

/// Takes a measured answer in: no feedback, then the next smile, a rest or the end.
fn measure(session: &mut Session, outcome: &TrialOutcome, desk: &Desk<'_>, problem: &mut Problem) {
    let Some(shown) = session.shown.clone() else { return };
    let Some(planned) = session.plan().trials.get(session.engine.index()).cloned() else { return };
    let truth = shown.scene.truth.as_ref();
    let row = TrialRow::glance(session.plan(), session.mode.name(), &planned, outcome, truth);
    let refresh_hz = desk.frames.refresh_hz().unwrap_or(session.refresh_hz);
    let recording = session.recording;
    let Some(measuring) = session.mode.measuring_mut() else { return };
    let taken = measuring.take(&row, truth, outcome, refresh_hz, |row, trial, posterior| {
        recording.map_or(Ok(()), |to| desk.records.append_measured(to, row, trial, posterior))
    });
    let input = match taken {
        Ok(AfterAnswer::GoOn) => Some(Input::Continue),
        Ok(AfterAnswer::Rest) => None,
        Ok(AfterAnswer::End) => Some(Input::Stop),
        Err(error) => {
            problem.report(format!("The measurement cannot go on: {error}"));
            Some(Input::Stop)
        }
    };
    if let Some(input) = input {
        session.engine.handle(input);
        session.in_phase_s = 0.0;
    }
}

impl Session {
    /// Writes down what is left to be written when the session is over.
    pub fn wind_up(&self, records: &Records, problem: &mut Problem) {
        log_waits(&self.waits_s);
        finish_recording(self, records, problem);
        note_left(self, records, problem);
    }
}

/// Writes down that a learner left a form before its end.
fn note_left(session: &Session, records: &Records, problem: &mut Problem) {
    let Progress { answered, total } = session.progress();
    if let (Some(_), Some(recording)) = (session.mode.exam(), session.recording)
        && answered < total
    {
        let next = Some(answered as u32);
        if let Err(error) = records.log(recording.session, SittingEvent::Left, next, None) {
            problem.report(error);
        }
    }
}

/// A session that was stopped half-way stays open, so that it can be continued.
fn finish_recording(session: &Session, records: &Records, problem: &mut Problem) {
    if let (Some(measuring), Some(recording)) = (session.mode.measuring(), session.recording) {
        // One that the learner left can be taken up again.
        if measuring.is_over()
            && let Err(error) = records.end_measurement(recording, measuring.ended().name())
        {
            problem.report(error);
        }
        return;
    }
    let progress = session.progress();
    if let Some(recording) = session.recording
        && progress.answered >= progress.total
        && let Err(error) = records.finish(recording)
    {
        problem.report(error);
    }
}

/// Says how long the learner waited for smiles.
fn log_waits(waits_s: &[f64]) {
    let mut sorted = waits_s.to_vec();
    sorted.sort_by(f64::total_cmp);
    if let Some(longest_s) = sorted.last() {
        tracing::info!(
            "waited for {} smiles beyond the planned grey: median {:.0} ms, longest {:.0} ms",
            sorted.len(),
            1000.0 * sorted[sorted.len() / 2],
            1000.0 * longest_s
        );
    }
}
