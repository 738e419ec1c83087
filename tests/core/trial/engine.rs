//! The engine, driven frame by frame from outside.

use crate::shared::plan::plan;
use crate::shared::sights::nothing;
use proptest::prelude::*;
use second_glance::psychophysics::{SimulatedObserver, run_simulated};
use second_glance::scene::Tooth;
use second_glance::trial::{
    Engine, Event, Input, InputDevice, Phase, Plan, Progress, Response, TrialOutcome, Verdict,
};

/// Sends one frame length until the phase changes; returns the frames needed and the events of
/// the last.
fn run_phase(engine: &mut Engine, duration_s: f64) -> (usize, Vec<Event>) {
    for frames in 1..100_000 {
        let events = engine.handle(Input::FrameShown { duration_s });
        if !events.is_empty() {
            return (frames, events);
        }
    }
    panic!("stuck in {:?}", engine.phase());
}

fn at_exposure(plan: &Plan, hz: f64) -> Engine {
    let mut engine = Engine::new(plan, hz, 0);
    engine.handle(Input::PictureReady);
    run_phase(&mut engine, 1.0 / hz);
    run_phase(&mut engine, 1.0 / hz);
    assert_eq!(engine.phase(), Phase::Exposure);
    engine
}

fn completed(events: &[Event]) -> TrialOutcome {
    match events {
        [Event::Completed(outcome), Event::Entered(Phase::Debrief)] => *outcome,
        other => panic!("not a completion: {other:?}"),
    }
}

#[test]
fn a_steady_display_counts_frames() {
    for hz in [50.0, 59.94, 60.0, 75.0, 120.0, 144.0, 240.0] {
        let plan = plan(1, 4);
        let mut engine = Engine::new(&plan, hz, 0);
        let frame = 1.0 / hz;
        assert_eq!(engine.phase(), Phase::Adaptation { remaining_s: 60.0 });
        assert_eq!(engine.current(), Some(&plan.trials[0]));

        let (frames, events) = run_phase(&mut engine, frame);
        assert_eq!(frames, (60.0 * hz).round() as usize);
        assert_eq!(events, [Event::Entered(Phase::Preparing)]);
        for _ in 0..500 {
            assert_eq!(engine.handle(Input::FrameShown { duration_s: frame }), []);
        }
        assert_eq!(engine.handle(Input::PictureReady), [Event::Entered(Phase::Fixation)]);
        let (frames, events) = run_phase(&mut engine, frame);
        let fixation_s = frames as f64 * frame;
        assert!((0.5 - frame..=0.9 + frame).contains(&fixation_s), "{fixation_s} s");
        assert_eq!(events, [Event::Entered(Phase::Exposure)]);
        let (frames, events) = run_phase(&mut engine, frame);
        assert_eq!(frames, (2.5 * hz).round() as usize);
        assert_eq!(events, [Event::Entered(Phase::Mask)]);
        let (frames, _) = run_phase(&mut engine, frame);
        assert_eq!(frames, (0.3 * hz).round() as usize);
        assert!(matches!(engine.phase(), Phase::Response { .. }));
        for _ in 0..30 {
            engine.handle(Input::FrameShown { duration_s: frame });
        }
        let tooth = plan.teeth[3];
        let answer = Input::Answer(Response::Tooth(tooth), InputDevice::Pointer);
        let outcome = completed(&engine.handle(answer));
        assert_eq!(outcome.exposure.shown_frames, outcome.exposure.requested_frames);
        assert_eq!(outcome.exposure.dropped_frames, 0);
        assert!((outcome.exposure.longest_frame_ms - 1000.0 * frame).abs() < 1e-9);
        assert!((outcome.onsets.mask_s - outcome.onsets.onset_s - 2.5).abs() <= frame / 2.0 + 1e-9);
        let mask_frames = (0.3 * hz).round();
        let expected = (mask_frames + 30.0) * frame;
        assert!((outcome.response_time_s.unwrap() - expected).abs() < 1e-9);
        assert_eq!(outcome.input_device, Some(InputDevice::Pointer));
        assert_eq!(engine.current(), Some(&plan.trials[0]), "still in its debrief");
    }
}

