//! When frames follow one another, and when the window rests until something happens.
//!
//! Frames are counted while a smile is shown, while an answer is timed, while pictures blink and while
//! the display is judged: there the window draws as fast as the display takes frames. It does so, too,
//! while something is awaited that another thread works on, since results are looked for once a frame.
//! Where nothing can change but by a key, the pointer or a phone, drawing the same again would only
//! take power and heat. So the states in which the window rests are listed here, and all others do not.

use crate::app::shell::frames::Moved;
use crate::app::shell::pace::Pace;
use crate::app::shell::state::{Pause, Screen};
use crate::exercise::{Stage, Task};
use crate::level::course_format::Step;
use crate::play::course::Seat;
use crate::play::frames::FrameTimes;
use crate::play::lecture::Lecture;
use crate::play::round::Exercising;
use crate::play::session::Session;
use crate::play::smiles::Preparation;
use crate::play::start::PendingStart;
use crate::play::view::{DebriefView, Showing};
use crate::trial::Phase;
use bevy::ecs::system::SystemParam;
use bevy::prelude::*;
use std::time::Duration;

/// How long nothing must have happened before the window rests, s. Longer than the interface's own
/// transitions, and than a picture takes to the screen once it is there.
const SETTLE_S: f64 = 0.5;
/// A resting window draws a frame this often, should anything have escaped the list.
const RESTING: Duration = Duration::from_secs(1);
/// The same while phones can join or answer: their number is on the screen.
const ROOM: Duration = Duration::from_millis(250);

/// What decides whether anything but the learner can change the screen.
#[derive(SystemParam)]
struct Doings<'w> {
    screen: Res<'w, State<Screen>>,
    pause: Res<'w, State<Pause>>,
    frames: Res<'w, FrameTimes>,
    pending: Res<'w, PendingStart>,
    preparation: Res<'w, Preparation>,
    view: Res<'w, DebriefView>,
    session: Option<Res<'w, Session>>,
    exercising: Option<Res<'w, Exercising>>,
    seat: Option<Res<'w, Seat>>,
    lecture: Option<Res<'w, Lecture>>,
}

impl Doings<'_> {
    fn is_quiet(&self) -> bool {
        let nothing_awaited = self.frames.refresh_hz().is_some()
            && !self.pending.waits()
            && self.preparation.is_at_rest();
        nothing_awaited
            && match self.screen.get() {
                Screen::Title
                | Screen::BenchSetup
                | Screen::ClinicForm
                | Screen::Summary
                | Screen::Courses
                | Screen::Seat
                | Screen::HandIn
                | Screen::Lecture
                | Screen::Measured
                | Screen::About => true,
                // The display is judged by its latest frames.
                Screen::MeasureSetup => false,
                Screen::Course => self.seat.as_deref().is_none_or(|seat| !measures(seat)),
                Screen::Trial => self.session.as_deref().is_none_or(|s| self.is_trial_quiet(s)),
                Screen::Exercise => {
                    self.exercising.as_deref().is_none_or(|e| self.is_exercise_quiet(e))
                }
            }
    }

    fn is_trial_quiet(&self, session: &Session) -> bool {
        // Between measured smiles the next is composed.
        if session.mode().measuring().is_some() {
            return false;
        }
        match session.phase() {
            Phase::Debrief => self.stands_still(),
            // The pause menu stops the clock there.
            Phase::Adaptation { .. } | Phase::Preparing => *self.pause.get() == Pause::Paused,
            Phase::Fixation
            | Phase::Exposure
            | Phase::Mask
            | Phase::Response { .. }
            | Phase::Finished => false,
        }
    }

    fn is_exercise_quiet(&self, exercising: &Exercising) -> bool {
        if exercising.mode().choosing().is_some() || exercising.is_at_work() {
            return false;
        }
        let sitting = exercising.sitting();
        match sitting.stage() {
            Stage::Preparing => !exercising.has_begun(),
            // A room's answer has its time.
            Stage::Asked if exercising.mode().is_room() => false,
            Stage::Asked => {
                let is_brief =
                    sitting.question().is_some_and(|q| matches!(q.task, Task::Verdict(_)));
                !(is_brief && exercising.may_look())
                    && (exercising.mode().free().is_none() || self.stands_still())
            }
            Stage::Marked => self.stands_still(),
            Stage::Finished => false,
        }
    }

    /// Whether the two pictures do not change by themselves.
    fn stands_still(&self) -> bool {
        !self.view.auto_blink && matches!(self.view.showing, Showing::Picture(..))
    }

    /// How long the window may wait.
    fn patience(&self) -> Duration {
        let in_room = self.session.as_deref().is_some_and(|s| s.mode().is_room());
        if in_room || self.lecture.is_some() { ROOM } else { RESTING }
    }
}

/// Whether the step that is on needs a display that keeps up.
fn measures(seat: &Seat) -> bool {
    matches!(seat.current(), Some(Step::Measure { .. } | Step::FindIt { .. }))
}

/// The step, in `Last`, that decides whether the window rests after this frame.
#[derive(SystemSet, Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct Settle;

pub(crate) fn plugin(app: &mut App) {
    app.init_resource::<Pace>().add_systems(Last, settle.in_set(Settle));
}

/// Looks at what this frame came to.
fn settle(mut pace: ResMut<Pace>, doings: Doings, moved: Res<Moved>) {
    let mut now = *pace;
    now.quiet_s = if doings.is_quiet() { now.quiet_s + moved.0.as_secs_f64() } else { 0.0 };
    now.rests = (now.quiet_s >= SETTLE_S).then(|| doings.patience());
    if now != *pace {
        *pace = now;
    }
}
