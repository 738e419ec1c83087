//! Keeps results: engine outcomes → rows of the result store.

mod history;

pub use crate::play::clock::WallClock;
pub use history::{LevelHistory, Unfinished};

use crate::course::CourseData;
use crate::exercise::Round;
use crate::measure::Measurement;
use crate::play::frames::DisplayCheck;
use crate::results::{
    AnswerRow, MeasuredTrial, Recording, SessionInfo, Store, StoreError, StoredMeasurement,
    TrialRow,
};
use crate::results::{
    HandInError, HandInRequest, LogLine, Manifest, Sitting, SittingEvent, StoredSession,
};
use crate::trial::Plan;
use serde_json::json;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::SystemTime;
use tempfile::TempDir;

/// The exercise's name in results.
const TASK: &str = "glance";
/// The mode of sessions in the app, in results.
pub const PRACTICE: &str = "practice";
/// The mode of measurements, in results.
pub const MEASURE: &str = "measure";

/// The mode of forms in a course, in results.
pub const EXAM: &str = "exam";

/// The result store of this run of the app.
#[derive(Debug)]
pub struct Records {
    // SQLite connections may move between threads but not be shared; systems take turns.
    store: Mutex<Store>,
    path: PathBuf,
    /// Why nothing is kept, and the folder that holds this run's results until the end.
    unsaved: Option<(String, TempDir)>,
    clock: WallClock,
}

/// What is stored when a session begins.
#[derive(Debug, Clone, Copy)]
pub struct SessionStart<'a> {
    /// The session.
    pub plan: &'a Plan,
    /// The mode's name in results.
    pub mode: &'a str,
    /// The display's measured refresh rate, Hz.
    pub refresh_hz: f64,
    /// How long the grey adaptation really lasted, s.
    pub adapted_s: f64,
    /// Whether the learner ended it early.
    pub cut_short: bool,
    /// Whose session of which course it is.
    pub sitting: Option<&'a Sitting>,
}

/// The platform's folder for what can be made again, with room for tables of optics; `None` where
/// there is no home folder.
#[must_use]
pub fn table_folder() -> Option<PathBuf> {
    directories::ProjectDirs::from("", "", "second-glance")
        .map(|folders| folders.cache_dir().join("optics"))
}

impl Records {
    /// Opens the result file in `dir`, or in the platform's data folder.
    ///
    /// # Errors
    /// [`RecordsError`] when there is no such folder or the file cannot be used.
    pub fn open(dir: Option<&Path>) -> Result<Self, RecordsError> {
        let store = Store::open(&Self::folder(dir)?)?;
        let path = store.path().to_owned();
        Ok(Self { store: Mutex::new(store), path, unsaved: None, clock: WallClock::default() })
    }

    /// As [`Self::open`]; where that fails, results last as long as the program runs, and
    /// [`Self::unsaved`] says why.
    ///
    /// # Errors
    /// [`RecordsError`] when not even that can be had.
    pub fn open_or_pass_over(dir: Option<&Path>) -> Result<Self, RecordsError> {
        let reason = match Self::open(dir) {
            Ok(records) => return Ok(records),
            Err(reason) => reason,
        };
        // Where there is no room for temporary files either, the first reason is what matters.
        let Ok(folder) = tempfile::tempdir() else { return Err(reason) };
        let mut records = Self::open(Some(folder.path()))?;
        records.unsaved = Some((reason.to_string(), folder));
        Ok(records)
    }

    /// Why results are not kept beyond this run; `None` where they are.
    #[must_use]
    pub fn unsaved(&self) -> Option<&str> {
        self.unsaved.as_ref().map(|(reason, _)| reason.as_str())
    }

    /// The folder of results: `dir`, or the platform's data folder.
    ///
    /// # Errors
    /// [`RecordsError::NoDataFolder`] when there is no such folder.
    pub fn folder(dir: Option<&Path>) -> Result<PathBuf, RecordsError> {
        match dir {
            Some(dir) => Ok(dir.to_owned()),
            None => Ok(directories::ProjectDirs::from("", "", "second-glance")
                .ok_or(RecordsError::NoDataFolder)?
                .data_dir()
                .to_owned()),
        }
    }