#[test]
fn a_slow_display_does_not_show_longer() {
    // 20 frames a second on a 60 Hz display: each frame misses two refreshes.
    let mut engine = at_exposure(&plan(1, 4), 60.0);
    let (frames, _) = run_phase(&mut engine, 1.0 / 20.0);
    assert_eq!(frames, 50);
    let (_, _) = run_phase(&mut engine, 1.0 / 60.0);
    let outcome = completed(&engine.handle(Input::Answer(Response::None, InputDevice::Keyboard)));
    assert_eq!(outcome.exposure.requested_frames, 150);
    assert_eq!(outcome.exposure.shown_frames, 50);
    assert_eq!(outcome.exposure.dropped_frames, 100);
    assert!((outcome.exposure.longest_frame_ms - 50.0).abs() < 1e-9);
    assert!((outcome.onsets.mask_s - outcome.onsets.onset_s - 2.5).abs() < 1e-9);
}

#[test]
fn only_frames_over_120_percent_count_as_dropped() {
    for (long_ms, dropped) in [(19.9, 0), (20.1, 1), (33.4, 1), (50.0, 2), (500.0, 29)] {
        let mut engine = at_exposure(&plan(1, 4), 60.0);
        engine.handle(Input::FrameShown { duration_s: long_ms / 1000.0 });
        run_phase(&mut engine, 1.0 / 60.0);
        let outcome =
            completed(&engine.handle(Input::Answer(Response::None, InputDevice::Keyboard)));
        assert_eq!(outcome.exposure.dropped_frames, dropped, "{long_ms} ms");
        assert!((outcome.exposure.longest_frame_ms - long_ms).abs() < 1e-9);
    }
}

#[test]
fn timer_jitter_costs_no_frame() {
    // Frame times seen by a program scatter around the refresh period while the display does not.
    let mut engine = at_exposure(&plan(1, 4), 60.0);
    let mut shown = 0;
    while engine.phase() == Phase::Exposure {
        let jitter_s = if shown % 2 == 0 { 0.003 } else { -0.003 };
        engine.handle(Input::FrameShown { duration_s: 1.0 / 60.0 + jitter_s });
        shown += 1;
    }
    assert_eq!(shown, 150);
}

#[test]
fn answers_count_from_mask_onset() {
    let plan = plan(1, 4);
    let answer = Input::Answer(Response::None, InputDevice::Keyboard);
    let mut engine = Engine::new(&plan, 60.0, 0);
    assert_eq!(engine.handle(answer), []);
    let mut engine = at_exposure(&plan, 60.0);
    assert_eq!(engine.handle(answer), [], "ignored during the exposure");
    let (frames, _) = run_phase(&mut engine, 1.0 / 60.0);
    assert_eq!(frames, 150, "and the exposure is not cut short");
    assert_eq!(engine.phase(), Phase::Mask);
    let stranger = Response::Tooth(Tooth::new(18).unwrap());
    assert_eq!(engine.handle(Input::Answer(stranger, InputDevice::Pointer)), []);
    let timeout = Input::Answer(Response::Timeout, InputDevice::Pointer);
    assert_eq!(engine.handle(timeout), []);
    let outcome = completed(&engine.handle(answer));
    assert_eq!(outcome.response_time_s, Some(0.0));
    assert_eq!(engine.handle(answer), [], "once only");
}

#[test]
fn no_answer_in_the_window_is_a_timeout() {
    let mut engine = at_exposure(&plan(1, 4), 60.0);
    run_phase(&mut engine, 1.0 / 60.0);
    let (mask, _) = run_phase(&mut engine, 1.0 / 60.0);
    let (response, events) = run_phase(&mut engine, 1.0 / 60.0);
    // The window opens with the mask and is 6 s long. One frame of slack for rounding of the sum.
    assert!((360..=361).contains(&(mask + response)), "{} frames", mask + response);
    let outcome = completed(&events);
    assert_eq!(outcome.verdict, Verdict::TimedOut);
    assert_eq!(outcome.response_time_s, None);
    assert_eq!(outcome.onsets.response_s, None);
    assert_eq!(outcome.input_device, None);
}

#[test]
fn the_next_trial_waits_for_gap_and_picture() {
    let plan = plan(1, 2);
    let answer = Input::Answer(Response::None, InputDevice::Keyboard);
    let mut engine = at_exposure(&plan, 60.0);
    run_phase(&mut engine, 1.0 / 60.0);
    engine.handle(answer);
    for _ in 0..600 {
        assert_eq!(engine.handle(Input::FrameShown { duration_s: 1.0 / 60.0 }), []);
    }
    assert_eq!(engine.handle(Input::PictureReady), [], "not the next trial's");
    assert_eq!(engine.handle(Input::Continue), [Event::Entered(Phase::Preparing)]);
    assert_eq!(engine.current(), Some(&plan.trials[1]));
    assert_eq!(engine.progress(), Progress { answered: 1, total: 2 });
    assert_eq!(engine.handle(Input::PictureReady), [], "the gap is due first");
    let (frames, events) = run_phase(&mut engine, 1.0 / 60.0);
    assert!((60..=61).contains(&frames), "{frames} frames");
    assert_eq!(events, [Event::Entered(Phase::Fixation)]);

    for _ in 0..2 {
        run_phase(&mut engine, 1.0 / 60.0);
    }
    engine.handle(answer);
    assert_eq!(engine.handle(Input::Continue), [Event::Entered(Phase::Finished)]);
    assert_eq!(engine.current(), None);
    assert_eq!(engine.progress(), Progress { answered: 2, total: 2 });
    assert_eq!(engine.handle(Input::PictureReady), []);
}

