//! Where a learner stands in a course: what is done, what was left, what comes next.

use super::roster::LearnerId;
use crate::level::course_format::{Course, Step};
use crate::results::{LogLine, Sitting, SittingEvent, StoredSession};
use crate::trial::{Exposure, Onsets, PlannedTrial, Response, TrialOutcome, Verdict};
use thiserror::Error;

/// A step that was begun and not finished.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Begun {
    /// Its session.
    pub session: i64,
    /// Trials answered.
    pub answered: u32,
}

/// Where a learner stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The step to do next, from 0; the number of steps when all are done.
    pub step: usize,
    /// What of that step was begun; forms go on where they stopped.
    pub begun: Option<Begun>,
    /// The factor on the time to answer that was granted at the first form; it holds for all.
    pub response_factor: Option<f64>,
    /// Sessions of forms, in order.
    pub form_sessions: Vec<i64>,
}

/// Why a learner cannot go on at this seat.
#[derive(Debug, Clone, PartialEq, Error)]
pub enum StandingError {
    /// The order of smiles is the seat's.
    #[error("learner {learner} began this course at seat {begun}, not at {given}; go on there")]
    OtherSeat {
        /// The learner.
        learner: LearnerId,
        /// The seat that the stored sessions name.
        begun: u64,
        /// The seat given.
        given: u64,
    },
    /// Another time to answer than at the first form.
    #[error(
        "learner {learner} was given {begun} times the time to answer, not {given}; one course is sat with \
         one time (0 is unlimited)"
    )]
    OtherTime {
        /// The learner.
        learner: LearnerId,
        /// The stored factor.
        begun: f64,
        /// The factor given.
        given: f64,
    },
}

impl Standing {
    /// Where `learner` stands by the sessions of a store, oldest first. A course is gone through
    /// in order: whatever lies before the latest step that was begun is over.
    ///
    /// # Errors
    /// [`StandingError`] when the stored sessions name another seat or another time to answer.
    pub fn of(
        course: &Course,
        learner: &LearnerId,
        seat: u64,
        response_factor: f64,
        sessions: &[StoredSession],
    ) -> Result<Self, StandingError> {
        let mut standing =
            Self { step: 0, begun: None, response_factor: None, form_sessions: Vec::new() };
        for stored in sessions {
            let Some(sitting) = Sitting::of(&stored.info.settings) else { continue };
            if sitting.course != course.id || sitting.learner != learner.as_str() {
                continue;
            }
            let Some(step) = sitting.step.map(|step| step as usize) else { continue };
            if sitting.seat != seat {
                let learner = learner.clone();
                return Err(StandingError::OtherSeat { learner, begun: sitting.seat, given: seat });
            }
            if sitting.form.is_some() {
                let begun = *standing.response_factor.get_or_insert(sitting.response_factor);
                if (begun - response_factor).abs() > 1e-9 {
                    let learner = learner.clone();
                    let given = response_factor;
                    return Err(StandingError::OtherTime { learner, begun, given });
                }
                standing.form_sessions.push(stored.session);
            }
            if step < standing.step {
                continue;
            }
            let is_over = stored.finished_at.is_some();
            standing.step = if is_over { step + 1 } else { step };
            standing.begun = (!is_over)
                .then_some(Begun { session: stored.session, answered: stored.stored_trials });
        }
        standing.step = standing.step.min(course.steps.len());
        Ok(standing)
    }

    /// Whether every form of the course is finished.
    #[must_use]
    pub fn has_sat_all_forms(&self, course: &Course) -> bool {
        let last = course.steps.iter().rposition(|step| matches!(step, Step::Form { .. }));
        last.is_none_or(|last| self.step > last)
    }
}

/// Whether the smile with number `next_trial` was on when the sitting was cut off: its cross came,
/// and no answer is stored.
#[must_use]
pub fn is_cut_off(log: &[LogLine], next_trial: u32) -> bool {
    log.iter().any(|line| line.event == SittingEvent::Shown && line.trial == Some(next_trial))
}

