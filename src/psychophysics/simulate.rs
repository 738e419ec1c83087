//! Runs a whole session with a simulated observer.

use crate::psychophysics::{Sight, SimulatedObserver};
use crate::random::{Purpose, StreamKey};
use crate::trial::{
    Engine, Event, Input, InputDevice, Phase, Plan, PlannedTrial, Response, TrialOutcome,
};

/// Refresh rate of the simulated display, Hz.
const REFRESH_HZ: f64 = 60.0;

/// Steps the trial engine through `plan` on a simulated 60 Hz display that drops nothing, with
/// `observer` answering on the first frame of the response window after the mask. `sight` is
/// asked once per trial, in order. An observer that lets time run out or names a tooth
/// that is not in the plan runs out of time.
///
/// The observer's randomness comes from a stream of its own for each trial, so one trial's answer
/// does not depend on the others.
pub fn run_simulated(
    plan: &Plan,
    observer: &SimulatedObserver,
    mut sight: impl FnMut(&PlannedTrial) -> Sight,
) -> Vec<TrialOutcome> {
    let mut engine = Engine::new(plan, REFRESH_HZ, 0);
    let mut outcomes = Vec::with_capacity(plan.trials.len());
    let mut answer = Response::Timeout;
    while engine.phase() != Phase::Finished {
        let input = match engine.phase() {
            Phase::Debrief => Input::Continue,
            _ => Input::FrameShown { duration_s: 1.0 / REFRESH_HZ },
        };
        let mut events = engine.handle(input);
        while let Some(event) = (!events.is_empty()).then(|| events.remove(0)) {
            let follow_up = match event {
                Event::Completed(outcome) => {
                    outcomes.push(outcome);
                    continue;
                }
                Event::Entered(Phase::Preparing) => {
                    let Some(trial) = engine.current() else { continue };
                    let key = StreamKey {
                        form: &plan.level_id,
                        seed: plan.seed,
                        purpose: Purpose::Observer,
                        block: trial.block,
                        trial: trial.trial,
                    };
                    answer = observer.answer(&sight(trial), &mut key.stream()).into();
                    Input::PictureReady
                }
                Event::Entered(Phase::Response { .. }) => {
                    Input::Answer(answer, InputDevice::Simulated)
                }
                Event::Entered(_) => continue,
            };
            events.extend(engine.handle(follow_up));
        }
    }
    outcomes
}