#[test]
fn stop_ends_any_phase() {
    let plan = plan(1, 2);
    let mut engine = at_exposure(&plan, 60.0);
    loop {
        let mut stopped = engine.clone();
        assert_eq!(stopped.handle(Input::Stop), [Event::Entered(Phase::Finished)]);
        assert_eq!(stopped.handle(Input::FrameShown { duration_s: 1.0 }), []);
        assert_eq!(stopped.progress().answered, engine.progress().answered);
        if engine.phase() == Phase::Debrief {
            break;
        }
        run_phase(&mut engine, 1.0 / 60.0);
    }
    assert_eq!(engine.progress().answered, 1);
}

#[test]
fn a_resumed_session_goes_on_where_it_was() {
    let plan = plan(1, 4);
    let mut engine = Engine::new(&plan, 60.0, 2);
    assert!(matches!(engine.phase(), Phase::Adaptation { .. }), "eyes adapt again");
    assert_eq!(engine.current(), Some(&plan.trials[2]));
    assert_eq!(engine.progress(), Progress { answered: 2, total: 4 });
    assert_eq!(Engine::new(&plan, 60.0, 4).phase(), Phase::Finished);
    assert_eq!(Engine::new(&plan, 60.0, 9).progress(), Progress { answered: 4, total: 4 });

    // Trial 2 keeps its own fixation time.
    engine.handle(Input::PictureReady);
    run_phase(&mut engine, 1.0 / 60.0);
    let (resumed, _) = run_phase(&mut engine, 1.0 / 60.0);
    let onsets = run_simulated(&plan, &SimulatedObserver::AlwaysNone, |_| nothing())[2].onsets;
    let straight = ((onsets.onset_s - onsets.fixation_s) * 60.0).round() as usize;
    assert_eq!(resumed, straight);
}

fn any_input() -> impl Strategy<Value = Input> {
    let duration = prop_oneof![
        8 => 0.0..0.5,
        1 => Just(f64::NAN),
        1 => Just(-1.0),
        1 => Just(f64::INFINITY),
        1 => Just(1e9),
    ];
    let response = prop_oneof![
        Just(Response::None),
        Just(Response::Timeout),
        (11_u8..=18).prop_map(|n| Response::Tooth(Tooth::new(n).unwrap())),
    ];
    prop_oneof![
        20 => duration.prop_map(|duration_s| Input::FrameShown { duration_s }),
        5 => Just(Input::PictureReady),
        5 => response.prop_map(|r| Input::Answer(r, InputDevice::Keyboard)),
        5 => Just(Input::Continue),
        1 => Just(Input::Stop),
    ]
}

proptest! {
    /// Whatever comes in, every trial completes at most once and in order, times run forward, and
    /// nothing follows the end.
    #[test]
    fn any_input_is_survived(inputs in proptest::collection::vec(any_input(), 1..400)) {
        let mut plan = plan(5, 6);
        plan.timing.adaptation_s = 1.0;
        let mut engine = Engine::new(&plan, 60.0, 0);
        let mut next = 0;
        for input in inputs {
            let was_finished = engine.phase() == Phase::Finished;
            let events = engine.handle(input);
            prop_assert!(!was_finished || events.is_empty());
            for event in events {
                if let Event::Completed(outcome) = event {
                    prop_assert_eq!(outcome.trial, next);
                    next += 1;
                    let onsets = outcome.onsets;
                    prop_assert!(onsets.fixation_s <= onsets.onset_s);
                    prop_assert!(onsets.onset_s <= onsets.mask_s);
                    prop_assert!(onsets.response_s.is_none_or(|at| at >= onsets.mask_s));
                    prop_assert!(outcome.exposure.shown_frames >= 1);
                    prop_assert!(outcome.exposure.longest_frame_ms.is_finite());
                }
            }
            prop_assert_eq!(engine.progress().answered, next as usize);
        }
    }
}
