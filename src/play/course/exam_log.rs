//! What is written down around the smiles of a form that is sat.
//!
//! A form lays down a log beside its trials ([`SittingEvent`]): the
//! start, every cross, focus lost and back with the time between, leaving and taking up with the
//! time away, the hand-in. Times are of the wall clock (`records::WallClock`, which tests set), so
//! time away counts. A smile counts as shown from its cross on; one that was on when the program
//! ended is stored as not answered with 0 frames shown and is not shown again. The write at the
//! cross costs no frame of the exposure.

use crate::play::records::Records;
use crate::results::{LogLine, Recording, SittingEvent, StoreError};
use std::time::{Duration, SystemTime};

/// The log of a form under way.
#[derive(Debug, Clone, PartialEq)]
pub struct ExamLog {
    /// Seed key of each trial.
    seed_keys: Vec<String>,
    begun_at: Option<SystemTime>,
    away_s: f64,
    focus_lost_at: Option<SystemTime>,
    focus_losses: u32,
}

impl ExamLog {
    /// The log of a form that is begun.
    #[must_use]
    pub const fn new(seed_keys: Vec<String>) -> Self {
        Self { seed_keys, begun_at: None, away_s: 0.0, focus_lost_at: None, focus_losses: 0 }
    }

    /// The log of a form that is taken up after `lines`. The time since the last of them counts as
    /// away, and is written down.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be written.
    pub fn resumed(
        seed_keys: Vec<String>,
        lines: &[LogLine],
        recording: Recording,
        records: &Records,
    ) -> Result<Self, StoreError> {
        let at = |line: &LogLine| humantime::parse_rfc3339(&line.at).ok();
        let away_s = lines.last().and_then(at).map_or(0.0, |last| since(last, records.now()));
        let next = Some(recording.next_trial);
        records.log(recording.session, SittingEvent::Resumed, next, Some(away_s))?;
        let before = lines.iter().filter(|line| line.event == SittingEvent::Resumed);
        let before: f64 = before.filter_map(|line| line.away_s).sum();
        let losses = lines.iter().filter(|line| line.event == SittingEvent::FocusLost).count();
        Ok(Self {
            begun_at: lines.first().and_then(at),
            away_s: before + away_s,
            focus_losses: losses as u32,
            ..Self::new(seed_keys)
        })
    }

    /// What is stored as the seed key of a trial.
    #[must_use]
    pub fn seed_key(&self, trial: u32) -> Option<&str> {
        self.seed_keys.get(trial as usize).map(String::as_str)
    }

    /// Time since the form was begun, s: time away counts.
    #[must_use]
    pub fn elapsed_s(&self, now: SystemTime) -> f64 {
        self.begun_at.map_or(0.0, |begun| since(begun, now))
    }

    /// Time away so far, s.
    #[must_use]
    pub const fn away_s(&self) -> f64 {
        self.away_s
    }

    /// How often the window lost the focus.
    #[must_use]
    pub const fn focus_losses(&self) -> u32 {
        self.focus_losses
    }

    /// Writes down that the form began.
    pub(crate) fn start(
        &mut self,
        recording: Recording,
        records: &Records,
    ) -> Result<(), StoreError> {
        self.begun_at = Some(records.now());
        records.log(recording.session, SittingEvent::Started, None, None)
    }

    /// Writes down that the focus went or came back while this trial was on.
    ///
    /// # Errors
    /// [`StoreError`] when the file cannot be written.
    pub fn note_focus(
        &mut self,
        focused: bool,
        trial: Option<u32>,
        recording: Option<Recording>,
        records: &Records,
    ) -> Result<(), StoreError> {
        let (event, away_s) = match (focused, self.focus_lost_at) {
            (false, None) => {
                self.focus_lost_at = Some(records.now());
                self.focus_losses += 1;
                (SittingEvent::FocusLost, None)
            }
            (true, Some(lost)) => {
                self.focus_lost_at = None;
                (SittingEvent::FocusBack, Some(since(lost, records.now())))
            }
            _ => return Ok(()),
        };
        match recording {
            Some(recording) => records.log(recording.session, event, trial, away_s),
            // Before the first smile there is nothing to look up elsewhere.
            None => Ok(()),
        }
    }
}

/// Seconds from one time of day to a later one; 0 where the clock was set back.
fn since(earlier: SystemTime, now: SystemTime) -> f64 {
    now.duration_since(earlier).unwrap_or(Duration::ZERO).as_secs_f64()
}
