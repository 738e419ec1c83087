//! The score of Glance over a learner's sessions of one level.

use second_glance::psychophysics::GlanceSummary;
use second_glance::report::session_summary;
use second_glance::results::{SessionInfo, Store, TrialRow};
use second_glance::scene::Tooth;
use second_glance::trial::{Exposure, Onsets, Response, TrialKind, TrialOutcome, Verdict};
use serde_json::{Value, json};

fn info(level: &str, mode: &str, settings: Value) -> SessionInfo {
    SessionInfo {
        started_at: "2026-01-31T09:30:00Z".to_owned(),
        build: "0.1.0".to_owned(),
        task: "glance".to_owned(),
        mode: mode.to_owned(),
        level: level.to_owned(),
        seed: 1,
        refresh_hz: 60.0,
        planned_trials: 20,
        settings,
    }
}

/// A round of 15 and 5: so many found and so many rightly answered "none".
fn round(found: u32, none: u32) -> Vec<TrialRow> {
    let tooth = Tooth::new(11).unwrap();
    (0..20)
        .map(|trial| {
            let (kind, restored, right) = if trial < 15 {
                (TrialKind::Signal, Some(tooth), trial < found)
            } else {
                (TrialKind::Catch, None, trial - 15 < none)
            };
            let response = match (right, restored) {
                (true, Some(tooth)) => Response::Tooth(tooth),
                (true, None) | (false, Some(_)) => Response::None,
                (false, None) => Response::Tooth(tooth),
            };
            let outcome = TrialOutcome {
                trial,
                block: 0,
                kind,
                restored,
                response,
                verdict: Verdict::of(restored, response),
                response_time_s: Some(1.0),
                exposure: Exposure {
                    requested_frames: 150,
                    shown_frames: 150,
                    longest_frame_ms: 17.0,
                    dropped_frames: 0,
                    refresh_hz: 60.0,
                },
                input_device: None,
                onsets: Onsets { response_s: Some(4.0), ..Onsets::default() },
            };
            TrialRow {
                outcome,
                task: "glance".to_owned(),
                mode: "practice".to_owned(),
                level: "test".to_owned(),
                seed_key: format!("test/1/0/{trial}"),
                scene_seed: u64::from(trial),
                n_teeth: 10,
                target_pos: u32::from(restored.is_some()),
                response_pos: None,
                difference: None,
                drawn_de00: None,
                shown: None,
                zones_de00: None,
                percentiles_de00: None,
                contralateral_de00: None,
                residuals_de00: Vec::new(),
                recipe: None,
                light: "D65".to_owned(),
            }
        })
        .collect()
}

#[test]
fn sessions_of_one_level_are_pooled_and_no_others() {
    let dir = tempfile::tempdir().unwrap();
    let store = Store::open(dir.path()).unwrap();
    let keep = |info: &SessionInfo, rows: &[TrialRow], finish: bool| {
        let recording = store.begin(info).unwrap();
        store.append_all(recording, rows).unwrap();
        if finish {
            store.finish(recording, "2026-01-31T09:40:00Z").unwrap();
        }
        recording.session
    };
    let usual = || json!({ "exposure_s": 2.5 });
    let learner = |id: &str| json!({ "exposure_s": 2.5, "course": { "learner": id } });
    let first = keep(&info("a", "practice", usual()), &round(9, 4), true);
    // Another level, mode, exposure, learner: none of them counts.
    keep(&info("b", "practice", usual()), &round(15, 5), true);
    keep(&info("a", "rehearsal", usual()), &round(15, 5), true);
    keep(&info("a", "practice", json!({ "exposure_s": 5.0 })), &round(15, 5), true);
    let hers = keep(&info("a", "practice", learner("0123456789abcdef")), &round(15, 5), true);
    keep(&info("a", "practice", learner("fedcba9876543210")), &round(0, 0), true);
    let alone = store.pooled_glance(first).unwrap();
    assert_eq!((alone.sessions, alone.smiles()), (1, 20));
    assert_eq!(alone.summary.score().map(f64::round), Some(40.0));
    // One that was left after ten smiles counts as far as it went.
    keep(&info("a", "practice", usual()), &round(9, 4)[..10], false);
    let last = keep(&info("a", "practice", usual()), &round(9, 4), true);
    let pooled = store.pooled_glance(last).unwrap();
    assert_eq!((pooled.sessions, pooled.smiles()), (3, 50));
    assert_eq!(pooled.summary.found.successes, 9 + 9 + 9);
    assert_eq!(pooled, store.pooled_glance(first).unwrap());
    assert_eq!(store.pooled_glance(hers).unwrap().smiles(), 20);
    assert_eq!(store.pooled_glance(999).unwrap().smiles(), 0);
    // So a level of rounds of 15 and 5 comes to a score, which none of its rounds could.
    let rows = store.trials(last).unwrap();
    let summary = GlanceSummary::new(rows.iter().map(|row| &row.outcome));
    let text = session_summary(&summary, &pooled);
    assert!(text.contains("found: 9 of 15 restored smiles"), "{text}");
    assert!(text.contains("over 50 smiles in 3 sessions of this level"), "{text}");
}
