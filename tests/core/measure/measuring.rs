//! Measurements from the outside: blocks, missed exposures, and a process that is killed.

use second_glance::material::Library;
use second_glance::measure::{ComposedSmile, MEASURE_ID, Measurement, Rehearsal, measure_config};
use second_glance::psychophysics::instrument::{Answer, Record};
use second_glance::psychophysics::{Axis, GlanceParameters, Sight, SimulatedObserver};
use second_glance::results::{Recording, SessionInfo, Store, StoredMeasurement};
use second_glance::trial::{Exposure, Onsets, Response, TrialKind, TrialOutcome, Verdict};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::LazyLock;
use std::time::{Duration, Instant};

static LIBRARY: LazyLock<Library> = LazyLock::new(|| Library::shipped().unwrap());
const SEED: u64 = 77;

fn observer() -> SimulatedObserver {
    SimulatedObserver::Noisy(GlanceParameters {
        thresholds_de00: vec![(Axis::Darker, 1.5), (Axis::Lighter, 2.0)],
        exponent: 1.0,
        criterion: 2.05,
        lapse: 0.02,
        confusion: 0.0,
        eccentricity_loss: 0.0,
        side_bias: 0.0,
    })
}

fn measurement() -> Measurement {
    Measurement::new(measure_config(vec![Axis::Darker, Axis::Lighter]), SEED).unwrap()
}

fn begin(store: &Store, measurement: &Measurement) -> Recording {
    let info = SessionInfo {
        started_at: "2026-01-31T09:30:00Z".to_owned(),
        build: "0".to_owned(),
        task: "glance".to_owned(),
        mode: "rehearsal".to_owned(),
        level: MEASURE_ID.to_owned(),
        seed: SEED,
        refresh_hz: 60.0,
        planned_trials: 160,
        settings: serde_json::json!({}),
    };
    let recording = store.begin(&info).unwrap();
    let instrument = measurement.instrument();
    let posterior = instrument.posterior_bytes();
    store.begin_measurement(recording, &instrument.saved(), &posterior).unwrap();
    recording
}

/// Rehearses and stores `trials` trials; `look` is called in the middle of each.
fn rehearse(
    store: &Store,
    recording: Recording,
    measurement: Measurement,
    trials: usize,
    mut look: impl FnMut(u32),
) -> Measurement {
    let mut rehearsal = Rehearsal::new(measurement);
    for _ in 0..trials {
        let mut watch = |smile: &ComposedSmile, sight: Sight| {
            look(smile.planned.trial);
            Ok(sight)
        };
        let done = rehearsal.step(&LIBRARY, &observer(), &mut watch).unwrap().unwrap();
        let posterior = rehearsal.measurement().instrument().posterior_bytes();
        store.append_measured(recording, &done.row, &done.taken.measured, &posterior).unwrap();
    }
    rehearsal.measurement().clone()
}

fn stored(store: &Store, session: i64) -> StoredMeasurement {
    store.measurement(session).unwrap().unwrap()
}

const FOLDER: &str = "SECOND_GLANCE_TEST_KILLED_FOLDER";
const KILLED_IN: u32 = 3;

/// The process that is killed. Only runs when asked for by name with a folder; stands still in the
/// middle of trial 3 for longer than anybody waits.
#[test]
#[ignore = "a process of its own, started and killed by the test below"]
fn the_process_that_is_killed() {
    let Some(folder) = std::env::var_os(FOLDER) else { return };
    let folder = PathBuf::from(folder);
    let store = Store::open(&folder).unwrap();
    let measurement = measurement();
    let recording = begin(&store, &measurement);
    rehearse(&store, recording, measurement, 10, |trial| {
        if trial == KILLED_IN {
            std::fs::write(folder.join("in-the-middle"), "").unwrap();
            std::thread::sleep(Duration::from_secs(600));
        }
    });
}

fn wait_for(path: &Path) {
    let begun = Instant::now();
    while !path.exists() {
        assert!(begun.elapsed() < Duration::from_secs(300), "the process never got that far");
        std::thread::sleep(Duration::from_millis(50));
    }
}