/// The outcome of a smile that was cut off: not answered in time, shown for nobody knows how long
/// (0 frames of those that `exposure_s` seconds are at `refresh_hz`). It is not shown again: the
/// clock of a smile does not stop for who leaves.
#[must_use]
pub fn cut_off_outcome(planned: &PlannedTrial, exposure_s: f64, refresh_hz: f64) -> TrialOutcome {
    let restored = planned.case.odd_tooth();
    TrialOutcome {
        trial: planned.trial,
        block: planned.block,
        kind: planned.kind,
        restored,
        response: Response::Timeout,
        verdict: Verdict::of(restored, Response::Timeout),
        response_time_s: None,
        exposure: Exposure {
            requested_frames: ((exposure_s * refresh_hz).round() as u32).max(1),
            shown_frames: 0,
            longest_frame_ms: 0.0,
            dropped_frames: 0,
            refresh_hz,
        },
        input_device: None,
        onsets: Onsets::default(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::level::course_format::{
        Accommodation, COURSE_FORMAT, CourseMode, FormEntry, Phase, ToothNames,
    };
    use crate::results::SessionInfo;

    fn course() -> Course {
        let talk = || Step::Talk { title: "Value".to_owned(), minutes: 1.0 };
        let form = |id: &str, phase| Step::Form { forms: vec![id.to_owned()], phase };
        Course {
            format: COURSE_FORMAT,
            id: "c".to_owned(),
            title: "C".to_owned(),
            teaches: "C".to_owned(),
            minutes: 10.0,
            mode: CourseMode::Exam,
            tooth_names: ToothNames::Places,
            exposure_s: 2.5,
            response_s: 6.0,
            accommodation: Accommodation { most_response_factor: 2.5, may_be_untimed: true },
            forms: ["a", "b"]
                .map(|id| FormEntry { id: id.to_owned(), seed: 1, per_cell: 1 })
                .to_vec(),
            steps: vec![talk(), form("a", Phase::Pre), talk(), form("b", Phase::Post), talk()],
            pass: None,
            classes: None,
        }
    }

    fn session(number: i64, step: u32, seat: u64, is_over: bool) -> StoredSession {
        let sitting = Sitting {
            course: "c".to_owned(),
            learner: "00aa00aa".to_owned(),
            seat,
            phase: Some("pre".to_owned()),
            form: Some("a".to_owned()),
            step: Some(step),
            response_factor: 1.0,
        };
        StoredSession {
            session: number,
            info: SessionInfo {
                started_at: "2026-01-31T09:30:00Z".to_owned(),
                build: "0".to_owned(),
                task: "glance".to_owned(),
                mode: "exam".to_owned(),
                level: "exam:form".to_owned(),
                seed: 1,
                refresh_hz: 60.0,
                planned_trials: 21,
                settings: sitting.in_settings(serde_json::json!({})),
            },
            finished_at: is_over.then(|| "2026-01-31T09:40:00Z".to_owned()),
            stored_trials: 7,
        }
    }

    fn standing(sessions: &[StoredSession]) -> Standing {
        let learner = "00aa00aa".parse().unwrap();
        Standing::of(&course(), &learner, 3, 1.0, sessions).unwrap()
    }

    #[test]
    fn a_course_goes_on_at_the_step_that_was_begun_or_after_the_one_that_is_over() {
        assert_eq!((standing(&[]).step, standing(&[]).begun), (0, None));
        let left = standing(&[session(5, 1, 3, false)]);
        assert_eq!((left.step, left.begun), (1, Some(Begun { session: 5, answered: 7 })));
        assert!(!left.has_sat_all_forms(&course()));
        let over = standing(&[session(5, 1, 3, true)]);
        assert_eq!((over.step, over.begun), (2, None));
        let both = standing(&[session(5, 1, 3, true), session(6, 3, 3, true)]);
        assert_eq!((both.step, both.form_sessions.as_slice()), (4, &[5, 6][..]));
        assert!(both.has_sat_all_forms(&course()));
        let mut other = session(5, 1, 3, true);
        other.info.settings["course"]["learner"] = "11bb11bb".into();
        assert_eq!(standing(&[other]).step, 0, "another learner's session is not this one's");
    }

    #[test]
    fn another_seat_or_another_time_to_answer_is_refused() {
        let learner: LearnerId = "00aa00aa".parse().unwrap();
        let sessions = [session(5, 1, 3, false)];
        let seat = Standing::of(&course(), &learner, 4, 1.0, &sessions).unwrap_err();
        assert!(seat.to_string().contains("seat 3, not at 4"), "{seat}");
        let time = Standing::of(&course(), &learner, 3, 2.0, &sessions).unwrap_err();
        assert!(time.to_string().contains("given 1 times"), "{time}");
    }

    #[test]
    fn factors_on_the_time_to_answer_end_where_the_course_says() {
        let limits = course().accommodation;
        assert_eq!(limits.choices(), [1.0, 1.5, 2.0, 2.5, 0.0]);
        assert!(limits.choices().into_iter().all(|factor| limits.allows(factor)));
        assert!(!limits.allows(3.0) && !limits.allows(0.5));
        assert_eq!(course().timing(2.0).response_s, 12.0);
        assert!(course().timing(0.0).response_s.is_infinite());
    }

    #[test]
    fn a_smile_whose_cross_came_is_cut_off_if_nothing_is_stored_for_it() {
        let line = |trial| LogLine {
            at: "2026-01-31T09:30:00.000Z".to_owned(),
            event: SittingEvent::Shown,
            trial: Some(trial),
            away_s: None,
        };
        assert!(is_cut_off(&[line(0), line(1)], 1));
        assert!(!is_cut_off(&[line(0), line(1)], 2));
    }
}
