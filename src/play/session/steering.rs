//! What moves a session on: frames that pass, and what is asked for.

use super::keeping::take_in;
use super::{Desk, Session};
use crate::play::around::around;
use crate::play::content::ActiveContent;
use crate::play::intents::Intent;
use crate::play::problem::Problem;
use crate::play::smiles::Preparation;
use crate::play::work::Workers;
use crate::trial::{Engine, Event, Input, InputDevice, Phase, Response};

impl Session {
    /// Lets a frame that lasted `duration_s` pass, and takes the picture when it is there. While the
    /// pause menu is open, time stands still where it can.
    pub fn pass(
        &mut self,
        duration_s: f64,
        is_paused: bool,
        preparation: &Preparation,
        desk: &Desk<'_>,
        problem: &mut Problem,
    ) {
        if is_paused && self.can_stand_still() {
            return;
        }
        let before = self.phase();
        self.in_phase_s += duration_s;
        if matches!(before, Phase::Adaptation { .. }) {
            self.adapted_s += duration_s;
        }
        if let Some(measuring) = self.mode.measuring_mut() {
            measuring.pass(before, duration_s);
        }
        let mut events = Vec::new();
        if matches!(before, Phase::Adaptation { .. } | Phase::Preparing)
            && preparation.is_settled()
            && let Some(prepared) = self.next_case().and_then(|case| preparation.ready(case))
        {
            self.shown = Some(prepared.clone());
            events.extend(self.engine.handle(Input::PictureReady));
        }
        events.extend(self.engine.handle(Input::FrameShown { duration_s }));
        take_in(self, &events, desk, problem);
    }

    /// Does what is asked for in a trial.
    pub fn handle(&mut self, intent: &Intent, desk: &Desk<'_>, problem: &mut Problem) {
        let events = steer(self, intent);
        take_in(self, &events, desk, problem);
    }

    /// Takes no more answers of a room: the smile is over, and what the room answered is the poll's.
    pub fn close_for_room(&mut self) {
        let answer = Input::Answer(Response::None, InputDevice::Simulated);
        for event in self.engine.handle(answer) {
            if let Event::Completed(outcome) = event {
                self.last = Some(outcome);
            }
        }
    }

    /// Whether a room is asked or told about the smile: what is on is drawn for the room.
    #[must_use]
    pub fn is_before_a_room(&self) -> bool {
        let is_asked =
            matches!(self.phase(), Phase::Mask | Phase::Response { .. } | Phase::Debrief);
        self.mode.is_room() && is_asked
    }

    /// Whether the smile on screen has a restored tooth to compare with its twin.
    #[must_use]
    pub fn has_twin(&self) -> bool {
        self.shown().is_some_and(|shown| shown.scene.truth.is_some())
    }

    /// Ends where the smile that is due cannot be made; the reason is on screen already.
    pub fn stop_if_failed(&mut self, preparation: &Preparation) {
        let is_due = matches!(self.phase(), Phase::Adaptation { .. } | Phase::Preparing);
        if is_due && self.next_case().is_some_and(|case| preparation.has_failed(case)) {
            self.engine.handle(Input::Stop);
        }
    }

    /// Says which smiles are wanted next, for pictures of `size`, pixels.
    pub fn want_smiles(&mut self, preparation: &mut Preparation, size: [u32; 2]) {
        // In the debrief the smile follows the window's size.
        let is_shown = self.phase() == Phase::Debrief && self.mode.feeds_back();
        let outdated = self.shown.as_ref().filter(|shown| is_shown && shown.size() != size);
        let again = outdated.zip(self.engine.current().map(|planned| &planned.case));
        match (self.wanted(), again) {
            (Some((mut cases, leave)), Some((shown, case))) => {
                cases.insert(0, case);
                preparation.want(&cases, leave);
                preparation.take_up(case, shown);
                let drawn = preparation.ready(case).filter(|drawn| drawn.size() == size);
                if let Some(drawn) = drawn.cloned() {
                    self.shown = Some(drawn);
                }
            }
            (Some((cases, leave)), None) => preparation.want(&cases, leave),
            (None, _) => preparation.pause(),
        }
    }

    /// Composes the next smile of a measurement whenever none is there, and appends it to the plan;
    /// while an answer is awaited, the smiles that may follow it. Never during an exposure.
    pub fn compose(&mut self, content: &ActiveContent, workers: &Workers, problem: &mut Problem) {
        match self.phase() {
            Phase::Adaptation { .. } | Phase::Preparing | Phase::Debrief => {}
            Phase::Response { .. } => return self.foresee(content, workers),
            _ => return,
        }
        let Some(measuring) = self.mode.measuring_mut() else { return };
        measuring.begin_composing(content, workers);
        match measuring.finish_composing() {
            Some(Ok(smile)) => self.append(smile.planned),
            Some(Err(error)) => {
                problem.report(error);
                self.stop();
            }
            None => {}
        }
    }
}

/// Applies an intent that belongs to a trial.
fn steer(session: &mut Session, intent: &Intent) -> Vec<Event> {
    let teeth = session.plan().teeth.len();
    match *intent {
        Intent::StartNow => start_now(session),
        Intent::MoveCursor(by) => {
            session.cursor = around(session.cursor, by, teeth + 1);
            Vec::new()
        }
        Intent::AnswerAtCursor => answer_place(session, session.cursor),
        Intent::AnswerPlace(place) if place < teeth => answer_place(session, place),
        Intent::Answer(tooth, device) => {
            let response = tooth.map_or(Response::None, Response::Tooth);
            session.engine.handle(Input::Answer(response, device))
        }
        Intent::Seen => session.engine.handle(Input::Seen),
        Intent::Continue => session.engine.handle(Input::Continue),
        Intent::StopSession => session.engine.handle(Input::Stop),
        _ => Vec::new(),
    }
}

fn answer_place(session: &mut Session, place: usize) -> Vec<Event> {
    let response = session.plan().teeth.get(place).map_or(Response::None, |t| Response::Tooth(*t));
    session.engine.handle(Input::Answer(response, InputDevice::Keyboard))
}

/// Ends the adaptation: the engine starts over, at the same trial, without one.
fn start_now(session: &mut Session) -> Vec<Event> {
    if let Phase::Adaptation { .. } = session.phase() {
        let mut plan = session.plan().clone();
        plan.timing.adaptation_s = 0.0;
        let answered = session.progress().answered;
        session.engine = if session.mode.measuring().is_some() {
            Engine::open_ended(&plan, session.refresh_hz)
        } else {
            Engine::new(&plan, session.refresh_hz, answered)
        };
        session.cut_short = true;
    }
    Vec::new()
}
