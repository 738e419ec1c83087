//! Sessions of Glance as a store holds them: of practice, and of an exam.

use super::plan::plan;
use second_glance::bake::{Truth, ZoneDifference};
use second_glance::psychophysics::{
    Direction, GlanceParameters, SeenDifference, Sight, SimulatedObserver, run_simulated,
};
use second_glance::results::{Recording, SessionInfo, Sitting, Store, TrialRow};
use second_glance::trial::{Plan, TrialOutcome};
use std::path::Path;

fn sitting(learner: &str, course: &str, phase: &str) -> Sitting {
    Sitting {
        course: course.to_owned(),
        learner: learner.to_owned(),
        seat: 3,
        phase: Some(phase.to_owned()),
        form: Some("a".to_owned()),
        step: None,
        response_factor: 2.0,
    }
}

/// A sitting of an exam, as [`info`] has a session of practice.
pub fn exam(learner: &str, course: &str, phase: &str) -> SessionInfo {
    let (plan, _) = rows(4);
    let settings = serde_json::json!({ "tooth_names": "iso" });
    SessionInfo {
        mode: "exam".to_owned(),
        level: format!("exam:form/{phase}"),
        settings: sitting(learner, course, phase).in_settings(settings),
        ..info(&plan)
    }
}

/// A session of practice over a plan.
pub fn info(plan: &Plan) -> SessionInfo {
    SessionInfo {
        started_at: "2026-01-31T09:30:00Z".to_owned(),
        build: "0.1.0".to_owned(),
        task: "glance".to_owned(),
        mode: "practice".to_owned(),
        level: plan.level_id.clone(),
        // Above i64::MAX: seeds keep all 64 bits.
        seed: u64::MAX - 1,
        refresh_hz: 59.94,
        planned_trials: plan.trials.len() as u32,
        settings: serde_json::json!({ "tooth_names": "iso" }),
    }
}

fn truth(outcome: &TrialOutcome) -> Option<Truth> {
    let difference = ZoneDifference { de00: 2.5, dl00: -2.4, dc00: 0.6, dh00: -0.1 };
    outcome.restored.map(|tooth| Truth {
        tooth,
        difference,
        zones: [
            ZoneDifference { de00: 3.0, ..difference },
            difference,
            ZoneDifference { de00: 1.0 / 3.0, ..difference },
        ],
        percentiles: [1.0, 2.4, 4.0],
        contralateral: ZoneDifference { de00: 2.2, ..difference },
    })
}

/// Rows of a simulated session over `n_trials` trials.
pub fn rows(n_trials: usize) -> (Plan, Vec<TrialRow>) {
    let mut plan = plan(21, n_trials);
    for (index, trial) in plan.trials.iter_mut().enumerate() {
        trial.case.patient.teeth[2].residual_de00 = -0.1 * index as f64;
    }
    let observer = SimulatedObserver::Noisy(GlanceParameters::even(2.0, 2.05));
    let outcomes = run_simulated(&plan, &observer, |trial| {
        let restored = trial.case.restoration();
        let signal = restored.map(|r| SeenDifference::on_axis(r.tooth, Direction::Darker, 2.5));
        Sight { signal, ..Sight::planned(&plan.teeth, trial, None, 2.5) }
    });
    let rows = outcomes
        .iter()
        .zip(&plan.trials)
        .map(|(outcome, trial)| {
            TrialRow::glance(&plan, "practice", trial, outcome, truth(outcome).as_ref())
        })
        .collect();
    (plan, rows)
}

/// Appends rows one by one.
pub fn store_rows(store: &Store, recording: Recording, rows: &[TrialRow]) {
    for row in rows {
        store.append(recording, row).unwrap();
    }
}

/// Checks that exactly these rows are stored.
pub fn check_stored(store: &Store, session: i64, expected: &[TrialRow]) {
    let stored = store.trials(session).unwrap();
    assert_eq!(stored.len(), expected.len());
    for (actual, expected) in stored.iter().zip(expected) {
        assert_eq!(actual, expected);
    }
}

/// The database of a folder of results, opened beside the store.
pub fn sqlite(dir: &Path) -> rusqlite::Connection {
    rusqlite::Connection::open(dir.join("results.sqlite3")).unwrap()
}