    /// Where results are kept, for people.
    #[must_use]
    pub fn location(&self) -> String {
        if self.unsaved.is_some() {
            return "no file: they end with the program".to_owned();
        }
        self.path.display().to_string()
    }

    /// Begins a round of so many questions, or at most so many.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be written.
    pub fn begin_round(
        &self,
        round: &Round,
        mode: &str,
        refresh_hz: f64,
        questions: usize,
        sitting: Option<&Sitting>,
    ) -> Result<Recording, StoreError> {
        self.store().begin(&SessionInfo {
            started_at: self.now_in_seconds(),
            build: env!("CARGO_PKG_VERSION").to_owned(),
            task: round.exercise.to_owned(),
            mode: mode.to_owned(),
            level: round.level_id.clone(),
            seed: round.seed,
            refresh_hz,
            planned_trials: questions as u32,
            settings: sitting.map_or_else(|| json!({}), |s| s.in_settings(json!({}))),
        })
    }

    /// Stores the answer to a question.
    ///
    /// # Errors
    /// [`StoreError`] when the question is answered already or the file cannot be written.
    pub fn append_answer(&self, recording: Recording, row: &AnswerRow) -> Result<(), StoreError> {
        self.store().append_answer(recording, row)
    }

    /// The stored answers of a session, in order.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read or a row holds an impossible value.
    pub fn answers(&self, session: i64) -> Result<Vec<AnswerRow>, StoreError> {
        self.store().answers(session)
    }

    /// Begins a session.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be written.
    pub fn begin(&self, start: &SessionStart<'_>) -> Result<Recording, StoreError> {
        self.store().begin(&session_info(start, self.now_in_seconds()))
    }

    /// Begins a measurement: a session of at most `most_trials` trials, with how the display did
    /// just before.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be written.
    pub fn begin_measurement(
        &self,
        start: &SessionStart<'_>,
        measurement: &Measurement,
        display: Option<DisplayCheck>,
    ) -> Result<Recording, StoreError> {
        let instrument = measurement.instrument();
        let mut info = session_info(start, self.now_in_seconds());
        info.planned_trials = instrument.config().stop.max_trials;
        info.settings["display"] = display.map_or(serde_json::Value::Null, |display| {
            json!({
                "refresh_hz": display.refresh_hz,
                "frames": display.frames,
                "late": display.late,
                "longest_frame_ms": display.longest_frame_ms,
            })
        });
        let store = self.store();
        let recording = store.begin(&info)?;
        store.begin_measurement(recording, &instrument.saved(), &instrument.posterior_bytes())?;
        Ok(recording)
    }

    /// Stores a measured trial with the posterior after it.
    ///
    /// # Errors
    /// [`StoreError`] when the trial is stored already or the file cannot be written.
    pub fn append_measured(
        &self,
        recording: Recording,
        row: &TrialRow,
        trial: &MeasuredTrial,
        posterior: &[u8],
    ) -> Result<(), StoreError> {
        self.store().append_measured(recording, row, trial, posterior)
    }

    /// Marks a measurement ended.
    ///
    /// # Errors
    /// [`StoreError`] when it is finished already or the file cannot be written.
    pub fn end_measurement(&self, recording: Recording, because: &str) -> Result<(), StoreError> {
        self.store().end_measurement(recording, because, &self.now_in_seconds())
    }

    /// The measurement of a session.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn measurement(&self, session: i64) -> Result<Option<StoredMeasurement>, StoreError> {
        self.store().measurement(session)
    }
}

