//! The question that a room is asked follows the smile, or the options, on the screen.

use super::ballot::{answer_of, ballot_of, ballot_of_question, truth_of};
use super::{Lecture, RoomStage};
use crate::exercise::Stage;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::trial::{Phase, TrialKind};

impl Lecture {
    /// Opens and closes the question about a smile with its phases.
    pub fn follow_smile(&mut self, session: &Session) {
        match session.phase() {
            Phase::Mask | Phase::Response { .. } => {
                if self.stage == RoomStage::Watching
                    && let Some(planned) = session.current()
                {
                    let odd = planned.case.odd_tooth();
                    let ballot = ballot_of(self.course.tooth_names, odd, &session.plan().teeth);
                    self.ask(ballot, session.plan().timing.response_s);
                }
                if let Phase::Response { remaining_s } = session.phase() {
                    self.asked_s = (self.open_s - remaining_s).max(0.0);
                }
            }
            Phase::Debrief => {
                if self.stage == RoomStage::Asked
                    && let Some(outcome) = session.last_outcome()
                {
                    let shown = session.shown().and_then(|shown| shown.scene.truth.as_ref());
                    let restored = outcome.restored.zip(shown.map(|truth| &truth.difference));
                    let truth = truth_of(session.names(), restored, &session.plan().teeth);
                    self.close(truth, outcome.kind == TrialKind::Signal);
                }
            }
            Phase::Finished => self.finish_step(),
            _ => {
                if self.stage != RoomStage::Watching {
                    self.watch();
                }
            }
        }
    }

    /// Opens and closes questions about options. A frame lasted `frame_s`.
    pub fn follow_question(&mut self, exercising: &mut Exercising, is_paused: bool, frame_s: f64) {
        let names = self.course.tooth_names;
        let question = exercising.sitting().question();
        let ballot = question.and_then(|question| ballot_of_question(names, question));
        match (exercising.sitting().stage(), self.stage) {
            (Stage::Asked, RoomStage::Watching) => {
                if let Some((ballot, ..)) = ballot {
                    // Every option is looked at.
                    let looks = ballot.choices.len() as f64 * self.course.exposure_s;
                    self.ask(ballot, self.course.response_s + looks);
                }
            }
            (Stage::Asked, RoomStage::Asked) => {
                if !is_paused {
                    self.asked_s += frame_s;
                }
                if self.asked_s >= self.open_s
                    && let Some((_, truth, has_target)) = ballot
                {
                    self.close(truth, has_target);
                }
            }
            (Stage::Asked, RoomStage::Revealed) => {
                let chosen = self.most_chosen();
                let answer = exercising.sitting().question().and_then(|q| answer_of(q, chosen));
                if let Some(answer) = answer {
                    exercising.answer_for_room(answer);
                }
            }
            (Stage::Preparing, RoomStage::Closed | RoomStage::Revealed) => self.watch(),
            (Stage::Finished, _) => self.finish_step(),
            _ => {}
        }
    }

    /// Closes a question about options before its time.
    pub fn close_question(&mut self, exercising: &Exercising) {
        let names = self.course.tooth_names;
        let question = exercising.sitting().question();
        let about = question.and_then(|question| ballot_of_question(names, question));
        if self.stage == RoomStage::Asked
            && let Some((_, truth, has_target)) = about
        {
            self.close(truth, has_target);
        }
    }
}