#[test]
fn killing_the_process_in_the_middle_of_a_trial_loses_only_that_trial() {
    let folder = tempfile::tempdir().unwrap();
    let mut child = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "measure::measuring::the_process_that_is_killed", "--ignored"])
        .env(FOLDER, folder.path())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    wait_for(&folder.path().join("in-the-middle"));
    // SIGKILL on Unix: nothing of the process gets to tidy up.
    child.kill().unwrap();
    assert!(!child.wait().unwrap().success());

    let store = Store::open(folder.path()).unwrap();
    let session = store.unfinished().unwrap()[0].session;
    let rows: Vec<u32> =
        store.trials(session).unwrap().iter().map(|row| row.outcome.trial).collect();
    assert_eq!(rows, [0, 1, 2]);
    let kept = stored(&store, session);
    assert_eq!(kept.saved.records.len(), 3);

    // It goes on at the trial that was lost, and as if nothing had happened.
    let resumed = Measurement::resume(kept.saved, &kept.posterior).unwrap();
    let recording = store.resume(session).unwrap();
    assert_eq!((recording.run, recording.next_trial), (2, KILLED_IN));
    let resumed = rehearse(&store, recording, resumed, 3, |_| ());

    let whole = tempfile::tempdir().unwrap();
    let undisturbed = Store::open(whole.path()).unwrap();
    let fresh = measurement();
    let recording = begin(&undisturbed, &fresh);
    let fresh = rehearse(&undisturbed, recording, fresh, 6, |_| ());
    assert!(resumed == fresh, "the resumed measurement went another way");
    let records = |m: &StoredMeasurement| -> Vec<Record> { m.saved.records.clone() };
    let after = stored(&store, session);
    assert_eq!(records(&after), records(&stored(&undisturbed, recording.session)));
    assert_eq!(after.posterior, fresh.instrument().posterior_bytes());
}

#[test]
fn a_measurement_does_not_resume_to_another_posterior() {
    let measurement = measurement();
    let mut posterior = measurement.instrument().posterior_bytes();
    posterior[0] ^= 1;
    let saved = measurement.instrument().saved();
    assert!(Measurement::resume(saved, &posterior).is_err());
}

#[test]
fn a_missed_exposure_is_marked_and_its_place_is_shown_again_as_another_smile() {
    let mut measurement = measurement();
    let mut seeds = Vec::new();
    let mut places = Vec::new();
    let mut catches = 0;
    for shown in 0..21 {
        let request = measurement.next_smile().unwrap();
        let stimulus = *request.stimulus();
        let smile = request.compose(&LIBRARY).unwrap();
        assert_eq!((smile.planned.trial, smile.planned.block), (shown, 0));
        assert!(!seeds.contains(&smile.planned.case.seed));
        seeds.push(smile.planned.case.seed);
        let late = shown == 4;
        let exposure = Exposure {
            requested_frames: 150,
            shown_frames: 150,
            longest_frame_ms: if late { 80.0 } else { 17.0 },
            dropped_frames: u32::from(late) * 4,
            refresh_hz: 60.0,
        };
        let restored = smile.planned.case.odd_tooth();
        let outcome = TrialOutcome {
            trial: shown,
            block: 0,
            kind: smile.planned.kind,
            restored,
            response: Response::None,
            verdict: Verdict::of(restored, Response::None),
            response_time_s: Some(1.0),
            exposure,
            input_device: None,
            onsets: Onsets { onset_s: 10.0, mask_s: 12.5, ..Onsets::default() },
        };
        let truth = smile.made.as_ref().map(|made| made.truth.clone());
        let taken = measurement.take(&smile, truth.as_ref(), &outcome, 60.0, 0.0).unwrap();
        assert_eq!(taken.measured.missed.is_some(), late);
        assert_eq!(taken.measured.record.answer == Answer::Void, late);
        assert_eq!(taken.block_is_over, shown == 20, "twenty that count make a block");
        if !late {
            places.push(stimulus.slot);
            catches += u32::from(stimulus.kind() == TrialKind::Catch);
        }
    }
    places.sort_unstable();
    assert_eq!(places, (0..20).collect::<Vec<u32>>());
    // The design: exactly 5 of 20.
    assert_eq!(catches, 5);
    assert_eq!(measurement.instrument().trials(), 20);
}