fn session_info(start: &SessionStart<'_>, started_at: String) -> SessionInfo {
    let timing = start.plan.timing;
    let settings = json!({
        "adaptation_s": start.adapted_s,
        "adaptation_cut_short": start.cut_short,
        "exposure_s": timing.exposure_s,
        "mask_s": timing.mask_s,
        // No number where time is unlimited.
        "response_s": timing.response_s,
    });
    SessionInfo {
        started_at,
        build: env!("CARGO_PKG_VERSION").to_owned(),
        task: TASK.to_owned(),
        mode: start.mode.to_owned(),
        level: start.plan.level_id.clone(),
        seed: start.plan.seed,
        refresh_hz: start.refresh_hz,
        planned_trials: start.plan.trials.len() as u32,
        settings: match start.sitting {
            Some(sitting) => sitting.in_settings(settings),
            None => settings,
        },
    }
}

impl Records {
    /// Takes up an unfinished session.
    ///
    /// # Errors
    /// [`StoreError`] when there is no such session or it is finished.
    pub fn resume(&self, session: i64) -> Result<Recording, StoreError> {
        self.store().resume(session)
    }

    /// Stores one trial.
    ///
    /// # Errors
    /// [`StoreError`] when the trial is stored already or the file cannot be written.
    pub fn append(&self, recording: Recording, row: &TrialRow) -> Result<(), StoreError> {
        self.store().append(recording, row)
    }

    /// Marks a session finished.
    ///
    /// # Errors
    /// [`StoreError`] when it is finished already or the file cannot be written.
    pub fn finish(&self, recording: Recording) -> Result<(), StoreError> {
        self.store().finish(recording, &self.now_in_seconds())
    }

    /// These records with another clock.
    #[must_use]
    pub fn with_clock(self, clock: WallClock) -> Self {
        Self { clock, ..self }
    }

    /// The time of day.
    #[must_use]
    pub fn now(&self) -> SystemTime {
        self.clock.now()
    }

    fn now_in_seconds(&self) -> String {
        humantime::format_rfc3339_seconds(self.now()).to_string()
    }

    /// The day, UTC, such as `2026-01-31`.
    #[must_use]
    pub fn today(&self) -> String {
        self.now_in_seconds().get(..10).unwrap_or_default().to_owned()
    }

    /// All sessions, oldest first.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn sessions(&self) -> Result<Vec<StoredSession>, StoreError> {
        self.store().sessions()
    }

    /// Adds a line to a sitting's log, with the time of day.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be written.
    pub fn log(
        &self,
        session: i64,
        event: SittingEvent,
        trial: Option<u32>,
        away_s: Option<f64>,
    ) -> Result<(), StoreError> {
        let at = humantime::format_rfc3339_millis(self.now()).to_string();
        self.store().log(session, &LogLine { at, event, trial, away_s })
    }

    /// The log of a sitting.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn sitting_log(&self, session: i64) -> Result<Vec<LogLine>, StoreError> {
        self.store().sitting_log(session)
    }

    /// Writes the hand-in of one learner in one course.
    ///
    /// # Errors
    /// [`HandInError`] when there is nothing to hand in or the file cannot be written.
    pub fn hand_in(
        &self,
        learner: &str,
        course: &str,
        file: &Path,
    ) -> Result<Manifest, HandInError> {
        let day = self.today();
        let build = env!("CARGO_PKG_VERSION");
        let request = HandInRequest { learner, course, day: &day, build, with_practice: false };
        self.store().hand_in(&request, file)
    }

    /// The sittings of a course, with what they say.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be read.
    pub fn course_data(&self, course: &str) -> Result<CourseData, StoreError> {
        CourseData::read(&self.store(), Some(course), &|_| {})
    }

    fn store(&self) -> MutexGuard<'_, Store> {
        // A panic elsewhere does not make committed rows wrong.
        self.store.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Why there is no result store.
#[derive(Debug, thiserror::Error)]
pub enum RecordsError {
    /// The platform names no data folder.
    #[error("this account has no home folder for results; give a folder by --data-dir")]
    NoDataFolder,
    /// The file cannot be used.
    #[error(transparent)]
    Store(#[from] StoreError),
}
